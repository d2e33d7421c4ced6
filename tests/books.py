"""Books for tests: the deck of the rules' own worked example, changed as a test wants, and random ones.

Prices are invented. A book is a ``dict`` of CSV texts (name without ``.csv``), made of dictionaries; `deck` builds one,
`inputs_of` reads it into `JobInputs`, `book_folder` writes it into a folder. A value of None removes a column's value.
"""

from __future__ import annotations

import csv
import datetime as dt
import io
import random
from collections.abc import Iterable, Mapping, Sequence
from functools import lru_cache
from pathlib import Path
from typing import Any

from baybook.estimate import Estimate, build_estimate
from baybook.files.table import Row, Table
from baybook.job.reading import read_inputs
from baybook.job.records import JobInputs
from baybook.problems import BookError
from baybook.report import as_data

TODAY = dt.date(2026, 6, 15)
JOB = "D8"

Tables = dict[str, str]
Values = Mapping[str, Any]

JOB_ROW: Values = {
    "job": JOB,
    "customer": "Worked example",
    "quoted_on": TODAY.isoformat(),
    "rainfall": "5 in/h",
    "labour_rate": "60.00",
    "currency": "USD",
}
AREA_ROW: Values = {
    "job": JOB,
    "area": "main",
    "width": "16 ft",
    "projection": "12 ft",
    "spacing": "16",
    "joist": "2x10",
    "height": "9 ft",
}
LINER_ROW: Values = {
    "liner": "sheet",
    "made_for_in": 16,
    "drape_in": 4,
    "side_lap_in": 1.5,
    "high_lap_in": 1.5,
    "low_setback_in": 3,
    "outlet_made_for_in": 9.25,
    "nozzle_reach_in": 3,
    "tape_width_in": 4,
}
FRAMING_ROW: Values = {"job": JOB, "area": "main"}


def offer(item: str, price: Any, **more: Any) -> dict[str, Any]:
    """Return a row of prices.csv; its SKU is the item unless given."""
    return {"supplier": "Alder Yard", "sku": item, "item": item, "pack_price": price, "currency": "USD", **more}


PRICE_ROWS: Sequence[Values] = (
    offer("liner", "41.00", sku="liner-12", length="12 ft", width="20 in"),
    offer("liner", "54.00", sku="liner-16", length="16 ft", width="20 in"),
    offer("bay_outlet", "6.40"),
    offer("outlet_extension", "3.10"),
    offer("seam_tape", "18.75", pack_qty=50),
    offer("sealant", "7.95"),
    offer("staples", "5.20", pack_qty=500),
    offer("gutter", "13.20", length="10 ft"),
    offer("gutter_joiner", "2.85"),
    offer("gutter_end_cap", "2.10"),
    offer("gutter_drop", "4.60"),
    offer("hanger", "1.35"),
    offer("leader", "12.10", length="10 ft"),
    offer("elbow", "3.40"),
    offer("strap", "1.90"),
    offer("splash_block", "9.50"),
)


def csv_text(rows: Iterable[Values], columns: Sequence[str] = ()) -> str:
    """Return dictionaries as CSV; the columns are those given, then any other in order of first use."""
    rows = list(rows)
    names = list(dict.fromkeys([*columns, *(key for row in rows for key in row)]))
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(names)
    writer.writerows(["" if row.get(name) is None else str(row[name]) for name in names] for row in rows)
    return text.getvalue()


