"""Decks that are no plain rectangle: ten worked ones of an invented builder, and random books with outlined areas.

All names and places are invented. `WORKED` gives each deck as texts of CSV files; `outlined_tables` takes a random
book of `books` and makes some of its areas outlines, with openings and measured bays.
"""

from __future__ import annotations

import csv
import io
import math
import random
from collections.abc import Callable, Iterator, Mapping, Sequence
from functools import lru_cache
from typing import Any

from books import Tables, csv_text, deck, inputs_of, offer, random_job, random_tables

from baybook.estimate import Estimate, build_estimate
from baybook.problems import BookError

CORNERS = (offer("gutter_corner_out", "9.80"), offer("gutter_corner_in", "10.40"))


def _area(name: str, outline: str | None = None, **more: Any) -> dict[str, Any]:
    """Return an area of the worked example's framing, by its corners."""
    return {"area": name, "width": None, "projection": None, "outline": outline, "gutter_side": "rim", **more}


def _job(customer: str, site: str) -> dict[str, Any]:
    return {"customer": customer, "site": site}


def clipped_corner() -> Tables:
    """16 by 14 ft, the right outer corner cut off from 9 ft out to 12 ft along."""
    return deck(
        job=_job("Ottoline Vesper", "4 Tansy Bank"),
        areas=[_area("garden", "0,0; 16,0; 16,9; 12,14; 0,14")],
        more_prices=CORNERS,
    )


def bay_front() -> Tables:
    """16 ft wide, 8 ft deep at the sides, slants of 4 by 4 ft, a front of 8 ft at 12 ft."""
    return deck(
        job=_job("Ambrose Fell", "Sorrel Cottage"),
        areas=[_area("bay", "0,0; 16,0; 16,8; 12,12; 4,12; 0,8")],
        more_prices=CORNERS,
    )


def shared_gutter() -> Tables:
    """An L whose long front and the landing beside it hang on one gutter; the short front has a line of its own."""
    return deck(
        job=_job("Hesper Quill", "22 Mallow Row"),
        areas=[
            _area("ell", "0,0; 20,0; 20,8; 8,8; 8,14; 0,14", gutter_line="yard"),
            _area("landing", "0,0; 6,0; 6,8; 0,8", gutter_line="yard"),
        ],
        more_prices=CORNERS,
    )


def wrap_around() -> Tables:
    """Three areas round a house, 8 ft deep, mitred at both corners: each its own ledger, one gutter round them."""
    round_it = {"gutter_line": "round the house"}
    return deck(
        job=_job("The Pennywort partners", "Old Ropeworks"),
        areas=[
            _area("west", "0,0; 12,0; 20,8; 0,8", **round_it),
            _area("south", "8,0; 32,0; 40,8; 0,8", **round_it),
            _area("east", "8,0; 20,0; 20,8; 0,8", **round_it),
        ],
        more_prices=CORNERS,
    )


def stair_opening() -> Tables:
    """A rectangle with a stair through its middle: before it the water goes back to the ledger."""
    stair = {"area": "porch", "kind": "opening", "x": "6 ft", "y": "4 ft", "width": "3 ft", "projection": "5 ft"}
    return deck(
        job=_job("Lorcan Stave", "9 Burdock Hill"),
        areas=[_area("porch", width="16 ft", projection="14 ft")],
        framing=[{**stair, "water": "back"}],
        more_prices=CORNERS,
    )


def two_levels() -> Tables:
    """An upper deck with a clipped corner, a lower one with a notch 3 ft under it; no gutter is shared."""
    return deck(
        job=_job("Isolde Marrable", "Combe End"),
        areas=[
            _area("upper", "0,0; 14,0; 14,7; 11,10; 0,10", height="11 ft"),
            _area("lower", "0,0; 18,0; 18,12; 12,12; 12,9; 6,9; 6,12; 0,12", height="8 ft"),
        ],
        more_prices=CORNERS,
    )


def twelve_on_centre() -> Tables:
    """Joists at 12 in, two dividers with their pairs, both outer corners clipped."""
    return deck(
        job=_job("Basil Thripp", "Lower Fennel"),
        areas=[_area("terrace", "0,0; 18,0; 18,9; 15,12; 3,12; 0,9", spacing="12")],
        framing=[{"area": "terrace", "kind": "divider", "x": at} for at in ("6 ft", "12 ft")],
        more_prices=CORNERS,
    )


