"""Make the example's workbooks anew, at a fixed moment: ``python tests/example_workbooks.py`` writes workbooks/."""

from __future__ import annotations

import datetime as dt
import shutil
import sys
import tempfile
from pathlib import Path

from baybook.batch import build_book
from baybook.files.example import write_example

WHEN = dt.datetime(2026, 6, 15)  # noqa: DTZ001  a workbook's clock has no zone
FOLDER = Path(__file__).parents[1] / "workbooks"


def write_workbooks(folder: Path) -> list[Path]:
    """Write the workbook of every job of the example into a folder."""
    with tempfile.TemporaryDirectory() as name:
        book = write_example(Path(name) / "book")
        built = build_book(book, Path(name) / "workbooks", WHEN.date(), WHEN)
        return [Path(shutil.copyfile(path, folder / path.name)) for path in built.workbooks]


if __name__ == "__main__":
    FOLDER.mkdir(exist_ok=True)
    sys.stdout.writelines(f"{path}\n" for path in write_workbooks(FOLDER))
