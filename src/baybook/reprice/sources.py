"""What there is to price again in a folder: its books with their price lists, and its workbooks."""

from __future__ import annotations

import os
import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
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
from baybook.reprice.model import SETTLED, Left, OfferChange
from baybook.reprice.work import digest

__all__ = ["JOURNAL", "Book", "Sources", "sources_of"]

JOURNAL = ".baybook-reprice.jsonl"
_KEPT_COPY = re.compile(r".* before \d{4}-\d\d-\d\d \d{6}(?: \(\d+\))?")  # the stem that `backup` gives


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
        Code of each job, as written, and the workbook it becomes.
    settled : mapping of str to Left
        Those of them that are won, lost or done, by code without case.
    state : str
        Mark of all its files.
    list : str
        Mark of its price list; empty if that cannot be read.
    """

    source: str
    path: Path
    names: tuple[tuple[str, str], ...]
    settled: Mapping[str, Left]
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
        Books whose jobs cannot be told, and jobs that are settled.
    """

    books: tuple[Book, ...]
    workbooks: tuple[tuple[str, Path], ...]
    lists: Mapping[str, tuple[PriceRow, ...]]
    changes: Mapping[str, tuple[OfferChange, ...]]
    left: tuple[Left, ...]


def sources_of(folder: str | os.PathLike[str], out: Path, new: NewList) -> Sources:
    """Find what there is to price again.

    A workbook that a book made and nobody changed since is not looked at: the book is. One that somebody worked in
    counts in place of the book's job, unless the book says that the job is won, lost or done. Dated copies that a
    refresh or a build left beside a workbook are no jobs.

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
    workbooks = [(path.relative_to(root).as_posix(), path) for path in files if not _KEPT_COPY.fullmatch(path.stem)]
    alone, stood_for, settled = _sorted_out(workbooks, books)
    left += settled
    for book in books:
        left += [one for code, one in book.settled.items() if code not in stood_for.get(book.path, ())]
    books = [_open_jobs(book, stood_for.get(book.path, set())) for book in books]
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
    jobs = read_table(path / "jobs.csv")
    names, settled = tuple(_names(source, jobs)), dict(_settled(source, jobs))
    return Book(source, path, names, settled, digest("".join(marks).encode()), mark)


def _names(source: str, jobs: Table) -> Iterator[tuple[str, str]]:
    """Yield code and workbook of each job."""
    names = [name.casefold() for name in jobs.header]
    if "job" not in names:
        raise BookError(Problem("jobs.csv", 1, "job", "column is missing: the job's code is needed"))
    at, taken = names.index("job"), list[str]()
    for row in jobs.rows:
        code = row.cells[at]
        taken.append(safe_name(code, taken))
        yield code, (Path(source) / f"{taken[-1]}.xlsx").as_posix()


def _settled(source: str, jobs: Table) -> Iterator[tuple[str, Left]]:
    """Yield the jobs that are settled: whatever else is wrong with them is nobody's concern now."""
    names = [name.casefold() for name in jobs.header]
    if "status" in names:
        job, status = names.index("job"), names.index("status")
        for row in jobs.rows:
            if row.cells[status].casefold() in SETTLED:
                code = row.cells[job]
                said = f"job {code} is {row.cells[status].casefold()}: left as it is"
                problems = (Problem("jobs.csv", row.line, "status", said),)
                yield code.casefold(), Left(source, code, settled=True, problems=problems)


def _sorted_out(
    workbooks: Iterable[tuple[str, Path]], books: Iterable[Book]
) -> tuple[list[tuple[str, Path]], dict[Path, set[str]], list[Left]]:
    """Return the workbooks that stand for themselves, by book the codes they stand for too, and those left."""
    by_path = {book.path: {Path(name).stem.casefold(): code.casefold() for code, name in book.names} for book in books}
    settled = {book.path: book.settled for book in books}
    alone: list[tuple[str, Path]] = []
    stood_for: dict[Path, set[str]] = {}
    left: list[Left] = []
    records: dict[Path, Written] = {}
    for source, path in workbooks:
        book = next((one for one in path.parents if one in by_path), None)
        code = by_path[book].get(path.stem.casefold()) if book else None
        if code is not None and book is not None:
            written = records.setdefault(path.parent, Written(path.parent))
            if not _worked_in(path, written):
                continue
            stood_for.setdefault(book, set()).add(code)
            if code in settled[book]:
                left.append(replace(settled[book][code], source=source))
                continue
        alone.append((source, path))
    return alone, stood_for, left


def _worked_in(path: Path, written: Written) -> bool:
    try:
        return written.changed_since(path)
    except BookError:
        return True  # what cannot be read is told where it is read as a workbook


def _open_jobs(book: Book, stood_for: set[str]) -> Book:
    others = stood_for | book.settled.keys()
    return replace(book, names=tuple((code, name) for code, name in book.names if code.casefold() not in others))
