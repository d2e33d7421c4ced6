"""A workbook that a person worked in, brought up to date in place: our cells anew, all else as it stands."""

from __future__ import annotations

import datetime as dt
import os
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from baybook import __version__
from baybook.files.guard import check_workbook
from baybook.files.lock import book_lock, open_elsewhere
from baybook.files.write import backup, sweep, write_bytes
from baybook.offering import refusals
from baybook.problems import BookError, Problem, WriteFailed
from baybook.workbook.compare import Difference, compare
from baybook.workbook.declare import Block, Layout, Scalar, layout
from baybook.workbook.due import Held, due_cells
from baybook.workbook.evaluate import evaluate
from baybook.workbook.layouts import with_values
from baybook.workbook.patch import Place, patched_sheet, replaced_parts, without_values
from baybook.workbook.prove import Disagreement, differences
from baybook.workbook.read import Address, ReadBook, book_of, read_workbook
from baybook.workbook.redeclare import CURE, Redeclared, redeclare, values_in
from baybook.workbook.sheetxml import scan_sheet

__all__ = ["Refreshed", "refresh_workbook", "refreshed"]

SETTLED = ("won", "lost", "done")
LOG = ("log_when", "log_version", "log_what", "log_before", "log_price", "log_note")
_WORDS = re.compile(r"""[^\W\d][\w.]*|'(?:[^']|'')+'""")
_ANYWHERE = ("INDIRECT(", "OFFSET(", "[")  # what these read cannot be told from the formula


@dataclass(frozen=True, slots=True)
class Moved:
    """A figure that a refresh changes: where it stands, what it is called, what it was and what it is."""

    name: str
    before: Any
    after: Any


@dataclass(frozen=True, slots=True)
class Refreshed:
    """What a refresh changes, or changed.

    Parameters
    ----------
    data : bytes
        The workbook brought up to date; the file itself if nothing had to change.
    figures : tuple of Moved
        Results that moved, the price among them.
    cells : tuple of Difference
        Every cell that is new.
    mended : tuple of Difference
        Input cells whose text became the value it says.
    before, after : Any
        The price shown before and after.
    unfit : tuple of Problem
        Why the job, which is offered, should not be.
    copy : Path or None
        The backup, if the file was written.
    """

    data: bytes
    figures: tuple[Moved, ...]
    cells: tuple[Difference, ...]
    mended: tuple[Difference, ...]
    before: Any
    after: Any
    unfit: tuple[Problem, ...] = ()
    copy: Path | None = None


def refresh_workbook(
    path: str | os.PathLike[str], when: dt.datetime, *, dry_run: bool = False, force: bool = False
) -> Refreshed:
    """Bring a workbook up to date with the inputs in it; a person's work in it stays.

    Parameters
    ----------
    path : path
        The workbook. A backup with a dated name is left beside it.
    when : datetime
        The moment of the run, for the log sheet.
    dry_run : bool
        Only tell what would change.
    force : bool
        Also the workbook of a job that is won, lost or done.

    Returns
    -------
    Refreshed
        What changed.

    Raises
    ------
    BookError
        If it is open elsewhere, cannot be read or written, was taken apart by hand, or its job is settled. The file is
        then as it was.
    """
    path = Path(path)
    if dry_run:
        return refreshed(read_workbook(path), when)
    elsewhere = open_elsewhere(path)
    if elsewhere:
        raise BookError(Problem(path.name, 0, "", f"is open elsewhere ({elsewhere}); close it and run again"))
    book = read_workbook(path)  # before the lock: a folder that is not there is told by its file
    status = str(book.at("job_status") or "").casefold() if "job_status" in book.names else ""
    if status in SETTLED and not force:
        message = f"the job is {status}; --force refreshes it all the same and keeps a backup"
        raise BookError(Problem(path.name, 0, "", message))
    with book_lock(path.parent):
        made = refreshed(book, when)
        if not made.cells:
            return made
        sweep(path.parent)
        if check_workbook(path) != book.data:
            raise BookError(Problem(path.name, 0, "", "was saved by somebody meanwhile; run again"))
        return replace(made, copy=_written(path, made.data))


