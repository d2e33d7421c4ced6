"""The invented example book that comes with the program: three jobs to look at, copy and change."""

from __future__ import annotations

import os
from importlib import resources
from pathlib import Path

from baybook.files.write import told, write_bytes
from baybook.job.reading import BOOK_FILES
from baybook.problems import BookError, Problem

__all__ = ["example_files", "ready_folder", "write_example"]

NEW_LIST = "alder-yard-october.csv"  # a supplier's next list: no file of the book, there to try `baybook reprice` with


def example_files() -> dict[str, bytes]:
    """Return the files of the example, name to content: its book in the order it is read, and a supplier's new list."""
    book = resources.files("baybook") / "example"
    return {name: (book / name).read_bytes() for name in (*(f"{one}.csv" for one in BOOK_FILES), NEW_LIST)}


def ready_folder(folder: str | os.PathLike[str]) -> Path:
    """Return the folder, made if it is not there.

    Parameters
    ----------
    folder : path
        The folder; those above it are made too.

    Returns
    -------
    Path
        The folder.

    Raises
    ------
    BookError
        If something else has that name, or the disk refuses.
    """
    place = Path(folder)
    try:
        with told(place):
            place.mkdir(parents=True, exist_ok=True)
    except FileExistsError:
        raise BookError(Problem(str(folder), 0, "", "is a file, not a folder; choose another name")) from None
    return place


def write_example(folder: str | os.PathLike[str]) -> Path:
    """Write the example book into a folder; a file that is there already and differs is never overwritten.

    Parameters
    ----------
    folder : path
        The folder, made if it is not there.

    Returns
    -------
    Path
        The folder, now a book.

    Raises
    ------
    BookError
        If files of the book's names hold something else: all of them are named and nothing is written.
    WriteFailed
        If a file cannot be written.
    """
    files = example_files()
    place = ready_folder(folder)
    there = {name for name in files if os.path.lexists(place / name)}
    with told(place, "files could not be read"):
        other = [name for name in there if not (place / name).is_file() or (place / name).read_bytes() != files[name]]
    if other:
        message = f"is there already in {folder} and is not the example's; choose an empty folder"
        raise BookError([Problem(name, 0, "", message) for name in files if name in other])
    for name, content in files.items():
        if name not in there:
            write_bytes(place / name, content, inside=place)
    return place
