"""Price all open jobs of a folder by a new list: whole, in any number of processes, and never half done."""

from __future__ import annotations

import datetime as dt
import hashlib
import multiprocessing
import os
import signal
import threading
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Executor, Future, ProcessPoolExecutor, wait
from contextlib import nullcontext
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from baybook import __version__
from baybook.files.example import ready_folder
from baybook.files.guard import read_bounded
from baybook.files.limits import limits_in_force
from baybook.files.lock import book_lock, open_elsewhere
from baybook.files.table import read_table
from baybook.files.write import sweep, write_bytes
from baybook.job.reading import read_prices
from baybook.problems import BookError, Problem, WriteFailed
from baybook.reprice.lists import NewList
from baybook.reprice.model import JobChange, Left, OfferChange
from baybook.reprice.record import Doing, Record, mark_of
from baybook.reprice.report import Repriced, write_report
from baybook.reprice.sources import JOURNAL, Book, Sources, sources_of
from baybook.reprice.work import BookPart, Made, Task, WorkbookPart, digest, work

__all__ = ["reprice"]

JOBS_A_TASK = 8
MOST_PROCESSES = 61  # as many as Windows waits for
WAITING = 3  # tasks given out for each process: enough to keep it busy, few enough to hold in memory
PathLike = str | os.PathLike[str]
Progress = Callable[[int, int, str], None]


class _Here(Executor):
    """Works in this process, at once."""

    def submit(self, fn: Callable[..., Any], /, *args: Any, **kwargs: Any) -> Future[Any]:
        """Return what is done already."""
        made: Future[Any] = Future()
        made.set_result(fn(*args, **kwargs))
        return made


def reprice(
    folder: PathLike,
    prices: PathLike,
    on: dt.date,
    when: dt.datetime,
    *,
    out: PathLike | None = None,
    accept: Iterable[str] = (),
    floor: float | None = None,
    dry_run: bool = False,
    jobs: int = 1,
    executor: Executor | None = None,
    progress: Progress | None = None,
) -> Repriced:
    """Price every job of a folder that is in pricing or offered by a new price list.

    Jobs of books become workbooks in the folder of the results; the books themselves are not touched. Workbooks are
    brought up to date in place, each kept as it was in a folder of its own. What cannot be done is listed and left; all
    else is done. Killed and started again it goes on; run twice it changes nothing the second time.

    Parameters
    ----------
    folder : path
        Books and workbooks, in sub-folders too.
    prices : path
        The new list, a CSV file with the columns of prices.csv. It speaks for the suppliers it names.
    on : date
        The day of the new prices; jobs that were quoted are quoted anew on it.
    when : datetime
        The moment of the run, for the logs of the workbooks.
    out : path, optional
        The folder of the results; ``repriced`` and the day, in the folder, if not given.
    accept : iterable of str
        SKUs, or ``SUPPLIER/SKU``, that are taken over although they look like a slip.
    floor : float, optional
        The least margin; what each job's own profit makes of its price, if not given. [1]
    dry_run : bool
        Write nothing.
    jobs : int
        Processes; 1 works in this one.
    executor : Executor, optional
        What runs the work instead: any of `concurrent.futures`, or the executor of a Dask client. It must see the
        folder under the same path.
    progress : callable, optional
        Told (jobs done, jobs in all, source) as they are done, and once before the first.

    Returns
    -------
    Repriced
        Every job, what was left, and what became of the offers.

    Raises
    ------
    BookError
        If the list cannot be read, or the folder is none.
    WriteFailed
        If the journal or the report cannot be written; what was written before is whole.
    """
    if not Path(folder).is_dir():
        raise BookError(Problem(str(folder), 0, "", "is no folder: name one that holds books or workbooks"))
    list_file = Path(prices)
    data = read_bounded(list_file, limits_in_force().text_bytes)
    new = NewList(read_prices(read_table(list_file)), on, frozenset(name.strip().casefold() for name in accept))
    if new.unknown:
        names = ", ".join(map(repr, sorted(new.unknown)))
        raise BookError(Problem(list_file.name, 0, "sku", f"--accept names {names}, which the new list has not"))
    place = Path(folder) / f"repriced {on}" if out is None else Path(out)
    if place.resolve() == Path(folder).resolve() or (place / "jobs.csv").exists():
        what = "the results need a folder of their own: name another with --out"
        raise BookError(Problem(str(place), 0, "", what))
    run = _Run(Path(folder), place, new, digest(data), when, floor, dry_run, progress)
    with nullcontext() if dry_run else book_lock(ready_folder(place)):
        if not dry_run:
            sweep(place)
        run.go(executor, jobs)
        result = run.result()
        return result if dry_run else write_report(result, place, run.record.when)


