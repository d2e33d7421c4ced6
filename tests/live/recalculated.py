"""Generated workbooks against real spreadsheet programs: what is stored beside a formula is what they work out."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import openpyxl
from books import estimate, random_estimate
from limit_books import limit_estimate
from live.programs import Values, recalc_gnumeric, shared_calc
from openpyxl.utils.cell import range_boundaries

from baybook.estimate import Estimate, build_estimate
from baybook.files.book import read_book
from baybook.files.example import write_example
from baybook.workbook.build import Made, make_workbook
from baybook.workbook.declare import column_letter

WHEN = dt.datetime(2026, 6, 15, 9, 30)  # noqa: DTZ001  a workbook's clock has no zone


def estimate_of(kind: str, at: int, workdir: Path) -> Estimate:
    """Return an example job, the deck worked by hand, or a book from a seed."""
    if kind == "example":
        return build_estimate(read_book(write_example(workdir / "example"), WHEN.date())[at])
    return {"deck": lambda _: estimate(), "random": random_estimate, "limit": limit_estimate}[kind](at)


def written(one: Estimate, path: Path) -> Made:
    """Make the workbook of an estimate and write it."""
    made = make_workbook(one, WHEN)
    path.write_bytes(made.data)
    return made


def stored(made: Made) -> Values:
    """Return the value stored beside every formula."""
    return {(sheet, f"{column_letter(col)}{row}"): value for (sheet, row, col), value in made.values.items()}


def by_libreoffice(path: Path, _workdir: Path) -> Values:
    """Return every value after a forced recalculation in a running LibreOffice."""
    calc = shared_calc()
    calc.open(path)
    calc.recalculate(hard=True)
    return calc.read_all()


def by_gnumeric(path: Path, workdir: Path) -> Values:
    """Return every value after Gnumeric recalculated everything."""
    return recalc_gnumeric([path], workdir)[path]


PROGRAMS = {"soffice": by_libreoffice, "ssconvert": by_gnumeric}


def by_name(path: Path, values: Values) -> dict[str, list]:
    """Return what a program shows in the cells of every defined name, in order."""
    book = openpyxl.load_workbook(path)
    found = {}
    for name, one in book.defined_names.items():
        sheet, cells = one.attr_text.rsplit("!", 1)
        left, top, right, bottom = range_boundaries(cells.replace("$", ""))
        found[name] = [
            values.get((sheet.strip("'"), f"{column_letter(col)}{row}"))
            for row in range(top, bottom + 1)
            for col in range(left, right + 1)
        ]
    return found