def _written(path: Path, data: bytes) -> Path:
    copy = backup(path)
    try:
        write_bytes(path, data)
    except WriteFailed:
        with suppress(OSError):  # the file still stands, so its copy is one too many
            copy.unlink()
        raise
    return copy


def refreshed(
    book: ReadBook, when: dt.datetime, given: Mapping[Address, Any] | None = None, what: str = "refreshed"
) -> Refreshed:
    """Work out what a workbook becomes; errors as of `refresh_workbook`, and nothing is written.

    Parameters
    ----------
    book : ReadBook
        The workbook as read.
    when : datetime
        The moment of the run.
    given : mapping, optional
        Inputs that take the place of those in it, by (sheet, row, column); None for a blank.
    what : str
        What the log says was done.

    Returns
    -------
    Refreshed
        The new file, and what changed.
    """
    values = {at: value for at, value in {**book.values, **(given or {})}.items() if value is not None}
    made = redeclare(replace(book, values=values), when)
    if made.lacking:
        raise BookError(Problem(book.source, 0, "", f"{sentence}: {CURE}") for sentence in made.lacking)
    values = evaluate(made.spec, made.layout)
    _hold(made, values)
    before, after = book.at("quote_price"), values[made.layout.address("quote_price")]
    made = _logged(made, when, before, after, what)
    unfit = made.given.told(refusals(made.given.inputs, made.estimate.findings)).problems
    due = due_cells(made.layout, values)
    changes = compare(book, due, made.layout)
    log = made.layout.address(LOG[0])[0]
    if all(one.address[0] == log and one.what == "text" for one in changes):  # the new line of the log alone
        return Refreshed(book.data, (), (), (), before, after, unfit)
    data = _patched(book, due, changes, made)
    _held_again(book, data, due, made)
    mended = tuple(one for one in changes if one.address in made.mended)
    return Refreshed(data, tuple(_figures(changes, made.layout)), tuple(changes), mended, before, after, unfit)


def _hold(made: Redeclared, values: Mapping[Address, Any]) -> None:
    """See that formulas and engine agree before anything is written."""
    found = differences(made.estimate, made.layout, values, made.shape)
    if not found:
        return
    refused = [
        str(text)
        for text, word in zip(_column("chk_text", made), _results("chk_word", made, values), strict=True)
        if word == "REFUSED"
    ]
    if refused:
        message = f"the workbook's own checks refuse it: {'; '.join(refused)}; put that right, or {CURE}"
        raise BookError(Problem(made.book.source, 0, "", message))
    raise Disagreement(f"job {made.estimate.inputs.job.job}: " + "; ".join(found[:5]))


def _column(key: str, made: Redeclared) -> Sequence[Any]:
    declared = made.layout.declaration(key)
    return () if isinstance(declared, Scalar) else declared.values or ()


def _results(key: str, made: Redeclared, values: Mapping[Address, Any]) -> list[Any]:
    return [values[made.layout.address(key, row)] for row in range(made.layout.count(key))]


# --------------------------------------------------------------------------------------------------------------- log


def _logged(made: Redeclared, when: dt.datetime, before: Any, after: Any, what: str) -> Redeclared:
    """Return the same with a line more in the log; in a full one the oldest but the first makes room."""
    held = {key: values_in(made.book, key) for key in LOG}
    rows = len(held["log_when"])
    used = max((row + 1 for row in range(rows) if any(held[key][row] is not None for key in LOG)), default=0)
    if used == rows:
        held = {key: [values[0], *values[2:], None] for key, values in held.items()}
        used -= 1
    line = (when.strftime("%Y-%m-%d %H:%M"), f"baybook {__version__}", what, before, after, None)
    for key, value in zip(LOG, line, strict=True):
        held[key][used] = value
    spec = with_values(made.spec, held)
    return replace(made, spec=spec, layout=layout(spec))


