"""A book: the folder of CSV files that jobs are read from."""

from __future__ import annotations

import datetime as dt
import os
from pathlib import Path

from baybook.files.guard import check_text_bytes, read_bounded
from baybook.files.limits import limits_in_force
from baybook.files.table import Table, read_table
from baybook.job.reading import BOOK_FILES, read_inputs
from baybook.job.records import JobInputs
from baybook.problems import BookError, FileRefused, Problem
from baybook.water.rain import RainTable, parse_atlas14, rain_advice

__all__ = ["RAIN_FILE", "read_book"]

RAIN_FILE = "rainfall.csv"  # as NOAA Atlas 14 downloads it; no table of ours


def read_book(folder: str | os.PathLike[str], today: dt.date) -> tuple[JobInputs, ...]:
    """Read a book.

    Parameters
    ----------
    folder : path
        The folder of CSV files.
    today : date
        The quote date of jobs still in pricing that name none.

    Returns
    -------
    tuple of JobInputs
        One a job, in the order of jobs.csv.

    Raises
    ------
    BookError
        With every problem of every file.
    """
    book = Path(folder)
    if not book.is_dir():
        raise BookError(
            Problem(str(folder), 0, "", "is no folder: a book is a folder with jobs.csv, areas.csv and more")
        )
    tables: dict[str, Table] = {}
    refused: list[Problem] = []
    for name in BOOK_FILES:
        path = book / f"{name}.csv"
        if not path.exists():
            continue
        try:
            tables[name] = read_table(path)
        except FileRefused as found:
            refused += found.problems
    rain = _rain(book / RAIN_FILE, refused)
    if refused:
        raise BookError(refused)
    return read_inputs(tables, today, rain, rain_advice)


def _rain(path: Path, refused: list[Problem]) -> RainTable | None:
    if not path.exists():
        return None
    limits = limits_in_force()
    try:
        text, _ = check_text_bytes(read_bounded(path, limits.text_bytes), path.name, limits)
        return parse_atlas14(text, path.name)
    except BookError as found:
        refused += found.problems
    return None
