"""A workbook open in LibreOffice, changed input by input, each time held to the engine."""

from __future__ import annotations

import datetime as dt
import math
from collections import Counter
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

import books
from edits import CAPACITY, Change, Editor, as_priced
from live.programs import Calc, Values

from baybook.problems import BookError
from baybook.workbook.build import Made, make_workbook
from baybook.workbook.compare import cell_name, shown
from baybook.workbook.declare import column_letter
from baybook.workbook.evaluate import evaluate
from baybook.workbook.given import given_in
from baybook.workbook.prove import differences
from baybook.workbook.read import ReadBook, book_of
from baybook.workbook.redeclare import shape_in
from baybook.workbook.semantics import ErrorValue

WHEN = dt.datetime(2026, 6, 15, 12, 0)  # noqa: DTZ001  the file holds no zone


@dataclass
class Tally:
    """What was done and found."""

    edits: int = 0
    cells: int = 0
    counts: Counter[str] = field(default_factory=Counter)
    found: list[str] = field(default_factory=list)


class EditedBook:
    """One random book in a running LibreOffice."""

    def __init__(self, calc: Calc, seed: int, folder: Path) -> None:
        self.calc, self.seed = calc, seed
        estimate = books.random_estimate(seed)
        self.made: Made = make_workbook(estimate, WHEN)
        self.book: ReadBook = book_of(self.made.data, f"{seed}.xlsx")
        path = folder / f"{seed}.xlsx"
        path.write_bytes(self.made.data)
        calc.open(path)
        self.editor = Editor(self.made, seed, estimate.inputs.rates.units == "metric")
        self.formulas = [(at, f"{column_letter(at[2])}{at[1]}") for at in self.made.values]
        self.inputs = [self.made.layout.address(key, row) for key, row in self.editor.inputs()]
        moving = {*self.inputs, *self.made.values}
        self.constants = {at: value for at, value in self.book.values.items() if at not in moving}

    def set(self, changes: list[Change]) -> None:
        """Type values into the open workbook and let it calculate."""
        cells = []
        for key, row, value in changes:
            sheet, line, col = self.made.layout.address(key, row)
            cells.append((sheet, f"{column_letter(col)}{line}", value))
        self.calc.set_many(cells)
        self.calc.recalculate()

    def step(self, tally: Tally) -> None:
        """Make one change, compare, and take it back if the engine refuses it."""
        changes = self.editor.edit()
        if not changes:
            return
        undo = self.editor.note(changes)
        self.set(changes)
        tally.edits += 1
        said = f"book {self.seed}, edit {tally.edits} {changes}"
        now = self.now()
        tally.cells += len(self.formulas)
        tally.found += [f"{said}: {one}" for one in self.calculated(now)[:3]]
        refused = self.held_to_engine(now, tally, said)
        if refused:
            self.editor.note(undo)
            self.set(undo)

    def now(self) -> ReadBook:
        """Return the workbook as LibreOffice has it now."""
        return self.as_shown(self.calc.read_all())

    def as_shown(self, shown_now: Values) -> ReadBook:
        """Return the workbook with the values that a program shows."""
        values = dict(self.constants)
        for at in [*self.made.values, *self.inputs]:
            value = shown_now.get((at[0], f"{column_letter(at[2])}{at[1]}"))
            if value is not None:
                values[at] = value
        return replace(self.book, values=values)

    def calculated(self, now: ReadBook) -> list[str]:
        """Return where a program and our own evaluation of the same formulas differ."""
        due = evaluate(self.made.spec, self.made.layout, self.editor.inputs())
        found = []
        for at, value in due.items():
            held = now.values.get(at)
            if not same(held, value):
                found.append(f"{cell_name(at)} is {shown(held)} in the program, {shown(value)} by evaluation")
        return found

    def held_to_engine(self, now: ReadBook, tally: Tally, said: str) -> bool:
        """Compare with the engine; return whether it refuses the inputs."""
        refused = now.at("errors_found")
        checks = [
            str(now.at("chk_text", row))
            for row in range(now.names["chk_word"].rows)
            if now.at("chk_word", row) == "REFUSED"
        ]
        try:
            given = given_in(now)
            estimate = given.estimate()
        except BookError as error:
            tally.counts["refused by both" if refused else "refused by the engine alone"] += 1
            if not refused:
                tally.found.append(f"{said}: the engine refuses ({str(error).splitlines()[0]}), the workbook does not")
            return True
        if refused:
            full = all(check.startswith(CAPACITY) for check in checks)
            tally.counts["no room" if full else "refused by the workbook alone"] += 1
            if not full:
                tally.found.append(f"{said}: the workbook refuses ({checks}), the engine does not")
            return True
        shape = shape_in(now, estimate)
        stale = now.at("plans_stale")
        tally.counts["plan out of date" if stale else "plan current"] += 1
        priced = as_priced(estimate, shape, now)
        differ = [one for one in differences(priced, self.made.layout, now.values, shape) if " plans_stale " not in one]
        tally.found += [f"{said}: {one}" for one in differ[:3]]
        return False


def same(held: Any, due: Any) -> bool:
    if isinstance(due, ErrorValue):
        return isinstance(held, str) and held.startswith(("#", "Err:"))
    if isinstance(due, float | int):
        return isinstance(held, float | int) and math.isclose(held, due, rel_tol=1e-9, abs_tol=1e-6)
    return str(held or "").strip() == str(due or "").strip()  # LibreOffice drops spaces round a stored text
