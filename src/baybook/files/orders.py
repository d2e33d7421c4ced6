"""The buying of a book on the disk: issued orders that are never rewritten, and what came and was billed."""

from __future__ import annotations

import os
import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from baybook.buying.documents import Document, documents_of
from baybook.buying.orders import ORDER_COLUMNS, Order, orders_from_rows, rows_of
from baybook.buying.reading import mapped_table, read_records, read_settings
from baybook.buying.records import (
    BUYING_FILES,
    Accepted,
    HoursRow,
    InvoiceRow,
    MappingRow,
    OrderRow,
    Receipt,
    Return,
    Settings,
    Supplier,
)
from baybook.files.book import book_there
from baybook.files.guard import read_bounded
from baybook.files.table import Table, read_table, table_text, write_table
from baybook.files.ubl import document_from, read_ubl, receipts_from
from baybook.files.write import whole_file, write_bytes
from baybook.job.fields import fields_of
from baybook.problems import BookError, FileRefused, Problem

__all__ = ["Buying", "append_accepted", "append_rows", "next_number", "orders_folder", "read_buying", "write_order"]

COUNTER = "counter.txt"
_NUMBERED = re.compile(r"(\d+)(?:-\d+)?\.csv")


@dataclass(frozen=True, slots=True, kw_only=True)
class Buying:
    """All that the buying files of a book hold."""

    suppliers: tuple[Supplier, ...]
    orders: tuple[Order, ...]
    receipts: tuple[Receipt, ...]
    returns: tuple[Return, ...]
    documents: tuple[Document, ...]
    hours: tuple[HoursRow, ...]
    accepted: tuple[Accepted, ...]
    settings: Callable[[str], Settings]


def orders_folder(book: str | os.PathLike[str]) -> Path:
    """Return the folder of a book's issued orders."""
    return Path(book) / "orders"


def _tables(paths: Iterable[Path], problems: list[Problem]) -> list[Table]:
    found = []
    for path in paths:
        try:
            found.append(read_table(path))
        except FileRefused as refused:
            problems += refused.problems
    return found


def _files(folder: Path, suffix: str) -> list[Path]:
    return sorted(path for path in folder.glob(f"*{suffix}") if path.is_file() and not path.name.startswith("."))


def read_buying(book: str | os.PathLike[str]) -> Buying:
    """Read the buying files of a book; none of them must be there.

    Besides its CSV files these are ``orders/*.csv``, ``invoices/*.csv`` (suppliers' own files, by mapping.csv),
    ``invoices/*.xml`` (UBL Invoice and CreditNote) and ``receipts/*.xml`` (UBL ReceiptAdvice).

    Parameters
    ----------
    book : path
        The book's folder.

    Returns
    -------
    Buying
        Everything.

    Raises
    ------
    BookError
        With every problem of every file.
    """
    folder = book_there(book)
    problems: list[Problem] = []
    names = [*BUYING_FILES, "buying"]
    tables = {Path(one.source).stem: one for one in _tables(_present(folder, names), problems)}

    def of(name: str) -> list[Any]:
        return read_records(tables.get(name), BUYING_FILES[name], problems)

    mapping: list[MappingRow] = of("mapping")
    rows: list[InvoiceRow] = of("invoices")
    for table in _tables(_files(folder / "invoices", ".csv"), problems):
        rows += read_records(mapped_table(table, mapping, problems), InvoiceRow, problems)
    ordered: list[OrderRow] = []
    for table in _tables(_files(orders_folder(folder), ".csv"), problems):
        ordered += read_records(table, OrderRow, problems)
    documents, receipts = _from_xml(folder, problems)
    suppliers = _once(of("suppliers"), problems)
    known = {name: one.supplier for one in suppliers for name in one.names}
    found = Buying(
        suppliers=tuple(suppliers),
        orders=tuple(orders_from_rows(ordered, problems)),
        receipts=(*of("receipts"), *receipts),
        returns=tuple(of("returns")),
        documents=(*documents_of(rows, lambda name: known.get(name.strip().casefold(), name)), *documents),
        hours=tuple(of("hours")),
        accepted=tuple(of("settled")),
        settings=read_settings(tables.get("buying"), problems),
    )
    if problems:
        order = {f"{name}.csv": at for at, name in enumerate(names)}
        raise BookError(sorted(problems, key=lambda one: (order.get(one.source, len(order)), one.source, one.line)))
    return found


def _present(folder: Path, names: Iterable[str]) -> list[Path]:
    return [path for path in (folder / f"{name}.csv" for name in names) if path.exists()]


