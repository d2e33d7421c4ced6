"""A workbook's inputs as a book again."""

from __future__ import annotations

import datetime as dt
import os
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from baybook.files.example import ready_folder
from baybook.files.table import table_text
from baybook.files.write import write_bytes
from baybook.job.reading import BOOK_FILES
from baybook.problems import BookError, Problem
from baybook.workbook.given import given_in
from baybook.workbook.read import read_workbook

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
    a later version of this program has other defaults. Text that a person typed stays as typed.

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
    given = given_in(read_workbook(path))
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
