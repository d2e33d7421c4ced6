"""A workbook's inputs as a book again."""

from __future__ import annotations

import datetime as dt
import os
from contextlib import suppress
from dataclasses import dataclass, replace
from decimal import Decimal
from pathlib import Path

from baybook.files.example import ready_folder
from baybook.files.table import table_text
from baybook.files.write import write_bytes
from baybook.job.reading import BOOK_FILES
from baybook.numbers import cents
from baybook.problems import BookError, Problem
from baybook.workbook.given import GivenRow, GivenTable, given_in
from baybook.workbook.read import ReadBook, read_workbook

__all__ = ["Exported", "export_workbook"]


@dataclass(frozen=True, slots=True)
class Exported:
    """The book that was written.

    Parameters
    ----------
    job : str
        Its one job.
    files : tuple of Path
        In the order a book is read.
    on : date or None
        The day whose prices count, if the job has no quote date of its own: what ``--on`` is for in a build.
    """

    job: str
    files: tuple[Path, ...]
    on: dt.date | None


def export_workbook(path: str | os.PathLike[str], folder: str | os.PathLike[str]) -> Exported:
    """Write the inputs of a workbook as a book.

    Every input is written, those that are still the default too, so that the book stays what the workbook was even if
    a later version of this program has other defaults. Text that a person typed stays as typed. An option that another
    job prices, which is not in this book, becomes one of the difference in price that the quote showed.

    Parameters
    ----------
    path : path
        The workbook; one of an older layout too.
    folder : path
        The folder for the book, made if it is not there.

    Returns
    -------
    Exported
        What was written.

    Raises
    ------
    BookError
        If an input cannot be read, or the folder has files of a book already: nothing is written then.
    WriteFailed
        If a file cannot be written; what was written before it is taken away again.
    """
    book = read_workbook(path)
    given = given_in(book)
    if "quote" in given.tables:
        given.tables["quote"] = _by_itself(given.tables["quote"], book)
    texts = {
        f"{name}.csv": table_text(table.header, (row.cells for row in table.rows), f"{name}.csv")[0].encode()
        for name, table in given.tables.items()
        if table.rows or BOOK_FILES[name]
    }
    place = ready_folder(folder)
    taken = [name for name in (f"{one}.csv" for one in BOOK_FILES) if os.path.lexists(place / name)]
    if taken:
        message = f"stands in {folder} already; choose an empty folder"
        raise BookError([Problem(name, 0, "", message) for name in taken])
    written: list[Path] = []
    try:
        for name, data in texts.items():
            write_bytes(place / name, data, inside=place)
            written.append(place / name)
    except BookError:
        for file in written:
            with suppress(OSError):
                file.unlink()
        raise
    inputs = given.inputs
    return Exported(inputs.job.job, tuple(written), None if inputs.job.quoted_on else inputs.on)


def _by_itself(table: GivenTable, book: ReadBook) -> GivenTable:
    """Return the words of a quote without the jobs of another book: their price, if it was known, as a difference."""
    more = _known_options(book)
    at = {name: table.header.index(name) for name in ("of", "amount") if name in table.header}

    def alone(row: GivenRow) -> GivenRow:
        known = more.get(row.cells[at["of"]].casefold())
        if known is None:
            return row
        cells = list(row.cells)
        cells[at["of"]], cells[at["amount"]] = "", f"{known:f}"
        return replace(row, cells=tuple(cells))

    return replace(table, rows=tuple(map(alone, table.rows))) if len(at) == 2 else table


def _known_options(book: ReadBook) -> dict[str, Decimal]:
    """Return by how much each job that is an option is dearer, if it was priced on the day of this price."""
    if not {"opt_of", "opt_price", "opt_on", "quote_price", "price_date"} <= book.names.keys():
        return {}
    price, day = book.at("quote_price"), book.at("price_date")
    found = {}
    for row in range(book.names["opt_of"].rows):
        code, other, on = (book.at(key, row) for key in ("opt_of", "opt_price", "opt_on"))
        if isinstance(code, str) and isinstance(other, float) and isinstance(price, float) and on == day:
            found[code.casefold()] = cents(Decimal(repr(other)) - Decimal(repr(price)))
    return found