@dataclass(slots=True)
class _Run:
    """A run under way."""

    folder: Path
    out: Path
    new: NewList
    list_mark: str
    when: dt.datetime
    floor: float | None
    dry: bool
    progress: Progress | None
    changes: dict[str, JobChange] = field(default_factory=dict)
    left: list[Left] = field(default_factory=list)
    offers: dict[str, tuple[OfferChange, ...]] = field(default_factory=dict)
    written: list[str] = field(default_factory=list)
    swept: set[Path] = field(default_factory=set)
    states: dict[str, str] = field(default_factory=dict)  # source to the mark of what it is made from
    record: Record = field(init=False)

    def __post_init__(self) -> None:
        words = [__version__, self.list_mark, self.new.on.isoformat(), str(self.floor), *sorted(self.new.accepted)]
        identity = hashlib.sha256("\n".join(words).encode()).hexdigest()
        self.record = Record(self.out / JOURNAL, identity, _seen_from(self.folder, self.out), self.when)

    def go(self, executor: Executor | None, jobs: int) -> None:
        """Work until nothing is left to do."""
        sources = sources_of(self.folder, self.out, self.new)
        self.left += sources.left
        self.offers = dict(sources.changes)
        parts: list[BookPart | WorkbookPart] = [*self._book_parts(sources), *self._workbook_parts(sources)]
        tasks = list(self._tasks(parts))
        done = len(self.changes)
        total = sum(map(_size, parts)) + done
        processes = min(jobs, len(tasks), MOST_PROCESSES)
        pool = executor or (ProcessPoolExecutor(processes, initializer=_end_with) if processes > 1 else _Here())
        if self.progress:
            self.progress(done, total, "")
        with nullcontext() if executor else pool:
            width = 1 if isinstance(pool, _Here) else WAITING * max(jobs, 8 if executor else 1)
            for task, made in _worked(pool, tasks, width):
                self._take(made)
                done += sum(map(_size, task.parts))
                if self.progress:
                    self.progress(done, total, task.parts[-1].source)
        if not self.dry:
            self.record.finish()

    def result(self) -> Repriced:
        """Return what was found, in an order that does not depend on who worked on what."""
        by_book = {name: self.offers[name] for name in sorted(self.offers)}
        return Repriced(
            folder=self.folder,
            new=self.new,
            floor=self.floor,
            jobs=tuple(self.changes[key] for key in sorted(self.changes)),
            left=tuple(sorted(dict.fromkeys(self.left), key=lambda one: (one.settled, one.source, one.job))),
            offers=tuple(by_book.values()),
            written=tuple(sorted(self.written)),
        )

    # --------------------------------------------------------------------------------------------------------- parts

    def _book_parts(self, sources: Sources) -> Iterator[BookPart]:
        """Yield the jobs of books that are not done yet, a few at a time."""
        for book in sources.books:
            self.states[book.source] = book.state
            changes = sources.changes.get(book.list, ())
            prices = self.new.over(sources.lists.get(book.list, ()), changes)
            held = tuple(one for one in changes if one.kind == "held")
            names = [(code, name) for code, name in book.names if not self._is_done(book, code, name)]
            for first in range(0, len(names), JOBS_A_TASK):
                part = tuple(names[first : first + JOBS_A_TASK])
                yield BookPart(book.source, str(book.path), part, prices, held)

    def _is_done(self, book: Book, code: str, name: str) -> bool:
        key = f"{book.source}\0{code.casefold()}"
        doing = self.record.last.get(key)
        if doing is None or doing.state != book.state or mark_of(self.out / name) != doing.after:
            return False
        self.changes[key] = doing.change
        return True

    def _workbook_parts(self, sources: Sources) -> Iterator[WorkbookPart]:
        """Yield the workbooks that are not done yet.

        One that was priced here by another list is read as it was before that, as long as nobody worked in it since.
        """
        for source, path in sources.workbooks:
            key, mark, reads = f"{source}\0", mark_of(path), path
            doing = self.record.last.get(key)
            if doing and mark and (mark == doing.after or (mark != doing.state and self.record.is_written(key))):
                self.changes[key], self.offers[source] = doing.change, doing.offers
                continue
            for state, after in reversed(self.record.others.get(key, [])):
                kept = self.out / self.record.backups / source
                if after == mark and mark_of(kept) == state:
                    reads = kept
                    break
            self.states[source] = mark
            yield WorkbookPart(source, str(path), str(reads))

    def _tasks(self, parts: Sequence[BookPart | WorkbookPart]) -> Iterator[Task]:
        these: list[BookPart | WorkbookPart] = []
        for part in parts:
            if these and sum(map(_size, these)) + _size(part) > JOBS_A_TASK:
                yield self._task(these)
                these = []
            these.append(part)
        if these:
            yield self._task(these)

    def _task(self, parts: Sequence[BookPart | WorkbookPart]) -> Task:
        return Task(tuple(parts), self.new, self.record.moment, self.floor, self.dry)

    # --------------------------------------------------------------------------------------------------------- results

    def _take(self, made: Sequence[Made]) -> None:
        """Keep what became of some jobs, and write their workbooks."""
        writing: list[tuple[Made, Doing]] = []
        for one in made:
            if one.left:
                self.left.append(one.left)
            if one.change is None:
                continue
            in_place = bool(one.before)
            key = f"{one.source}\0{'' if in_place else one.job}"
            if in_place:
                self.offers[one.source] = one.offers
            self.changes[key] = one.change
            if one.data:
                place, state = ("folder", one.before) if in_place else ("out", self.states[one.source])
                mark = digest(one.data)
                writing.append((one, Doing(key, state, one.change.file, place, mark, one.change, one.offers)))
        if not writing or self.dry:
            return
        ready = [(one, doing) for one, doing in writing if self._may_be_written(doing)]
        if not ready:
            return
        self.record.begin()
        self.record.doing(doing for _, doing in ready)
        self.record.done([doing.key for one, doing in ready if self._write(one, doing)])

    def _may_be_written(self, doing: Doing) -> bool:
        """Return whether a file may be written; if not it is left, and told."""
        path = (self.folder if doing.place == "folder" else self.out) / doing.target
        elsewhere = open_elsewhere(path)
        if elsewhere:
            return self._leave(doing, f"is open elsewhere ({elsewhere}); close it and run again")
        mark = mark_of(path) if path.exists() else ""
        if doing.place == "folder" and mark != self.states[doing.change.source]:
            return self._leave(doing, "was saved by somebody meanwhile; run again")
        if doing.place == "out" and mark and mark != doing.after and not self.record.is_ours("out", doing.target, mark):
            return self._leave(doing, "was changed since it was written here; move it away and run again")
        return True

    def _write(self, one: Made, doing: Doing) -> bool:
        in_place = doing.place == "folder"
        path = (self.folder if in_place else self.out) / doing.target
        try:
            if not in_place:
                ready_folder(path.parent)
            with book_lock(path.parent) if in_place else nullcontext():
                if path.parent not in self.swept:
                    self.swept.add(path.parent)
                    sweep(path.parent)
                if in_place:
                    self._keep(path, doing)
                write_bytes(path, one.data, inside=self.folder if in_place else self.out)
        except BookError as refused:
            return self._leave(doing, *(problem.message for problem in refused.problems))
        self.written.append(doing.target)
        return True

    def _keep(self, path: Path, doing: Doing) -> None:
        """Keep a workbook as it was before the first run; what a run here made of it is not kept."""
        data = read_bounded(path, limits_in_force().disk_bytes)
        kept = self.out / self.record.backups / doing.target
        if self.record.is_ours("folder", doing.target, digest(data)):
            return
        name, number = kept, 1
        while name.exists():
            if mark_of(name) == digest(data):
                return
            number += 1
            name = kept.with_name(f"{kept.stem} ({number}){kept.suffix}")
        ready_folder(name.parent)
        write_bytes(name, data, inside=self.out)

    def _leave(self, doing: Doing, *messages: str) -> bool:
        self.changes.pop(doing.key, None)
        problems = tuple(Problem(Path(doing.target).name, 0, "", message) for message in messages)
        self.left.append(Left(doing.change.source, doing.change.job, settled=False, problems=problems))
        return False