def deck(
    *,
    job: Values | None = None,
    jobs: Iterable[Values] | None = None,
    area: Values | None = None,
    areas: Iterable[Values] | None = None,
    framing: Iterable[Values] = (),
    liner: Values | None = None,
    liners: Iterable[Values] | None = None,
    rates: Values | None = None,
    prices: Iterable[Values] | None = None,
    more_prices: Iterable[Values] = (),
    extras: Iterable[Values] = (),
    overrides: Iterable[Values] = (),
    stock: Iterable[Values] = (),
    **tables: str | None,
) -> Tables:
    """Return the worked example as CSV texts, changed by the rows given.

    ``job``, ``area`` and ``liner`` change the one row there is; ``jobs``, ``areas`` and ``liners`` give all rows,
    each filled up from the example's. ``rates`` is key -> value. Any other keyword is the whole text of a table
    (None leaves the file out).
    """
    made: dict[str, str | None] = {
        "jobs": csv_text([{**JOB_ROW, **row} for row in jobs or [job or {}]]),
        "areas": csv_text([{**AREA_ROW, **row} for row in areas or [area or {}]]),
        "liners": csv_text([{**LINER_ROW, **row} for row in liners or [liner or {}]]),
        "prices": csv_text([*(PRICE_ROWS if prices is None else prices), *more_prices]),
    }
    rest = {
        "framing": [{**FRAMING_ROW, **row} for row in framing],
        "rates": [{"key": key, "value": value} for key, value in (rates or {}).items()],
        "extras": [{"job": JOB, **row} for row in extras],
        "overrides": [{"job": JOB, **row} for row in overrides],
        "stock": list(stock),
    }
    made |= {name: csv_text(rows) for name, rows in rest.items() if rows}
    made |= tables
    return {name: text for name, text in made.items() if text is not None}


def prices_with(changes: Mapping[str, Values | None]) -> list[dict[str, Any]]:
    """Return the example's prices with those of some SKUs changed, or left out where the change is None."""
    unknown = set(changes) - {row["sku"] for row in PRICE_ROWS}
    if unknown:
        raise KeyError(unknown)
    return [
        {**row, **(changes.get(row["sku"]) or {})} for row in PRICE_ROWS if changes.get(row["sku"], row) is not None
    ]


def table_of(name: str, text: str) -> Table:
    """Return a CSV text (commas, decimal points) as the table a file reader gives."""
    header, *rows = csv.reader(io.StringIO(text, newline=""))
    kept = (Row(line, tuple(cell.strip() for cell in row)) for line, row in enumerate(rows, 2) if any(row))
    return Table(f"{name}.csv", tuple(header), tuple(kept), "utf-8", ",", ".")


def all_inputs_of(tables: Mapping[str, str]) -> tuple[JobInputs, ...]:
    """Read every job of a book of texts, without a file."""
    return read_inputs({name: table_of(name, text) for name, text in tables.items()}, TODAY)


def inputs_of(tables: Mapping[str, str]) -> JobInputs:
    """Read the first job of a book of texts."""
    return all_inputs_of(tables)[0]


def plain(**area_changes: Any) -> JobInputs:
    """Return the worked example with columns of its area changed."""
    return inputs_of(deck(area=area_changes))


def estimate(**changes: Any) -> Estimate:
    """Return the estimate of `deck` with these changes."""
    return build_estimate(inputs_of(deck(**changes)))


def taken(**changes: Any) -> dict[str, Any]:
    """Return what ``takeoff --json`` says of the job of `deck` with these changes."""
    return as_data(estimate(**changes))


