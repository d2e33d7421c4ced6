"""The buttons of the macro workbook: what xlwings' RunPython calls. Thin, as the commands are.

The template's one macro serves both buttons; which of them was pressed is told by the sheet it stands on.
"""

from __future__ import annotations

import datetime as dt
import os
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from baybook.addin.excel import FIELDS, NEW, REFRESH, STATUS
from baybook.commands.common import counted, moment, today
from baybook.problems import BookError, Problem

__all__ = ["main", "press"]

_MOST_OPENED = 3


def main() -> None:
    """Do what the button on the active sheet says; called from Excel."""
    import xlwings as xw

    press(xw.Book.caller())


def press(book: Any) -> None:
    """Do what the button on a workbook's active sheet says, and write on the sheet what happened.

    Parameters
    ----------
    book : xlwings.Book
        The workbook with the button.
    """
    sheet = book.sheets.active
    action = _ACTIONS.get(sheet.name)
    if action is None:
        return
    try:
        said = action(book, sheet)
    except BookError as refused:
        said = "\n".join(str(problem) for problem in refused.problems)
    except Exception as fault:  # a dialog with a traceback helps nobody
        said = f"a fault of the program ({type(fault).__name__}: {fault}); please report it"
    sheet[STATUS].value = said


def _field(sheet: Any, name: str) -> str:
    value = sheet[FIELDS[name]].value
    return f"{value:%Y-%m-%d}" if isinstance(value, dt.date) else str(value or "").strip().strip('"')


def _needed(sheet: Any, name: str, what: str) -> str:
    text = _field(sheet, name)
    if not text:
        raise BookError(Problem("", 0, FIELDS[name], f"is empty: write {what} there"))
    return text


def _open_here(book: Any, path: Path) -> Any:
    wanted = os.path.normcase(path)
    return next((one for one in book.app.books if os.path.normcase(one.fullname) == wanted), None)


def _refresh(book: Any, sheet: Any) -> str:
    """Refresh a job's workbook; one that is open in this Excel is saved, closed and in any case opened again."""
    from baybook.workbook.refresh import refresh_workbook

    path = Path(_needed(sheet, "workbook", "the whole path of the job's workbook"))
    opened = _open_here(book, path)
    if opened is not None:
        opened.save()
        opened.close()
    try:
        made = refresh_workbook(path, moment())
    finally:
        if opened is not None:
            book.app.books.open(str(path))
            book.activate()
    if made.copy is None:
        return f"{path.name} is up to date; nothing was written"
    before = "" if made.before is None else f" (before: {made.before})"
    return f"{path.name} refreshed: price now {made.after}{before}; as it was: {made.copy.name}"


def _new(book: Any, sheet: Any) -> str:
    """Build the workbooks of a book, and open them if they are few."""
    from baybook.batch import build_book

    folder = _needed(sheet, "book", "the folder of the CSV files")
    out = _field(sheet, "out") or str(Path(folder) / "workbooks")
    day = _field(sheet, "on")
    try:
        on = dt.date.fromisoformat(day) if day else today()
    except ValueError:
        message = f"{day!r} is not a date: write year-month-day, 2026-06-15"
        raise BookError(Problem("", 0, FIELDS["on"], message)) from None
    built = build_book(folder, out, on, moment())
    if len(built.workbooks) <= _MOST_OPENED:
        for path in built.workbooks:
            book.app.books.open(str(path))
        book.activate()
    lines = [f"{counted(len(built.workbooks), 'workbook')} written to {out}", *map(str, built.kept)]
    return "\n".join(lines)


_ACTIONS: Mapping[str, Callable[[Any, Any], str]] = {REFRESH: _refresh, NEW: _new}