def engineered() -> Tables:
    """Engineered lumber, 11.875 in deep and 1.75 in thick: outlets take an extension."""
    return deck(
        job=_job("Nerissa Coombe", "3 Quarry Steps"),
        areas=[
            _area("balcony", "0,0; 15,0; 15,6; 10,11; 0,11", joist="11.875 in", joist_thickness="1.75 in", rim_plies=1)
        ],
        more_prices=CORNERS,
    )


def deep_with_beam() -> Tables:
    """30 ft deep, a flush beam of three plies at 15 ft, a corner clipped in the outer half."""
    return deck(
        job=_job("Galloway Rusk", "Harrow Mead"),
        areas=[_area("hall", "0,0; 12,0; 12,24; 6,30; 0,30")],
        framing=[{"area": "hall", "kind": "flush_beam", "y": "15 ft", "plies": 3}],
        more_prices=CORNERS,
    )


def arc(width_ft: int, side_ft: int, sagitta_ft: int) -> list[str]:
    """Return the corners of a front that is an arc, from its right end, one a foot, to the sixteenth of an inch."""
    half = width_ft / 2
    radius = (half * half + sagitta_ft * sagitta_ft) / (2 * sagitta_ft)
    middle = side_ft + sagitta_ft - radius
    out = [math.sqrt(radius * radius - (x - half) ** 2) + middle for x in range(width_ft, -1, -1)]
    return [f"{x} ft,{round(y * 192) / 16!r} in" for x, y in zip(range(width_ft, -1, -1), out, strict=True)]


def curved_front() -> Tables:
    """16 ft wide, 8 ft deep at the sides, 12 ft in the middle: an arc of 10 ft radius, 17 corners."""
    return deck(
        job=_job("Tamsin Orrery", "The Crescent"),
        areas=[_area("round", "; ".join(["0,0", "16,0", *arc(16, 8, 4)]))],
        more_prices=CORNERS,
    )


WORKED: Mapping[str, Callable[[], Tables]] = {
    make.__name__: make
    for make in (clipped_corner, bay_front, shared_gutter, wrap_around, stair_opening, two_levels, twelve_on_centre,
                 engineered, deep_with_beam, curved_front)
}  # fmt: skip


@lru_cache(maxsize=16)
def worked(name: str) -> Estimate:
    """Return the estimate of a worked deck."""
    return build_estimate(inputs_of(WORKED[name]()))


# ------------------------------------------------------------------------------------------------ random outlines

Corners = list[tuple[float, float]]


def random_corners(rng: random.Random, wide: float, deep: float) -> Corners:
    """Return corners of an outline that fills a box: clipped, bayed, notched, stepped, curved, a trapezoid or an L."""
    a, b = rng.uniform(0.15, 0.4) * wide, rng.uniform(0.15, 0.4) * wide
    c, d = rng.uniform(0.15, 0.45) * deep, rng.uniform(0.15, 0.45) * deep
    box = [(0.0, 0.0), (wide, 0.0)]
    shapes: list[Corners] = [
        [*box, (wide, deep - c), (wide - a, deep), (0, deep)],
        [*box, (wide, deep), (a, deep), (0, deep - c)],
        [*box, (wide, deep - c), (wide - a, deep), (b, deep), (0, deep - d)],
        [(a, 0), (wide, 0), (wide, deep), (0, deep), (0, c)],
        [*box, (wide, deep - c), (a, deep - c), (a, deep), (0, deep)],
        [*box, (wide, deep), (wide - a, deep), (wide - a, deep - c), (b, deep - c), (b, deep), (0, deep)],
        [(a, 0), (wide - b, 0), (wide, deep), (0, deep)],
        [*box, (wide, deep - c), (wide / 2, deep), (0, deep - d)],
        [*box, *((wide * (10 - k) / 10, deep - c + c * math.sin(math.pi * k / 10)) for k in range(11))],
        [*box, (wide, deep), (0, deep)],
    ]
    return [(round(x * 16) / 16, round(y * 16) / 16) for x, y in rng.choice(shapes)]


def rows_of(tables: Tables, name: str) -> list[dict[str, Any]]:
    """Return the rows of a table of a book."""
    return list(csv.DictReader(io.StringIO(tables.get(name, ""))))


def _said(corners: Sequence[tuple[float, float]], metric: bool, rng: random.Random) -> str:
    """Write corners as people do."""
    if metric:
        return "; ".join(f"{round(x * 25.4)} mm,{round(y * 25.4)} mm" for x, y in corners)
    if rng.random() < 0.5:
        return "; ".join(f"{x / 12!r},{y / 12!r}" for x, y in corners)
    return "; ".join(f"{x:g} in,{y:g} in" for x, y in corners)