def _once(suppliers: list[Supplier], problems: list[Problem]) -> list[Supplier]:
    seen: dict[tuple[str, str], Supplier] = {}
    names: dict[str, Supplier] = {}
    for one in suppliers:
        first = seen.setdefault((one.supplier.casefold(), one.currency), one)
        if first is not one:
            said = f"{one.supplier} in {one.currency} stands already in line {first.place.line}: keep one of them"
            problems.append(one.place.problem("supplier", said))
        for name in one.names:
            other = names.setdefault(name, one)
            if other.supplier.casefold() != one.supplier.casefold():
                problems.append(
                    one.place.problem(
                        "also_named", f"{name!r} is a name of {other.supplier} already: leave it with one of them"
                    )
                )
    return suppliers


def _from_xml(folder: Path, problems: list[Problem]) -> tuple[list[Document], list[Receipt]]:
    documents: list[Document] = []
    receipts: list[Receipt] = []
    for path in _files(folder / "invoices", ".xml"):
        try:
            documents.append(document_from(read_ubl(path, "Invoice", "CreditNote"), path.name))
        except FileRefused as refused:
            problems += refused.problems
    for path in _files(folder / "receipts", ".xml"):
        try:
            receipts += receipts_from(read_ubl(path, "ReceiptAdvice"), path.name)
        except FileRefused as refused:
            problems += refused.problems
    return documents, receipts


# ---------------------------------------------------------------------------------------------- orders out


def next_number(book: str | os.PathLike[str], count: int = 1) -> list[str]:
    """Take numbers for new orders from the book's counter; call it with the book locked.

    The counter is saved before the numbers are used, so that none is ever used again: after a crash numbers are
    missing, and after an order was deleted its number is not given out anew.

    Parameters
    ----------
    book : path
        The book's folder; it has the folder ``orders`` already.
    count : int
        How many numbers.

    Returns
    -------
    list of str
        Of four figures at least.

    Raises
    ------
    BookError
        If the counter cannot be read.
    """
    folder = orders_folder(book)
    counter = folder / COUNTER
    last = 0
    if counter.exists():
        words = read_bounded(counter, 100).decode("utf-8", "replace").strip()
        if not (words.isascii() and words.isdigit()):
            said = f"holds {words[:20]!r}; it must hold the number of the last order issued"
            raise BookError(Problem(COUNTER, 1, "", said))
        last = int(words)
    there = [int(match[1]) for path in folder.iterdir() if (match := _NUMBERED.fullmatch(path.name))]
    last = max(last, *there, 0)
    write_bytes(counter, f"{last + count}\n".encode(), inside=folder)
    return [f"{number:04d}" for number in range(last + 1, last + count + 1)]


def write_order(book: str | os.PathLike[str], order: Order) -> Path:
    """Write an issued order as a record; one that is there is never rewritten.

    Parameters
    ----------
    book : path
        The book's folder.
    order : Order
        With its number and revision.

    Returns
    -------
    Path
        The CSV file.

    Raises
    ------
    BookError
        If a record of that number and revision is there.
    """
    path = orders_folder(book) / f"{order.name}.csv"
    if os.path.lexists(path):
        raise BookError(
            Problem(path.name, 0, "", "is there already: an issued order is a record and never rewritten; order again")
        )
    write_table(path, ORDER_COLUMNS, rows_of(order), inside=orders_folder(book))
    return path


def append_accepted(book: str | os.PathLike[str], rows: Iterable[Accepted]) -> None:
    """Add rows to the log of what was accepted; every byte that is there stays as it is.

    Parameters
    ----------
    book : path
        The book's folder, locked.
    rows : iterable of Accepted
        What to add.

    Raises
    ------
    BookError
        If another program saved the log in another form, so that nothing can be added as it is.
    """
    append_rows(book, "settled.csv", Accepted, rows)


def append_rows(book: str | os.PathLike[str], name: str, record: type, rows: Iterable[Any]) -> None:
    """Add rows to a log of a book; every byte that is there stays as it is.

    Parameters
    ----------
    book : path
        The book's folder, locked.
    name : str
        The file.
    record : type
        The record its rows are of: its declared fields are the columns.
    rows : iterable
        What to add.

    Raises
    ------
    BookError
        If another program saved the log in another form, so that nothing can be added as it is.
    """
    path = Path(book) / name
    columns = tuple(one.name for one in fields_of(record))
    added, _ = table_text(columns, [[getattr(row, one.attribute) for one in fields_of(record)] for row in rows])
    before = b""
    if path.exists():
        there = read_table(path)
        if (there.header, there.delimiter) != (columns, ",") or there.encoding not in {"utf-8", "utf-8-sig"}:
            said = (
                "was saved in another form by another program: save it as CSV UTF-8 with commas; its first row must be "
            )
            said += ",".join(columns)
            raise BookError(Problem(path.name, 1, "", said))
        before = path.read_bytes()
        before += b"" if before.endswith(b"\n") else b"\r\n"
        added = added.split("\r\n", 1)[1]
    with whole_file(path, inside=book) as stream:
        stream.write(before + added.encode("utf-8"))
