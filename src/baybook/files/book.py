"""A book: the folder of CSV files that jobs are read from."""

from __future__ import annotations

import datetime as dt
import os
from collections.abc import Container, Mapping
from dataclasses import replace
from pathlib import Path
from types import MappingProxyType

from baybook.files.guard import check_text_bytes, read_bounded
from baybook.files.limits import limits_in_force
from baybook.files.table import Table, read_table
from baybook.job.reading import BOOK_FILES, read_inputs
from baybook.job.records import JobInputs
from baybook.problems import BookError, FileRefused, Problem
from baybook.water.rain import RainTable, parse_atlas14, rain_advice

__all__ = ["RAIN_FILE", "book_there", "read_book", "read_good_jobs"]

RAIN_FILE = "rainfall.csv"  # as NOAA Atlas 14 downloads it; no table of ours


def book_there(folder: str | os.PathLike[str]) -> Path:
    """Return the folder of a book, which must be there before it can be locked; else `BookError`."""
    if not Path(folder).is_dir():
        raise BookError(Problem(str(folder), 0, "", "is no folder: a book is a folder of CSV files"))
    return Path(folder)


def read_book(
    folder: str | os.PathLike[str], today: dt.date, instead: Mapping[str, Table] = MappingProxyType({})
) -> tuple[JobInputs, ...]:
    """Read a book.

    Parameters
    ----------
    folder : path
        The folder of CSV files.
    today : date
        The quote date of jobs still in pricing that name none.
    instead : mapping of str to Table
        Tables read in place of the book's own, by file name without ``.csv``.

    Returns
    -------
    tuple of JobInputs
        One a job, in the order of jobs.csv.

    Raises
    ------
    BookError
        With every problem of every file.
    """
    tables, rain = _tables(Path(folder))
    return read_inputs({**tables, **instead}, today, rain, rain_advice)


def read_good_jobs(
    folder: str | os.PathLike[str], today: dt.date
) -> tuple[tuple[JobInputs, ...], dict[str, tuple[Problem, ...]]]:
    """Read the jobs of a book that have no problem, and tell the problems of the others.

    Parameters
    ----------
    folder, today
        As for `read_book`.

    Returns
    -------
    tuple of tuple and dict
        The jobs, in the order of jobs.csv; and job code to its problems.

    Raises
    ------
    BookError
        If a problem belongs to no job, such as one of liners.csv: none of the jobs can be read then.
    """
    tables, rain = _tables(Path(folder))
    left: dict[str, tuple[Problem, ...]] = {}
    while True:
        try:
            return read_inputs(tables, today, rain, rain_advice), left
        except BookError as found:
            of_jobs: dict[str, list[Problem]] = {}
            for problem in found.problems:
                of_jobs.setdefault(_job_of(problem, tables), []).append(problem)
            if "" in of_jobs or not of_jobs.keys() - left.keys():
                raise BookError([one for problems in (*left.values(), found.problems) for one in problems]) from None
            left |= {code: tuple(problems) for code, problems in of_jobs.items()}
            tables = {name: _without(table, left) for name, table in tables.items()}
            if not tables["jobs"].rows:
                return (), left


def _tables(book: Path) -> tuple[dict[str, Table], RainTable | None]:
    if not book.is_dir():
        raise BookError(Problem(str(book), 0, "", "is no folder: a book is a folder with jobs.csv, areas.csv and more"))
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
    return tables, rain


def _job_column(table: Table) -> int | None:
    names = [name.casefold() for name in table.header]
    return names.index("job") if "job" in names else None


def _job_of(problem: Problem, tables: dict[str, Table]) -> str:
    """Return the code of the job that a problem belongs to; empty if to none, or to all."""
    table = tables.get(problem.source.removesuffix(".csv"))
    at = None if table is None else _job_column(table)
    if table is None or at is None:
        return ""
    return next((row.cells[at].casefold() for row in table.rows if row.line == problem.line), "")


def _without(table: Table, codes: Container[str]) -> Table:
    at = _job_column(table)
    if at is None:
        return table
    return replace(table, rows=tuple(row for row in table.rows if row.cells[at].casefold() not in codes))


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
