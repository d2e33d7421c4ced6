"""What there is to price again in a folder: its books with their price lists, and its workbooks."""

from __future__ import annotations

import os
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path

from baybook.files.book import RAIN_FILE
from baybook.files.guard import read_bounded
from baybook.files.limits import limits_in_force
from baybook.files.table import Table, read_table
from baybook.files.text import safe_name
from baybook.files.tree import books_and_workbooks
from baybook.files.written import Written
from baybook.job.reading import BOOK_FILES, read_prices
from baybook.job.records import PriceRow
from baybook.problems import BookError, Problem
from baybook.reprice.lists import NewList, compare_lists
from baybook.reprice.model import Left, OfferChange
from baybook.reprice.work import digest

__all__ = ["JOURNAL", "Book", "Sources", "sources_of"]

JOURNAL = ".baybook-reprice.jsonl"


@dataclass(frozen=True, slots=True)
class Book:
    """A book.

    Parameters
    ----------
    source : str
        Its folder, within the folder looked at.
    path : Path
        The same, to open.
    names : tuple of (str, str)
        Code of each job, without case, and the workbook it becomes.
    state : str
        Mark of all its files.
    list : str
        Mark of its price list; empty if that cannot be read.
    """

    source: str
    path: Path
    names: tuple[tuple[str, str], ...]
    state: str
    list: str


@dataclass(frozen=True, slots=True)
class Sources:
    """All there is.

    Parameters
    ----------
    books : tuple of Book
        In the order of their paths.
    workbooks : tuple of (str, Path)
        Those that stand for themselves: no book made them, or a person worked in them since.
    lists : mapping of str to tuple of PriceRow
        The price lists of the books, by mark; each read once.
    changes : mapping of str to tuple of OfferChange
        What became of each.
    left : tuple of Left
        Books whose jobs cannot be told.
    """

    books: tuple[Book, ...]
    workbooks: tuple[tuple[str, Path], ...]
    lists: Mapping[str, tuple[PriceRow, ...]]
    changes: Mapping[str, tuple[OfferChange, ...]]
    left: tuple[Left, ...]


def sources_of(folder: str | os.PathLike[str], out: Path, new: NewList) -> Sources:
    """Find what there is to price again.

    A workbook that a book made and nobody changed since is not looked at: the book is. One that somebody worked in
    counts in place of the book's job.

    Parameters
    ----------
    folder : path
        Where to look.
    out : Path
        Where results go; neither it nor the results of another run are looked at.
    new : NewList
        The new list.

    Returns
    -------
    Sources
        Books, workbooks, price lists.

    Raises
    ------
    BookError
        If there is no such folder.
    """
    root, results = Path(folder), out.resolve()
    paths, files = books_and_workbooks(root, lambda path: path.resolve() == results or (path / JOURNAL).exists())
    lists: dict[str, tuple[PriceRow, ...]] = {}
    books: list[Book] = []
    left: list[Left] = []
    for path in paths:
        source = path.relative_to(root).as_posix()
        try:
            books.append(_book(source, path, lists))
        except BookError as refused:
            left.append(Left(source, "", settled=False, problems=refused.problems))
    workbooks = [(path.relative_to(root).as_posix(), path) for path in files]
    alone, stood_for = _sorted_out(workbooks, books)
    books = [_without(book, stood_for) for book in books]
    changes = compare_lists(lists, new) if lists else {}
    return Sources(tuple(books), tuple(alone), lists, changes, tuple(left))


def _book(source: str, path: Path, lists: dict[str, tuple[PriceRow, ...]]) -> Book:
    limits, marks, mark = limits_in_force(), [], ""
    for name in (*(f"{one}.csv" for one in BOOK_FILES), RAIN_FILE):
        file = path / name
        data = read_bounded(file, limits.text_bytes) if file.exists() else b""
        marks.append(digest(data))
        if name == "prices.csv" and data:
            mark = marks[-1]
            if mark not in lists:
                try:
                    lists[mark] = read_prices(read_table(file))
                except BookError:  # told with the book, when its jobs are read
                    mark = ""
    return Book(
        source, path, tuple(_names(source, read_table(path / "jobs.csv"))), digest("".join(marks).encode()), mark
    )


def _names(source: str, jobs: Table) -> Iterable[tuple[str, str]]:
    """Yield code and workbook of each job."""
    names = [name.casefold() for name in jobs.header]
    if "job" not in names:
        raise BookError(Problem("jobs.csv", 1, "job", "column is missing: the job's code is needed"))
    at, taken = names.index("job"), list[str]()
    for row in jobs.rows:
        code = row.cells[at]
        taken.append(safe_name(code, taken))
        yield code.casefold(), (Path(source) / f"{taken[-1]}.xlsx").as_posix()


def _sorted_out(
    workbooks: Iterable[tuple[str, Path]], books: Iterable[Book]
) -> tuple[list[tuple[str, Path]], dict[str, set[str]]]:
    """Return the workbooks that stand for themselves, and by book the codes of jobs they stand for too."""
    by_path = {book.path: {Path(name).stem.casefold(): code for code, name in book.names} for book in books}
    alone: list[tuple[str, Path]] = []
    stood_for: dict[str, set[str]] = {}
    records: dict[Path, Written] = {}
    for source, path in workbooks:
        book = next((one for one in path.parents if one in by_path), None)
        code = by_path[book].get(path.stem.casefold()) if book else None
        if code is not None and book is not None:
            written = records.setdefault(path.parent, Written(path.parent))
            if not written.changed_since(path):
                continue
            stood_for.setdefault(str(book), set()).add(code)
        alone.append((source, path))
    return alone, stood_for


def _without(book: Book, stood_for: Mapping[str, set[str]]) -> Book:
    taken = stood_for.get(str(book.path), set())
    names = tuple((code, name) for code, name in book.names if code not in taken)
    return Book(book.source, book.path, names, book.state, book.list)
