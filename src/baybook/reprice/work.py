"""One piece of a re-pricing: jobs of a book, or a workbook, from the disk to the bytes of the file they become.

It runs wherever an executor puts it: it reads, and leaves all writing to the one that gave it out.
"""

from __future__ import annotations

import datetime as dt
import gc
import hashlib
import os
import threading
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from baybook.estimate import Estimate, build_estimate
from baybook.files.book import RAIN_FILE, read_good_jobs
from baybook.files.lock import open_elsewhere
from baybook.job.reading import BOOK_FILES
from baybook.job.records import JobInputs, PriceRow
from baybook.offering import refusals
from baybook.options import with_options
from baybook.problems import BookError, Problem
from baybook.reprice.change import change_of, priced_again, repriced_inputs
from baybook.reprice.lists import NewList, compare_lists, list_day
from baybook.reprice.model import SETTLED, JobChange, Left, OfferChange

if TYPE_CHECKING:
    from baybook.workbook.template import Templates

__all__ = ["BookPart", "Made", "Task", "WorkbookPart", "digest", "work"]


@dataclass(frozen=True, slots=True)
class BookPart:
    """Jobs of one book.

    Parameters
    ----------
    source : str
        The book, within the folder.
    path : str
        Where it is.
    names : tuple of (str, str)
        Code of each job, as written, and the workbook it becomes, within the folder of the results.
    prices : tuple of PriceRow
        The prices that count now.
    held : tuple of OfferChange
        What is held back.
    """

    source: str
    path: str
    names: tuple[tuple[str, str], ...]
    prices: tuple[PriceRow, ...]
    held: tuple[OfferChange, ...]


@dataclass(frozen=True, slots=True)
class WorkbookPart:
    """A workbook: where its contents are read from, and which file takes them."""

    source: str
    path: str
    reads: str


@dataclass(frozen=True, slots=True)
class Task:
    """A few parts, worked on one after the other.

    Parameters
    ----------
    parts : tuple of BookPart or WorkbookPart
        What to price again.
    new : NewList
        The new list.
    when : datetime
        The moment of the run.
    floor : float or None
        The least margin. [1]
    dry : bool
        No workbook is made.
    """

    parts: tuple[BookPart | WorkbookPart, ...]
    new: NewList
    when: dt.datetime
    floor: float | None
    dry: bool


@dataclass(frozen=True, slots=True)
class Made:
    """What became of one job.

    Parameters
    ----------
    source, job : str
        The book or workbook, and the job's code without case.
    change : JobChange or None
        None if it was left.
    left : Left or None
        Why.
    data : bytes
        The workbook; empty if none is to be written.
    before : str
        Mark of the file that a workbook was read from.
    offers : tuple of OfferChange
        What the comparison with the prices in a workbook found.
    """

    source: str
    job: str
    change: JobChange | None = None
    left: Left | None = None
    data: bytes = b""
    before: str = ""
    offers: tuple[OfferChange, ...] = ()


def digest(data: bytes) -> str:
    """Return the mark of a file's content."""
    return hashlib.sha256(data).hexdigest()


def work(task: Task) -> list[Made]:
    """Price the jobs of a task again.

    Parameters
    ----------
    task : Task
        The parts.

    Returns
    -------
    list of Made
        One a job; what cannot be priced says why, and holds up nothing else.
    """
    with _seldom_collected():
        return [
            made
            for part in task.parts
            for made in (_book(part, task) if isinstance(part, BookPart) else _workbook(part, task))
        ]


@contextmanager
def _seldom_collected() -> Iterator[None]:
    """Let the collector run seldom: nearly all that is made here lives on in the templates, or dies at once.

    The setting is the process's, so only its main thread touches it.
    """
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    often = gc.get_threshold()
    gc.set_threshold(_SELDOM, *often[1:])
    try:
        yield
    finally:
        gc.set_threshold(*often)


# -------------------------------------------------------------------------------------------------------------- books

_SELDOM = 100_000  # new objects before the collector looks for circles among them
_Jobs = tuple[tuple[JobInputs, ...], dict[str, tuple[Problem, ...]]]


class _Own(threading.local):
    """What each thread keeps for itself from task to task: its templates, and the book it read last."""

    def __init__(self) -> None:
        self.templates: Templates | None = None
        self.book: tuple[object, _Jobs] | None = None


_own = _Own()


def _workbook_of(estimate: Estimate, when: dt.datetime) -> bytes:
    from baybook.workbook.template import Templates

    _own.templates = _own.templates or Templates()
    return _own.templates.workbook(estimate, when)


def _jobs(path: str, on: dt.date) -> _Jobs:
    """Read a book, unless it is the one read last and has not changed."""
    files = [Path(path) / f"{name}.csv" for name in BOOK_FILES] + [Path(path) / RAIN_FILE]
    stats = [(one.stat().st_mtime_ns, one.stat().st_size) if one.exists() else None for one in files]
    state = path, on, stats
    if _own.book is None or _own.book[0] != state:
        _own.book = None
        _own.book = state, read_good_jobs(path, on)
    return _own.book[1]