class _Redrawn:
    """One random book while some of its areas are made outlines."""

    def __init__(self, seed: int, attempt: int) -> None:
        self.rng = random.Random(f"outlined {seed}/{attempt}")
        self.tables = random_tables(seed)
        self.inputs = random_job(seed)
        self.metric = self.inputs.rates.units == "metric"

    def tables_again(self) -> Tables:
        rng = self.rng
        rows, framing = rows_of(self.tables, "areas"), rows_of(self.tables, "framing")
        sure = rng.randrange(len(rows))
        for at, (row, area) in enumerate(zip(rows, self.inputs.areas, strict=True)):
            if at != sure and rng.random() < 0.4:
                continue
            corners = random_corners(rng, area.width_in, area.projection_in)
            if rng.random() < 0.15:
                corners = [(y, x) for x, y in corners]
                row["joists"] = "along"
            row |= {"outline": _said(corners, self.metric, rng), "width": "", "projection": ""}
            if len(corners) == 4 and len({x for x, _ in corners}) == 2:
                row["joists"] = ""
            framing += self.openings(row["area"], area.width_in, area.projection_in)
        code = rows[0]["job"]
        framing = [{**one, "job": code} for one in framing]
        prices = [*rows_of(self.tables, "prices"), *CORNERS]
        made = dict(self.tables) | {"areas": csv_text(rows), "prices": csv_text(prices)}
        made |= {"framing": csv_text(framing)} if framing else {}
        return made

    def openings(self, area: str, wide: float, deep: float) -> Iterator[dict[str, Any]]:
        rng = self.rng
        if rng.random() < 0.3 and min(wide, deep) > 100:
            x, y = round(wide * rng.uniform(0.15, 0.45)), round(deep * rng.uniform(0.25, 0.5))
            sizes = {"width": f"{rng.randrange(24, 48)} in", "projection": f"{rng.randrange(24, 48)} in"}
            water = rng.choice(("back", "header", ""))
            yield {"area": area, "kind": "opening", "x": f"{x} in", "y": f"{y} in", "water": water, **sizes}


def measured_of(estimate: Estimate, rng: random.Random, most: int = 4) -> list[dict[str, Any]]:
    """Return measured rows of a few bays of drawn areas, near what was drawn, to the sixteenth."""
    bays = [(take, part) for take in estimate.takeoff.areas if take.drawing for part in take.parts if part.bays]
    rows = []
    for take, part in rng.sample(bays, min(len(bays), rng.randint(1, most))):
        bay = part.bays[0]
        wide = max(1.0, round((bay.clear_in - rng.choice((0, 0.0625, 0.25, 1, 8))) * 16) / 16)
        run = max(1.0, round((part.clear_run_in + rng.choice((-3, -0.5, 0.0625, 0, 2))) * 16) / 16)
        which = rng.randrange(3)
        rows.append(
            {
                "job": estimate.inputs.job.job,
                "area": take.area.area,
                "bay": f"{bay.number}{bay.piece}",
                "clear_width": f"{wide:g} in" if which != 1 else "",
                "clear_run": f"{run:g} in" if which != 0 else "",
            }
        )
    return rows


@lru_cache(maxsize=256)
def _outlined(seed: int) -> tuple[Tables, Estimate]:
    refusals = []
    for attempt in range(60):
        made = _Redrawn(seed, attempt)
        try:
            tables = made.tables_again()
            estimate = build_estimate(inputs_of(tables))
            if made.rng.random() < 0.5:
                tables = tables | {"measured": csv_text(measured_of(estimate, made.rng))}
                estimate = build_estimate(inputs_of(tables))
        except BookError as refused:
            refusals.append(str(refused))
            continue
        if any(take.drawing for take in estimate.takeoff.areas):
            return tables, estimate
    raise AssertionError(f"seed {seed}: sixty outlined books in a row were refused:\n" + "\n".join(refusals[-3:]))


def outlined_tables(seed: int) -> Tables:
    """Return a random book, at least one of its areas drawn by an outline, that the engine accepts."""
    return dict(_outlined(seed)[0])


def outlined_estimate(seed: int) -> Estimate:
    """Return the estimate of `outlined_tables`."""
    return _outlined(seed)[1]
