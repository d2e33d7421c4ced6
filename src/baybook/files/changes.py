"""Change orders on the disk: the log that only grows, the record of each, and the bays as they are measured."""

from __future__ import annotations

import os
from collections.abc import Iterable, Sequence
from pathlib import Path

from baybook.buying.reading import read_records
from baybook.changes import ChangeOrder, ChangeRow
from baybook.files.orders import append_rows
from baybook.files.table import read_table, write_table
from baybook.files.write import backup
from baybook.job.fields import fields_of, show
from baybook.job.records import Measured
from baybook.numbers import r6
from baybook.problems import BookError, Problem

__all__ = ["CHANGE_COLUMNS", "append_change", "changes_folder", "read_changes", "write_change", "write_measured"]

LOG = "changes.csv"
CHANGE_COLUMNS = ("kind", "item", "supplier", "sku", "description", "unit", "before", "after", "more")


def changes_folder(book: str | os.PathLike[str]) -> Path:
    """Return the folder of a book's change orders."""
    return Path(book) / "changes"


def read_changes(book: str | os.PathLike[str]) -> tuple[ChangeRow, ...]:
    """Return the log of a book's change orders; nothing if there is none.

    Raises
    ------
    BookError
        With every problem of it.
    """
    path = Path(book) / LOG
    if not path.exists():
        return ()
    problems: list[Problem] = []
    rows = read_records(read_table(path), ChangeRow, problems)
    if problems:
        raise BookError(problems)
    return tuple(rows)


def append_change(book: str | os.PathLike[str], row: ChangeRow) -> None:
    """Add a row to the log; every byte that is there stays as it is."""
    append_rows(book, LOG, ChangeRow, [row])


def write_change(book: str | os.PathLike[str], change: ChangeOrder) -> Path:
    """Write the record of a change order: bays as measured, then goods to add or return.

    Its number is above all in the log; a file of that number is what a run left that was stopped before the log.
    """
    folder = changes_folder(book)
    path = folder / f"{change.name}.csv"
    rows: list[Sequence[object]] = [
        (what, bay.bay, "", "", "", "in", r6(was), r6(now), r6(now - was))
        for bay in change.bays
        for what, was, now in (
            ("clear width", bay.width_before_in, bay.width_after_in),
            ("clear run", bay.run_before_in, bay.run_after_in),
            ("cut length", bay.cut_before_in, bay.cut_after_in),
        )
        if was != now
    ]
    rows += [
        ("goods", one.item, one.supplier, one.sku, one.description, one.unit, one.before, one.after, one.more)
        for one in change.goods
    ]
    rows.append(("price", "", "", "", "", change.currency, change.before, change.after, change.amount))
    write_table(path, CHANGE_COLUMNS, rows, inside=folder)
    return path


def write_measured(book: str | os.PathLike[str], job: str, rows: Iterable[Measured], path: Path | None = None) -> Path:
    """Put a job's measured bays into measured.csv; rows of other jobs stay, and the file as it was is kept beside it.

    Parameters
    ----------
    book : path
        The book's folder.
    job : str
        The job's code.
    rows : iterable of Measured
        All its measured bays.
    path : Path, optional
        Another file in the book, for the record of a change order.

    Returns
    -------
    Path
        The file.
    """
    columns = fields_of(Measured)
    header = tuple(one.name for one in columns)
    made = [tuple(show(one, getattr(row, one.attribute)) for one in columns) for row in rows]
    if path is None:
        path = Path(book) / "measured.csv"
        made = [*_of_others(path, header, job), *made]
        if path.exists():
            backup(path)
    write_table(path, header, made, inside=book)
    return path


def _of_others(path: Path, header: Sequence[str], job: str) -> list[tuple[str, ...]]:
    """Return the rows of other jobs in a file of measured bays, by the columns given."""
    if not path.exists():
        return []
    there = read_table(path)
    names = [name.casefold() for name in there.header]
    rows = [{name: row.cells[at] for at, name in enumerate(names)} for row in there.rows]
    mine = job.casefold()
    return [tuple(row.get(name, "") for name in header) for row in rows if row.get("job", "").casefold() != mine]
