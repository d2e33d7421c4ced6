"""Built, exported as a book, built again: the same workbook."""

from __future__ import annotations

import datetime as dt
from functools import lru_cache
from pathlib import Path

import books

from baybook.estimate import Estimate, build_estimate
from baybook.files.book import read_book
from baybook.workbook.build import Made, make_workbook
from baybook.workbook.compare import cell_name, same_formula, same_value, shown
from baybook.workbook.due import due_cells
from baybook.workbook.export import export_workbook

WHEN = dt.datetime(2026, 6, 15, 12, 0)  # noqa: DTZ001  the file holds no zone


@lru_cache(maxsize=8)
def random_made(seed: int) -> Made:
    """Return the workbook of a random book, made once a run."""
    return make_workbook(books.random_estimate(seed), WHEN)


def built_again(seed: int, folder: Path) -> list[str]:
    """Return a sentence for each cell in which a random book's workbook and that of its export differ."""
    return [f"seed {seed}, {one}" for one in _again(random_made(seed), folder)]


def estimate_again(estimate: Estimate, folder: Path) -> list[str]:
    """Return the same of any job."""
    return _again(make_workbook(estimate, WHEN), folder)


def _again(first: Made, folder: Path) -> list[str]:
    path = folder / "first.xlsx"
    path.write_bytes(first.data)
    exported = export_workbook(path, folder / "book")
    (inputs,) = read_book(folder / "book", exported.on or dt.date(1999, 1, 1))
    second = make_workbook(build_estimate(inputs), WHEN)
    ours, theirs = (due_cells(made.layout, made.values) for made in (first, second))
    return [
        f"{cell_name(at)}: {shown(one.value)} {one.formula}, then {theirs.get(at)}"
        for at, one in ours.items()
        if at not in theirs
        or not same_value(one.value, theirs[at].value)
        or not same_formula(one.formula, theirs[at].formula)
    ] + [f"{cell_name(at)} is new" for at in theirs.keys() - ours.keys()]
