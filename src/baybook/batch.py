"""Many jobs at once: a workbook, a draft order and a cut list for each, and a summary."""

from __future__ import annotations

import datetime as dt
import os
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from baybook.estimate import Estimate, build_estimate
from baybook.files.book import read_book
from baybook.files.example import ready_folder
from baybook.files.lock import book_lock, open_elsewhere
from baybook.files.table import write_table
from baybook.files.text import safe_name
from baybook.files.write import backup, sweep, write_bytes
from baybook.files.written import Written
from baybook.offering import refusals
from baybook.options import with_options
from baybook.problems import BookError, Problem
from baybook.report import CUT_COLUMNS, SUMMARY_COLUMNS, cut_rows, order_rows, summary_row
from baybook.workbook.build import make_workbook

__all__ = ["Built", "build_book", "estimates_of"]

ORDER_COLUMNS = (
    "supplier",
    "sku",
    "item",
    "description",
    "packs",
    "pack_qty",
    "unit",
    "pack_price",
    "amount",
    "currency",
)
SETTLED = ("won", "lost", "done")
Progress = Callable[[int, int, str], None]


@dataclass(frozen=True, slots=True)
class Built:
    """What a build wrote and what it left alone.

    Parameters
    ----------
    estimates : tuple of Estimate
        All jobs, in order.
    workbooks : tuple of Path
        Those written.
    kept : tuple of Problem
        Files left as they were, each with the reason and the cure.
    """

    estimates: tuple[Estimate, ...]
    workbooks: tuple[Path, ...]
    kept: tuple[Problem, ...]


def estimates_of(folder: str | os.PathLike[str], today: dt.date) -> tuple[Estimate, ...]:
    """Read a book and estimate every job of it.

    Raises
    ------
    BookError
        With the problems of all jobs.
    """
    found: list[Estimate] = []
    problems: list[Problem] = []
    for inputs in read_book(folder, today):
        try:
            found.append(build_estimate(inputs))
        except BookError as refused:
            problems += refused.problems
    jobs, unpriced = with_options(found)
    if problems or unpriced:
        raise BookError(dict.fromkeys(problems or unpriced))  # of a job that is refused no option is priced
    return jobs


def _why_kept(path: Path, estimate: Estimate, written: Written, force: bool) -> str:
    """Return why a workbook must be left as it is; empty if it may be written."""
    elsewhere = open_elsewhere(path)
    if elsewhere:
        return f"is open elsewhere ({elsewhere}); close it and build again"
    if force or not path.exists():
        return ""
    if estimate.inputs.job.status in SETTLED:
        return (
            f"job {estimate.inputs.job.job} is {estimate.inputs.job.status}; --force writes it anew and keeps a backup"
        )
    if written.changed_since(path):
        return "was changed since it was built here; --force writes it anew and keeps a backup"
    return ""


def _write_job(
    estimate: Estimate, name: str, out: Path, when: dt.datetime, written: Written, force: bool
) -> Path | Problem:
    path = out / f"{name}.xlsx"
    why = _why_kept(path, estimate, written, force)
    if why:
        return Problem(path.name, 0, "", why)
    made = make_workbook(estimate, when)
    if path.exists() and (estimate.inputs.job.status in SETTLED or written.changed_since(path)):
        backup(path)
    written.note(path.name, made.data)
    write_bytes(path, made.data, inside=out)
    write_table(out / f"{name} order.csv", ORDER_COLUMNS, order_rows(estimate), inside=out)
    write_table(out / f"{name} cuts.csv", CUT_COLUMNS, cut_rows(estimate), inside=out)
    return path


def build_book(
    folder: str | os.PathLike[str],
    out: str | os.PathLike[str],
    today: dt.date,
    when: dt.datetime,
    *,
    force: bool = False,
    progress: Progress | None = None,
) -> Built:
    """Build the workbooks of a book.

    Every job is estimated first; if any has a problem nothing is written. Each file is then written whole or not at
    all. A workbook that a person changed, and one of a job that is won, lost or done, is left as it is.

    Parameters
    ----------
    folder : path
        The book.
    out : path
        Folder for the workbooks, made if it is not there.
    today : date
        Quote date of jobs in pricing that name none.
    when : datetime
        The moment of the run, shown in the log sheet.
    force : bool
        Write those too; a changed one is kept as a dated backup.
    progress : callable, optional
        Told (jobs done, jobs in all, file name) after each job.

    Returns
    -------
    Built
        What was written and what was left alone.

    Raises
    ------
    BookError
        If the inputs have problems, an offered job has a failed check that nobody accepted, or a file cannot be
        written.
    """
    estimates = estimates_of(folder, today)
    refused = [problem for one in estimates for problem in refusals(one.inputs, one.findings)]
    if refused:
        raise BookError(refused)
    place = ready_folder(out)
    workbooks: list[Path] = []
    kept: list[Problem] = []
    rows: list[Sequence[Any]] = []
    with book_lock(place):
        sweep(place)
        written = Written(place)
        taken: list[str] = []
        for number, estimate in enumerate(estimates, 1):
            name = safe_name(estimate.inputs.job.job, taken)
            taken.append(name)
            result = _write_job(estimate, name, place, when, written, force)
            (kept if isinstance(result, Problem) else workbooks).append(result)  # type: ignore[arg-type]  # each to its own list
            rows.append(summary_row(estimate, f"{name}.xlsx"))
            if progress:
                progress(number, len(estimates), f"{name}.xlsx")
        write_table(place / "summary.csv", SUMMARY_COLUMNS, rows, inside=place)
    return Built(estimates, tuple(workbooks), tuple(kept))