def book_folder(folder: Path, tables: Mapping[str, str] | None = None, **changes: Any) -> Path:
    """Write a book (the `deck` with these changes unless given as texts) into a folder and return it."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, text in (deck(**changes) if tables is None else tables).items():
        (folder / f"{name}.csv").write_text(text, encoding="utf-8", newline="")
    return folder


# ---------------------------------------------------------------------------------------------- random books


class _Draw:
    """One random book: every choice comes from one seeded generator."""

    def __init__(self, seed: str) -> None:
        self.rng = random.Random(seed)
        self.posts: list[dict[str, Any]] = []
        self.post_rng = random.Random(f"{seed} posts")
        self.metric = self.chance(0.2)
        self.rates: dict[str, Any] = {"units": "metric"} if self.metric else {}

    def chance(self, share: float) -> bool:
        return self.rng.random() < share

    def pick(self, *choices: Any) -> Any:
        return self.rng.choice(choices)

    def some(self, share: float, value: Any) -> Any:
        """Return a value, or an empty cell."""
        return value if self.chance(share) else None

    def length(self, inches: float, step: float = 0.0625) -> str:
        """Write a length as people do: feet and inches, inches, or whole millimetres."""
        if self.metric:
            return f"{round(inches * 25.4)} mm"
        inches = round(inches / step) * step
        feet, rest = divmod(inches, 12)
        return self.pick(f"{inches:g} in", f"{feet:g} ft {rest:g} in", f"{feet:g}' {rest:g}\"", f"{inches / 12!r} ft")

    # ------------------------------------------------------------------ areas and framing

    def area(self, name: str, liners: Sequence[Values]) -> tuple[dict[str, Any], list[dict[str, Any]]]:
        liner = self.pick(*liners)
        made_for = float(liner["made_for_in"])
        spacing = self.pick(*(one for one in (12.0, 13.5, 16.0, 19.2, 24.0) if one <= made_for))
        width = self.pick(60, 96, 120, 144, 192, 240, 312) + self.pick(0, 0, 1, 3, 3.75, self.rng.randrange(320) / 16)
        projection = self.pick(72, 96, 120, 144, 192, 276) + self.pick(0, 0, 0, self.rng.randrange(160) / 16)
        joist = self.pick("2x6", "2x8", "2x10", "2x10", "2x12", self.length(9.5))
        row: dict[str, Any] = {
            "area": name,
            "width": self.length(width),
            "projection": self.length(projection),
            "spacing": self.length(spacing),
            "layout": self.pick(None, "left", "right", "even"),
            "joist": joist,
            "joist_thickness": self.some(0.1, self.length(1.75)),
            "rim_plies": self.some(0.3, self.pick(1, 2, 3)),
            "gutter_side": self.pick(None, "rim", "rim", "ledger"),
            "gutter_fix": self.pick(None, "joists", "nailer"),
            "leader_at": self.pick(None, "end", "middle"),
            "height": self.length(self.pick(96, 108, 115, 132)),
            "liner": liner["liner"] if len(liners) > 1 else None,
            "borders": self.some(0.25, self.pick(1, 2)),
            "posts_through": self.some(0.3, self.rng.randrange(9)),
            "wall_height": self.some(0.2, self.length(96)),
            "wall_length": self.some(0.15, self.length(120)),
            "roof_area": self.some(0.15, f"{self.rng.randrange(200)} sq ft"),
            "frame_fall_in_per_ft": self.some(0.25, self.pick(-0.125, 0.0625, 0.125, 0.25)),
        }
        if self.post_rng.random() < 0.15:
            self.posts += self.railing(name, width, projection)
        return row, self.framing(name, width, projection, spacing)

    def railing(self, area: str, width: float, projection: float) -> list[dict[str, Any]]:
        """Return posts inside the frame or outside on its faces."""
        chance = self.post_rng
        rows: list[dict[str, Any]] = []
        for _ in range(chance.randrange(1, 5)):
            inside = chance.random() < 0.6
            x, y = (width * chance.uniform(0.1, 0.9), projection * chance.uniform(0.2, 0.9))
            x, y = round(x), round(y) if inside else round(projection)
            place = {"x": f"{x} in", "y": f"{min(y, int(projection))} in"}
            rows.append({"area": area, **place, "size": "3.5 in", "where": "inside" if inside else "outside"})
        return rows

    def framing(self, area: str, width: float, projection: float, spacing: float) -> list[dict[str, Any]]:
        rows: list[dict[str, Any]] = []
        joists = max(int(width / spacing) - 1, 1)
        for _ in range(self.pick(0, 0, 1, 1, 2, 3)):
            plies = self.pick(1, 1, 2, 3)
            joist = spacing * self.rng.randrange(1, joists + 1)
            # faces: the gap beside a joist on the layout is exactly the limit of solid packing, or of a narrow bay,
            # or a sixteenth off it, or anything
            gap = self.pick(0, 1.5, 1.5, 5, 5, 1.4375, 1.5625, 4.9375, 5.0625, self.rng.uniform(0, spacing))
            x = joist + 0.75 + gap + plies * 0.75
            rows.append({"kind": "member", "x": self.length(min(x, width)), "plies": plies})
        if self.chance(0.25):
            rows.append({"kind": "divider", "x": self.length(width * self.pick(0.5, 1 / 3, 0.25))})
        beams = sorted(self.rng.sample((0.3, 0.45, 0.6, 0.7), self.pick(0, 0, 0, 0, 1, 1, 2)))
        rows += [{"kind": "flush_beam", "y": self.length(projection * at), "plies": self.pick(1, 2, 3)} for at in beams]
        if self.chance(0.2):
            at = projection - 1.5 - self.pick(6.5 + 2.25, 12, 24, 48)  # its face 6.5 from the rim: just clear
            depth = self.length(self.pick(9.25, 11.25))
            rows.append({"kind": "dropped_beam", "y": self.length(max(at, 12)), "plies": 3, "depth": depth})
        if self.chance(0.2):
            rows.append({"kind": "blocking", "y": self.length(projection * self.pick(0.2, 0.5, 0.85))})
        return [{"area": area, **row} for row in rows]

    def areas(self, liners: Sequence[Values]) -> tuple[list[dict[str, Any]], list[dict[str, Any]]]:
        rows, framing = [], []
        for at in range(self.pick(1, 1, 1, 2, 2, 3, 4, 6)):
            row, added = self.area(("main", "side", "stair landing", "upper", "bay", "corner")[at], liners)
            rows.append(row)
            framing += added
        if len(rows) > 1 and self.chance(0.6):  # one gutter, joist bottoms at different heights
            height = self.pick(96, 108, 120)
            for row in rows[: self.pick(2, 2, 3)]:
                drop = self.pick(0, 0, 0.5, 1.0, 1.5, 3, 6)
                row |= {"gutter_line": "front run", "leader_at": "end", "height": self.length(height + drop)}
                row["joist"] = "2x10"
        return rows, framing

    # ------------------------------------------------------------------ liners and prices

    def liners(self) -> list[dict[str, Any]]:
        return [
            {
                "liner": name,
                "made_for_in": self.pick(16, 24, 24),
                "drape_in": self.pick(2, 3, 4),
                "side_lap_in": self.pick(1, 1.5, 1.75),
                "high_lap_in": self.pick(1.5, 3),
                "low_setback_in": self.pick(0, 2, 3),
                "outlet_made_for_in": self.pick(7.25, 9.25, 11.25),
                "nozzle_reach_in": self.pick(2.5, 3, 3.5),
                "tape_width_in": self.pick(3, 4),
                "source": "invented",
            }
            for name in self.pick(("sheet",), ("sheet",), ("sheet",), ("sheet", "long roll"))
        ]

    def prices(self, liners: Sequence[Values]) -> list[dict[str, Any]]:
        rows: list[dict[str, Any]] = []
        for record in liners:
            name = record["liner"]
            wide = 30 if record["made_for_in"] == 24 else 22
            for feet in self.rng.sample((10, 12, 14, 16, 20, 25), self.pick(1, 2, 3)):
                price = f"{feet * (3.1 + self.rng.random()):.2f}"
                size = {"length": self.length(feet * 12), "width": self.length(wide + self.pick(0, 0, 4))}
                rows.append(self.offer("liner", price, f"{name}-{feet}", liner=name, **size))
                if self.chance(0.2):  # a tie at another supplier
                    rows.append({**rows[-1], "supplier": "Birch Supply", "sku": f"B-{name}-{feet}"})
        for item, low, high in (("gutter", 10, 16), ("leader", 8, 14)):
            price = 9 + self.rng.random() * 8
            for feet in self.rng.sample((8, 10, 12, 16, 20), self.pick(1, 1, 2)):
                rows.append(
                    self.offer(item, f"{price * feet / 10:.2f}", f"{item}-{feet}", length=self.length(feet * 12))
                )
                if self.chance(0.15):
                    rows.append({**rows[-1], "supplier": "Birch Supply", "pack_price": f"{low + high}.00"})
        rows += [one for item in _PACKED for one in self.packed(item)]
        self.rng.shuffle(rows)
        return rows

    def packed(self, item: str) -> list[dict[str, Any]]:
        packs = _PACKED[item]
        rows = []
        for supplier in self.pick(("Alder Yard",), ("Birch Supply", "Alder Yard"), ("Cedar Trade", "Alder Yard")):
            for pack in self.rng.sample(packs, self.pick(1, min(2, len(packs)))):
                price = f"{pack * (0.4 + self.rng.random()):.2f}"
                rows.append({**self.offer(item, price, f"{item}-{pack}", pack_qty=pack), "supplier": supplier})
        if len(rows) > 1 and self.chance(0.3):  # the same cost whichever is taken
            rows[1] |= {"pack_qty": rows[0]["pack_qty"], "pack_price": rows[0]["pack_price"]}
        if self.chance(0.2):  # an offer that has run out
            old = {"sku": f"{item}-old", "pack_price": "0.01", "valid_from": None, "valid_to": "2026-06-14"}
            rows.append({**rows[0], **old})
        if item == "seam_tape" and self.chance(0.2):
            rows[0] |= {"pack_qty": 20, "unit": "m"}
        return rows

    def offer(self, item: str, price: str, sku: str, **more: Any) -> dict[str, Any]:
        dates = self.some(0.2, ("2026-06-15", "2026-06-15"))  # both ends are the quote date
        start, end = dates or (None, None)
        return {**offer(item, price, sku=sku, valid_from=start, valid_to=end), **more}

    # ------------------------------------------------------------------ job, rates, the estimator's own lines

    def job(self) -> dict[str, Any]:
        basis = self.pick(None, "markup", "margin")
        return {
            "job": "R1",
            "customer": self.pick("Marlow household", "Oak & Sons", "Zoë Ångström"),
            "site": self.some(0.5, "7 Quarry Rise"),
            "status": self.pick(None, "pricing", "offered"),
            "quoted_on": TODAY.isoformat(),
            "rainfall": self.pick("5 in/h", "4.7 in/h", "120 mm/h", "9 in/h"),
            "tax_rate": self.pick(None, "8.25", "8.25%", "6"),
            "tax_on": self.pick(None, "none", "materials", "total"),
            "overhead": self.pick(None, "12", "7.5%"),
            "profit": self.pick(None, "15", "22.5%"),
            "profit_basis": basis,
            "labour_rate": self.pick("48.50", "62.00"),
            "currency": "USD",
            "notes": self.some(0.1, "gate code from the office, 4-wheel access"),
        }

    def rate_rows(self) -> dict[str, Any]:
        rates = self.rates
        options: dict[str, tuple[Any, ...]] = {
            "gutter_fall_in_per_ft": (0, 0.03125, 0.0625),
            "leader_size": ("2x3", "3x4"),
            "leader_capacity_gpm": (30,),
            "leader_spacing_ft": (20, 35),
            "hanger_spacing_in": (18, 36),
            "spare_panels": (1, 2),
            "splice_lap_in": (6, 18),
            "min_piece_in": (24, 48),
            "cut_step_in": (0.25, 1),
            "trim_allowance_in": (0, 2),
            "narrow_bay_in": (4, 6),
            "pack_gap_in": (1, 2),
            "wide_member": (1, 2.5),
            "joint_plies": (1, 3),
            "kerf_in": (0.125,),
            "end_trim_in": (0.25,),
            "offcut_value": ("0%", "25%"),
            "waste_bay_outlet": ("5%",),
            "waste_seam_tape": ("0%", "8"),
            "contingency": ("3%", "5"),
            "minimum_charge": (9000,),
            "tax_basis": ("item", "invoice"),
            "crew": (1, 3),
            "wall_share": (0.25,),
            "elbows_per_leader": (0, 4),
            "hours_piece": (0.255,),
        }
        for key, values in options.items():
            if self.chance(0.12):
                rates[key] = self.pick(*values)
        return rates

    def own_lines(self, prices: Sequence[Values]) -> dict[str, list[dict[str, Any]]]:
        extras, overrides, stock = [], [], []
        for kind in self.rng.sample(("material", "labour", "other"), self.pick(0, 0, 1, 3)):
            cost = self.pick("145.00", "19.995", "-25.00", "0.335")
            extras.append(
                {"description": f"{kind} extra", "quantity": self.pick(1, 2.5, 3), "unit_cost": cost, "kind": kind}
            )
        if self.chance(0.3):
            overrides.append({"item": "strap", "quantity": self.pick(0, 4, 7), "note": "one spare"})
        if self.chance(0.15):
            sticks = [row["length"] for row in prices if row["item"] == "gutter"]
            overrides.append({"item": "gutter", "length": self.pick(*sticks), "quantity": 5, "note": "as counted"})
        for item in ("gutter", "leader"):
            if self.chance(0.2):
                length = self.length(self.pick(40, 88, 100))
                stock.append({"item": item, "length": length, "quantity": self.pick(1, 3), "location": "rack B"})
        return {"extras": extras, "overrides": overrides, "stock": stock}

    def tables(self) -> Tables:
        liners = self.liners()
        areas, framing = self.areas(liners)
        prices = self.prices(liners)
        job = self.job()
        own = self.own_lines(prices)
        if len(liners) == 1 and self.chance(0.2):
            own["stock"].append({"item": "liner", "length": self.length(130), "quantity": 2, "location": "shed"})
        code = {"job": job["job"]}
        rows: dict[str, Iterable[Values]] = {
            "jobs": [job],
            "areas": [code | row for row in areas],
            "framing": [code | row for row in framing],
            "posts": [code | row for row in self.posts],
            "liners": liners,
            "prices": prices,
            "rates": [{"key": key, "value": value} for key, value in self.rate_rows().items()],
            "extras": [code | row for row in own["extras"]],
            "overrides": [code | row for row in own["overrides"]],
            "stock": own["stock"],
        }
        return {name: csv_text(found) for name, found in rows.items() if found}


_PACKED: Mapping[str, tuple[int, ...]] = {
    "bay_outlet": (1, 4, 12),
    "outlet_extension": (1, 6),
    "seam_tape": (50, 75, 100),
    "sealant": (1, 12),
    "staples": (500, 1000, 5000),
    "gutter_joiner": (1, 2),
    "gutter_end_cap": (1, 2),
    "gutter_drop": (1,),
    "hanger": (1, 25),
    "elbow": (1,),
    "strap": (1, 10),
    "splash_block": (1,),
}


@lru_cache(maxsize=512)
def _accepted(seed: int) -> tuple[Tables, Estimate, int]:
    """Return the first book of a seed that the engine accepts, its estimate, and how many were refused before it."""
    refusals: list[str] = []
    for attempt in range(50):
        tables = _Draw(f"{seed}/{attempt}").tables()
        try:
            return tables, build_estimate(inputs_of(tables)), attempt
        except BookError as refused:
            refusals.append(str(refused))
    raise AssertionError(f"seed {seed}: fifty books in a row were refused:\n" + "\n".join(refusals[-3:]))


def random_tables(seed: int) -> Tables:
    """Return a random book of one job as CSV texts: any option of the rules, and always one the engine accepts."""
    return dict(_accepted(seed)[0])


def random_job(seed: int) -> JobInputs:
    """Return the job of `random_tables`."""
    return _accepted(seed)[1].inputs


def random_estimate(seed: int) -> Estimate:
    """Return the estimate of `random_job`."""
    return _accepted(seed)[1]
