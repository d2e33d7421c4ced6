"""Decks by corner points, with openings, or measured, in LibreOffice and Gnumeric; and the tape measure typed in there.

The ten worked decks and random outlined books (`decks`): every cell that a formula fills is what the program works out.
"""

from __future__ import annotations

import datetime as dt
import random
from dataclasses import replace
from pathlib import Path

import pytest
from decks import WORKED, outlined_estimate, worked
from edits import as_priced
from live.edited import same
from live.programs import compare, needs, recalc_gnumeric, recalc_libreoffice, shared_calc

from baybook.estimate import Estimate, build_estimate
from baybook.job.records import Measured
from baybook.takeoff.model import Part
from baybook.workbook.build import Made, make_workbook
from baybook.workbook.declare import column_letter
from baybook.workbook.evaluate import evaluate
from baybook.workbook.prove import differences
from baybook.workbook.read import ReadBook, book_of
from baybook.workbook.shape import shape_of
from baybook.workbook.sheets.outlines import drawn_parts

pytestmark = pytest.mark.live

WHEN = dt.datetime(2026, 6, 15, 9, 30)  # noqa: DTZ001  the time of the run is the user's own
RANDOM_BOOKS = 8
PROGRAMS = {"soffice": recalc_libreoffice, "ssconvert": recalc_gnumeric}


def written(made, path):
    """Write a workbook; return the values of its formulas by sheet and cell."""
    path.write_bytes(made.data)
    return {(sheet, f"{column_letter(col)}{row}"): value for (sheet, row, col), value in made.values.items()}


@pytest.fixture(scope="module")
def books(tmp_path_factory):
    folder = tmp_path_factory.mktemp("outlines")
    estimates = {name: worked(name) for name in WORKED}
    estimates |= {f"random{seed}": outlined_estimate(seed) for seed in range(RANDOM_BOOKS)}
    return {
        folder / f"{name}.xlsx": written(make_workbook(one, WHEN), folder / f"{name}.xlsx")
        for name, one in estimates.items()
    }


@pytest.mark.parametrize("program", PROGRAMS)
def test_every_cell_is_what_the_program_works_out(program, books, tmp_path):
    needs(program)
    found = PROGRAMS[program](list(books), tmp_path)
    count = 0
    for path, ours in books.items():
        assert compare(ours, found[path], list(ours)) == [], path.stem
        count += len(ours)
    assert count > len(books) * 20_000


# ------------------------------------------------------------------------------------------- the tape measure, typed in


class OpenDeck:
    """A workbook of a drawn deck, open in LibreOffice, whose Measured cells are filled in."""

    def __init__(self, estimate: Estimate, path: Path) -> None:
        self.estimate = estimate
        self.made: Made = make_workbook(estimate, WHEN)
        self.book: ReadBook = book_of(self.made.data, path.name)
        path.write_bytes(self.made.data)
        self.calc = shared_calc()
        self.calc.open(path)
        self.shape = shape_of(estimate)
        self.metric = estimate.inputs.rates.units == "metric"
        self.typed: dict[tuple[str, int], float] = {}
        self.measured = {(row.area, row.bay): row for row in estimate.inputs.measured}
        self.bays = [
            (at, take.area.area, part)
            for at, (_, take, part, segment) in enumerate(drawn_parts(estimate, self.shape))
            if segment is not None
        ]

    def type_in(self, at: int, area: str, part: Part, column: str, inches: float) -> None:
        """Type one figure into a Measured cell; keep what the engine must be told of it."""
        bay = f"{part.bays[0].number}{part.bays[0].piece}"
        value = round(inches * 25.4, 1) if self.metric else round(inches * 16) / 16
        key = f"ms_{column}"
        sheet, row, col = self.made.layout.address(key, at)
        self.calc.set_many([(sheet, f"{column_letter(col)}{row}", value)])
        self.calc.recalculate()
        self.typed[key, at] = value
        before = self.measured.get((area, bay), Measured(job=self.estimate.inputs.job.job, area=area, bay=bay))
        self.measured[area, bay] = replace(before, **{f"{column}_in": value / 25.4 if self.metric else value})

    def now(self) -> ReadBook:
        """Return the workbook as LibreOffice has it."""
        shown = self.calc.read_all()
        values = {at: one for at, one in self.book.values.items() if at not in self.made.values}
        for at in [*self.made.values, *(self.made.layout.address(*one) for one in self.typed)]:
            value = shown.get((at[0], f"{column_letter(at[2])}{at[1]}"))
            if value is not None:
                values[at] = value
        return replace(self.book, values=values)

    def not_as_evaluated(self, now: ReadBook) -> list[str]:
        """Return every cell that LibreOffice works out otherwise than we do from the same inputs."""
        due = evaluate(self.made.spec, self.made.layout, self.typed)
        return [
            f"{at}: {now.values.get(at)!r}, not {value!r}"
            for at, value in due.items()
            if not same(now.values.get(at), value)
        ]

    def not_as_estimated(self, now: ReadBook) -> list[str]:
        """Return every figure that is another in the engine's estimate of the same measured rows."""
        ours = build_estimate(replace(self.estimate.inputs, measured=tuple(self.measured.values())))
        priced = as_priced(ours, self.shape, now)
        found = differences(priced, self.made.layout, now.values, self.shape)
        return [one for one in found if " plans_stale " not in one]


def cut_lengths(now: ReadBook) -> list[float]:
    return [now.at("p_cut", row) for row in range(now.names["p_cut"].rows)]


@pytest.mark.parametrize(
    "name", ["clipped_corner", "bay_front", "stair_opening", "deep_with_beam", "wrap_around", 3, 5]
)
def test_a_measured_bay_typed_in_is_the_engines_estimate_of_it(name, tmp_path):
    needs("soffice")
    needs("uno")
    deck = OpenDeck(worked(name) if isinstance(name, str) else outlined_estimate(name), tmp_path / f"{name}.xlsx")
    rng = random.Random(str(name))
    before = cut_lengths(deck.now())
    for step in range(4):
        at, area, part = rng.choice(deck.bays)
        column = ("clear_run", "clear_width")[step % 2]
        drawn = part.bays[0].clear_in if column == "clear_width" else part.clear_run_in
        deck.type_in(at, area, part, column, drawn * rng.uniform(0.6, 1.0))
        now = deck.now()
        assert not now.at("errors_found"), (step, area, part.name, column)
        assert deck.not_as_evaluated(now) == []
        assert deck.not_as_estimated(now) == []
    assert cut_lengths(now) != before