def _book(part: BookPart, task: Task) -> Iterator[Made]:
    try:
        inputs, broken = _jobs(part.path, task.new.on)
    except BookError as refused:
        yield Made(part.source, "", left=Left(part.source, "", settled=False, problems=refused.problems))
        return
    known = {one.job.job.casefold(): one for one in inputs}
    for code, name in part.names:
        key = code.casefold()
        if key in known:
            yield _guarded(part.source, code, lambda job, name=name: _of_book(part, job, name, task, known), known[key])
        else:
            problems = broken.get(key) or (Problem("jobs.csv", 0, "job", f"there is no job {code!r}; run again"),)
            yield Made(part.source, key, left=Left(part.source, code, settled=False, problems=problems))


def _guarded(source: str, code: str, make: Any, *arguments: Any) -> Made:
    """Return what is made of a job; whatever goes wrong leaves that job alone."""
    try:
        made: Made = make(*arguments)
    except BookError as refused:
        problems = refused.problems
    except Exception as fault:
        if os.environ.get("BAYBOOK_DEBUG"):
            raise
        what = f"a fault of baybook, not of your inputs ({type(fault).__name__}: {fault}); report it"
        problems = (Problem(source, 0, "", what),)
    else:
        return made
    return Made(source, code.casefold(), left=Left(source, code, settled=False, problems=problems))


def _refuse(after: Estimate) -> None:
    found = refusals(after.inputs, after.findings)
    if found:
        raise BookError(found)


def _of_book(part: BookPart, inputs: JobInputs, name: str, task: Task, known: Mapping[str, JobInputs]) -> Made:
    code = inputs.job.job.casefold()
    if not inputs.job.quoted_on:
        inputs = replace(inputs, on=list_day(inputs.prices, task.new.suppliers, task.new.on))
    new = repriced_inputs(inputs, part.prices, task.new.on)
    before, after, why = priced_again(inputs, new)
    _refuse(after)
    after = _with_options(after, known, part, task)
    change = change_of(part.source, before, after, part.held, task.new, task.floor, why)
    data = b"" if task.dry else _workbook_of(after, task.when)
    return Made(part.source, code, replace(change, file=name), data=data)


def _with_options(after: Estimate, known: Mapping[str, JobInputs], part: BookPart, task: Task) -> Estimate:
    """Return a job with the new prices of the jobs of its book that its quote names as options."""
    named = dict.fromkeys(row.of.casefold() for row in after.inputs.quote if row.of)
    if not named:
        return after
    new = (repriced_inputs(known[code], part.prices, task.new.on) for code in named if code in known)
    (found, *_), unpriced = with_options((after, *(build_estimate(replace(one, quote=())) for one in new)))
    if unpriced:
        raise BookError(unpriced)
    return found


# ----------------------------------------------------------------------------------------------------------- workbooks


def _workbook(part: WorkbookPart, task: Task) -> list[Made]:
    found: list[Made] = []

    def make() -> Made:
        made = _of_workbook(part, task)
        found.extend([made] if made else [])
        return made or Made(part.source, "")

    made = _guarded(part.source, "", make)
    return found or ([made] if made.left else [])


def _of_workbook(part: WorkbookPart, task: Task) -> Made | None:
    """Return a workbook priced again; None if it is none of ours."""
    from baybook.workbook.given import given_in
    from baybook.workbook.offered import offers_given
    from baybook.workbook.read import read_workbook
    from baybook.workbook.refresh import refreshed

    elsewhere = open_elsewhere(part.path)
    if elsewhere:
        name = Path(part.path).name
        raise BookError(Problem(name, 0, "", f"is open elsewhere ({elsewhere}); close it and run again"))
    book = read_workbook(part.reads)
    if not {"job_job", "a_area", "v_sku"} & book.names.keys():
        return None
    status = str(book.at("job_status") or "").strip().casefold() if "job_status" in book.names else ""
    if status in SETTLED:  # before it is read for the rest: an old one need not be whole
        job = str(book.at("job_job") or "")
        said = Problem(Path(part.path).name, 0, "status", f"job {job} is {status}: left as it is")
        return Made(part.source, job.casefold(), left=Left(part.source, job, settled=True, problems=(said,)))
    given = given_in(book)
    inputs = given.inputs
    code = inputs.job.job.casefold()
    offers = _compared(inputs, task.new)
    new = repriced_inputs(inputs, task.new.over(inputs.prices, offers), task.new.on)
    try:
        before, after, why = priced_again(inputs, new)
        _refuse(after)
    except BookError as refused:
        raise given.told(refused.problems) from None
    change = change_of(part.source, before, after, offers, task.new, task.floor, why)
    made = refreshed(book, task.when, offers_given(book, after, task.new.on), "priced by a new list")
    changed = made.cells and not task.dry
    return Made(
        part.source,
        code,
        replace(change, file=part.source if made.cells else ""),
        data=made.data if changed else b"",
        before=digest(book.data),
        offers=offers,
    )


def _compared(inputs: JobInputs, new: NewList) -> tuple[OfferChange, ...]:
    """Compare the offers in a workbook with the new list: new is only what the job could use."""
    (found,) = compare_lists({"": inputs.prices}, new).values()
    usable = {
        (row.supplier.casefold(), row.sku.casefold())
        for row in new.rows
        if row.currency == inputs.job.currency and row.liner.casefold() in {"", *inputs.liners}
    }
    return tuple(one for one in found if one.kind != "new" or (one.supplier.casefold(), one.sku.casefold()) in usable)
