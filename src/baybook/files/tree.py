"""What lies in a folder and its sub-folders: books and workbooks."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from pathlib import Path

from baybook.problems import BookError, Problem

__all__ = ["books_and_workbooks"]

_SUFFIXES = {".xlsx", ".xlsm"}
_MARKS = ("~$", ".")  # owner files of open workbooks, hidden files and folders


def books_and_workbooks(
    folder: str | os.PathLike[str], skip: Callable[[Path], bool] = lambda _: False
) -> tuple[tuple[Path, ...], tuple[Path, ...]]:
    """Find the books and the workbooks of a folder, in the order of their paths.

    Parameters
    ----------
    folder : path
        Where to look; links to folders are not followed.
    skip : callable
        Told a folder; True leaves it and all in it out.

    Returns
    -------
    tuple of tuples of Path
        Folders that hold a jobs.csv, and files that end in ``.xlsx`` or ``.xlsm``.

    Raises
    ------
    BookError
        If there is no such folder.
    """
    place = Path(folder)
    if not place.is_dir():
        raise BookError(Problem(str(folder), 0, "", "is no folder: name one that holds books or workbooks"))
    books: list[Path] = []
    workbooks: list[Path] = []
    for path, names in _walk(place, skip):
        if "jobs.csv" in names:
            books.append(path)
        workbooks += [path / name for name in names if Path(name).suffix.lower() in _SUFFIXES]
    return tuple(books), tuple(workbooks)


def _walk(place: Path, skip: Callable[[Path], bool]) -> Iterator[tuple[Path, list[str]]]:
    for path, folders, names in os.walk(place):
        here = Path(path)
        folders[:] = sorted(name for name in folders if not name.startswith(_MARKS) and not skip(here / name))
        yield here, sorted(name for name in names if not name.startswith(_MARKS))