def _seen_from(folder: Path, out: Path) -> str:
    """Return the way from one folder to another, so that both may be moved together."""
    folder, out = folder.resolve(), out.resolve()
    try:
        return Path(os.path.relpath(folder, out)).as_posix()
    except ValueError:  # on another disk
        return folder.as_posix()


def _end_with() -> None:
    """End this process with the one that started it: killed, that one cannot tell it to.

    What a person interrupts is that one; it waits for what was given out.
    """
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    parent = multiprocessing.parent_process()

    def watch() -> None:
        if parent:
            parent.join()
            os._exit(1)

    threading.Thread(target=watch, daemon=True).start()


def _size(part: BookPart | WorkbookPart) -> int:
    return len(part.names) if isinstance(part, BookPart) else 1


def _worked(pool: Executor, tasks: Sequence[Task], width: int) -> Iterator[tuple[Task, list[Made]]]:
    """Yield tasks and what becomes of them as they are done; only so many are given out at a time."""
    waiting: dict[Future[list[Made]], Task] = {}
    at = 0
    while at < len(tasks) or waiting:
        while at < len(tasks) and len(waiting) < width:
            try:
                waiting[pool.submit(work, tasks[at])] = tasks[at]
            except RuntimeError as gone:  # the pool broke: those given out already say so
                yield tasks[at], _lost(tasks[at], gone)
            at += 1
        done, _ = wait(waiting, return_when=FIRST_COMPLETED) if waiting else (set(), None)
        for one in done:
            task = waiting.pop(one)
            fault = one.exception()
            yield task, _lost(task, fault) if fault else one.result()


def _lost(task: Task, fault: BaseException) -> list[Made]:
    """Return the jobs of a task whose process died."""
    if isinstance(fault, WriteFailed):
        raise fault
    message = f"the process that worked on it ended ({type(fault).__name__}); run again with --jobs 1"
    return [
        Made(
            part.source, "", left=Left(part.source, "", settled=False, problems=(Problem(part.source, 0, "", message),))
        )
        for part in task.parts
    ]
