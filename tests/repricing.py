"""Folders to price again: books and workbooks side by side, and what a run makes of them."""

from __future__ import annotations

import datetime as dt
import io
import shutil
from collections.abc import Iterable
from dataclasses import replace
from functools import lru_cache
from pathlib import Path
from typing import Any

import books
import handmade
import openpyxl
from fleet import files_of, read_csv

from baybook.estimate import build_estimate
from baybook.files import lock
from baybook.files.written import Written
from baybook.reprice import run as running
from baybook.reprice import work as working
from baybook.workbook.template import Templates

ON = dt.date(2026, 7, 1)
WHEN = dt.datetime(2026, 7, 1, 6, 0)  # noqa: DTZ001  the files hold no zone
MADE = dt.datetime(2026, 6, 15, 12, 0)  # noqa: DTZ001  the same
RESULTS = f"repriced {ON}"
JOURNAL = f"{RESULTS}/{running.JOURNAL}"
DEARER = {"strap": {"pack_price": "2.09"}, "liner-12": {"pack_price": "44.50"}, "hanger": {"pack_price": "1.29"}}
STATUSES = {"P1": "pricing", "O1": "offered", "W1": "won", "L1": "lost", "D1": "done"}
_templates = Templates()


def tables(*codes: str, **changes: Any) -> books.Tables:
    """Return a book of worked decks, one a code; the first letter of a code says its status."""
    status = {code: STATUSES.get(f"{code[0]}1", "offered") for code in codes}
    return books.deck(
        jobs=[{"job": code, "customer": f"customer of {code}", "status": status[code]} for code in codes],
        areas=[{"job": code, "width": f"{8 + 2 * at} ft"} for at, code in enumerate(codes)],
        **changes,
    )


@lru_cache(maxsize=32)
def workbook(code: str, status: str = "offered", width: str = "16 ft", *, own: bool = False) -> bytes:
    """Return the workbook of a worked deck; `own` adds a sheet, a picture and a note of a person's."""
    inputs = books.inputs_of(books.deck(job={"job": code, "status": status}, areas=[{"job": code, "width": width}]))
    data = _templates.workbook(build_estimate(inputs), MADE)
    return handmade.rich(data) if own else data


def new_list(path: Path, changes: Any = None, more: Iterable[books.Values] = ()) -> Path:
    """Write the worked deck's price list with some prices changed."""
    rows = [*books.prices_with(DEARER if changes is None else changes), *more]
    path.write_text(books.csv_text(rows), encoding="utf-8", newline="")
    return path


def mixed(folder: Path) -> Path:
    """Write books and workbooks of every kind: 5 jobs to price, 5 settled, 1 workbook of somebody else."""
    books.book_folder(folder / "north", tables("P1", "O1", "W1", "L1", "D1"))
    deep = books.book_folder(folder / "south" / "valley", tables("P7", "O8", "O9"))
    made = deep / "workbooks"
    made.mkdir()
    written = Written(made)
    for code in ("P7", "O8"):
        data = workbook(code)
        written.note(f"{code}.xlsx", data)
        (made / f"{code}.xlsx").write_bytes(data)
    (made / "O8.xlsx").write_bytes(workbook("O8", own=True))  # a person worked in it: it counts, not the book's job
    loose = folder / "by mail"
    loose.mkdir()
    (loose / "edited.xlsx").write_bytes(workbook("X1", own=True))
    (loose / "won.xlsx").write_bytes(workbook("X2", "won"))
    (loose / "edited before 2026-06-01 101112.xlsx").write_bytes(workbook("X1"))
    (loose / "other.xlsx").write_bytes(_somebody_elses())
    (loose / "words.txt").write_text("no book", encoding="utf-8")
    return folder


@lru_cache(maxsize=1)
def _somebody_elses() -> bytes:
    stream, book = io.BytesIO(), openpyxl.Workbook()
    book.active["A1"] = "bring the ladder"
    book.save(stream)
    return stream.getvalue()


def run(folder: Path, prices: Path, **more: Any) -> Any:
    return running.reprice(folder, prices, more.pop("on", ON), more.pop("when", WHEN), **more)


def state(folder: Path, *, journal: bool = False) -> dict[str, bytes]:
    """Return all files; without the journal, which grows, and what a killed run leaves to be swept another day."""
    return dict(
        files_of(
            folder,
            lambda path: (
                (path.name == running.JOURNAL and not journal)
                or path.name in {".baybook.lock", ".baybook.lock.taking"}
                or path.suffix == ".tmp"
            ),
        )
    )


def edit(path: Path, job: str, column: str, value: str) -> None:
    """Change one cell of a CSV file in the first row of a job."""
    rows = read_csv(path)
    next(row for row in rows if row["job"] == job)[column] = value
    path.write_text(books.csv_text(rows), encoding="utf-8", newline="")


def put_back(folder: Path, files: dict[str, bytes]) -> None:
    """Make a folder hold these files and no others."""
    shutil.rmtree(folder)
    for name, data in files.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(data)


_known: dict[Any, list[Any]] = {}


def remembered(task: Any) -> list[Any]:
    """Do as `work` does, but remember: the same part in the same state is worked on once in a run of the tests.

    For tests of what a run does with what was worked out: what it writes, in which order, and what it tells.
    """
    found = []
    for part in task.parts:
        key = _content(part), part.source, task.new, task.when, task.floor
        if key not in _known:
            _known[key] = working.work(replace(task, parts=(part,), dry=False))
        found += [replace(one, data=b"") for one in _known[key]] if task.dry else _known[key]
    return found


def _content(part: Any) -> Any:
    place = Path(part.path)
    if isinstance(part, working.BookPart):
        files = sorted(place.glob("*.csv"))
        return part.names, part.prices, part.held, tuple((path.name, path.read_bytes()) for path in files)
    return lock.open_elsewhere(place), Path(part.reads).read_bytes()