# ------------------------------------------------------------------------------------------------------------- patch


def _patched(book: ReadBook, due: Mapping[Address, Held], changes: Sequence[Difference], made: Redeclared) -> bytes:
    """Return the file with our cells as they should be, and no stale value beside anybody else's formula."""
    cells: dict[str, dict[Place, Held]] = {}
    for one in changes:
        sheet, row, col = one.address
        held = book.formulas.get(one.address)
        if held is not None and one.address in made.mended:
            message = f"its formula gives the text {one.held!r}; let it give a number"
            raise BookError(Problem(book.source, 0, f"{sheet}!{one.name}", message))
        new = due[one.address]
        cells.setdefault(sheet, {})[row, col] = Held(new.value, held if one.what == "value" else new.formula)
    parts = {book.parts[sheet]: patched_sheet(book.scans[sheet], new) for sheet, new in cells.items()}
    for sheet, places in _stale(book, due, made.layout):
        scan = book.scans[sheet]
        if sheet in cells:  # the places have moved: they are found again in what was patched
            scan = scan_sheet(parts[book.parts[sheet]], book.shared)
        parts[book.parts[sheet]] = without_values(scan, places)
    return replaced_parts(book.data, parts)


def _stale(book: ReadBook, due: Mapping[Address, Held], placed: Layout) -> Iterator[tuple[str, list[Place]]]:
    """Yield the formulas of a person's own that may read our cells, by sheet: the values beside them no longer hold."""
    ours = {sheet.title for sheet in placed.sheets}
    theirs: dict[str, list[Place]] = {}
    for sheet, row, col in book.formulas:
        if (sheet, row, col) not in due:
            theirs.setdefault(sheet, []).append((row, col))
    words = {
        sheet: set().union(*(_words(book.formulas[sheet, *at]) for at in places)) for sheet, places in theirs.items()
    }
    names = {name.casefold(): _words(text) for name, text in book.broken.items()}
    names |= {name.casefold(): {where.sheet.casefold()} for name, where in book.names.items()}
    reached = {title.casefold() for title in ours} | {name.casefold() for name in placed.names} | set(_ANYWHERE)
    grown = True
    while grown:
        new = {name for name, said in names.items() if said & reached} | {
            sheet.casefold() for sheet, said in words.items() if said & reached
        }
        grown = not new <= reached
        reached |= new
    for sheet, places in theirs.items():
        if sheet in ours or words[sheet] & reached:
            yield sheet, places


def _words(formula: str) -> set[str]:
    """Return the names, sheets and functions that a formula speaks of, without case."""
    found = {word.strip("'").replace("''", "'").casefold() for word in _WORDS.findall(formula)}
    return found | {call for call in _ANYWHERE if call in formula.upper()}


def _held_again(book: ReadBook, data: bytes, due: Mapping[Address, Held], made: Redeclared) -> None:
    """See that the new file holds what it should before it takes the old one's place."""
    left = compare(book_of(data, book.source), due, made.layout)
    if left:
        raise Disagreement(f"{book.source}: {left[0]}")


# ----------------------------------------------------------------------------------------------------------- figures


def _figures(changes: Iterable[Difference], placed: Layout) -> Iterator[Moved]:
    """Yield the single results on sheets a person reads that moved."""
    changed = {one.address: one for one in changes if one.what == "value"}
    for sheet in placed.sheets:
        if sheet.working or sheet.title == "Start":
            continue
        for part in sheet.parts:
            for scalar in part.scalars if isinstance(part, Block) else ():
                one = changed.get(placed.address(scalar.key))
                if one is not None:
                    yield Moved(f"{sheet.title}, {scalar.label}", one.held, one.due)
