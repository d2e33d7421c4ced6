"""What a re-pricing has done, on the disk: so that it goes on where it was killed, and does nothing twice."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from baybook.files.guard import read_bounded
from baybook.files.journal import Journal
from baybook.files.limits import limits_in_force
from baybook.problems import BookError, Problem
from baybook.reprice.model import JobChange, OfferChange, as_json, of_json, offer_as_json, offer_of_json
from baybook.reprice.work import digest

__all__ = ["Doing", "Record", "mark_of"]


@dataclass(frozen=True, slots=True)
class Doing:
    """A file about to be written.

    Parameters
    ----------
    key : str
        The source and the job.
    state : str
        Mark of what it was made from: a book's files, or the workbook as it was.
    target : str
        The file, within the folder of the results or, in place, within the folder looked at; empty: nothing to write.
    place : str
        ``out`` or ``folder``.
    after : str
        Mark of what it becomes.
    change : JobChange
        What the report says.
    offers : tuple of OfferChange
        What became of the prices in a workbook; those of books are compared anew each time.
    """

    key: str
    state: str
    target: str
    place: str
    after: str
    change: JobChange
    offers: tuple[OfferChange, ...] = ()


def mark_of(path: Path) -> str:
    """Return the mark of a file as it stands; empty if it is not there, or cannot be read."""
    try:
        return digest(read_bounded(path, limits_in_force().disk_bytes))
    except BookError:
        return ""


class Record:
    """The journal of the folder of results, as lines of runs.

    Parameters
    ----------
    path : Path
        The journal.
    identity : str
        Mark of the list, the day and whatever else decides the results: another one makes them anew.
    of : str
        The folder whose jobs these are, seen from the folder of results: that takes the jobs of one folder alone.
    when : datetime
        The moment of this run. A run that goes on where another was killed takes the moment of that one.

    Raises
    ------
    BookError
        If the journal cannot be read, or is that of another folder's jobs.
    """

    def __init__(self, path: Path, identity: str, of: str, when: dt.datetime) -> None:
        self._journal = Journal(path)
        self._identity, self._of, self._now = identity, of, when
        self.last: dict[str, Doing] = {}  # by key, of this identity
        self.others: dict[str, list[tuple[str, str]]] = {}  # by key: what files were and became by another list
        self._written: set[str] = set()
        self._ours: dict[str, set[str]] = {}
        self.when, self.backups = when, f"workbooks before {when:%Y-%m-%d %H%M%S}"
        self._open = False
        self._read()

    def _read(self) -> None:
        current = ""
        first = True
        for line in self._journal.lines:
            if "run" in line:
                current, self._open = "", False
                if line.get("of") != self._of:
                    what = f"the results of the jobs of {line.get('of')} are in it: name another folder with --out"
                    raise BookError(Problem(str(self._journal.path.parent), 0, "", what))
                try:
                    when, backups = dt.datetime.fromisoformat(str(line["when"])), str(line["backups"])
                except (KeyError, ValueError):
                    continue  # damaged, or of another version of this program
                current = str(line["run"])
                self._open = current == self._identity
                if self._open:
                    self.when = when
                if first:
                    self.backups, first = backups, False
            elif "finished" in line:
                self._open = False
            elif "done" in line:
                self._written.add(str(line["done"]))
            elif "doing" in line:
                self._note(line, current)

    def _note(self, line: Mapping[str, Any], identity: str) -> None:
        try:
            names = ("doing", "state", "target", "place", "after")
            key, state, target, place, after = (str(line[name]) for name in names)
            offers = tuple(map(offer_of_json, line["offers"]))
            doing = Doing(key, state, target, place, after, of_json(line["change"]), offers)
        except (KeyError, TypeError, ValueError, ArithmeticError):
            return  # of another version of this program
        self._keep(doing, identity)

    def _keep(self, doing: Doing, identity: str) -> None:
        self._ours.setdefault(f"{doing.place}/{doing.target}", set()).add(doing.after)
        self._written.discard(doing.key)
        if identity == self._identity:
            self.last[doing.key] = doing
        else:
            self.last.pop(doing.key, None)
            self.others.setdefault(doing.key, []).append((doing.state, doing.after))

    @property
    def moment(self) -> dt.datetime:
        """The moment of what this run writes; `when` is that of what was written last."""
        return self.when if self._open else self._now

    def begin(self) -> None:
        """Open a run, unless one that was killed goes on."""
        if not self._open:
            self.when = self._now
            head = {"run": self._identity, "of": self._of, "when": self.when.isoformat(), "backups": self.backups}
            self._journal.add([head])
            self._open = True

    def doing(self, these: Iterable[Doing]) -> None:
        """Put on the disk what is about to be written."""
        these = list(these)
        lines = [
            {
                "doing": one.key,
                "state": one.state,
                "target": one.target,
                "place": one.place,
                "after": one.after,
                "change": as_json(one.change),
                "offers": list(map(offer_as_json, one.offers)),
            }
            for one in these
        ]
        self._journal.add(lines)
        for one in these:
            self._keep(one, self._identity)

    def done(self, keys: Iterable[str]) -> None:
        """Put on the disk what was written."""
        self._journal.add([{"done": key} for key in keys])

    def finish(self) -> None:
        """Close the run."""
        if self._open:
            self._journal.add([{"finished": True}])
            self._open = False

    def is_written(self, key: str) -> bool:
        """Return whether the journal says that a job's file was written."""
        return key in self._written

    def is_ours(self, place: str, target: str, mark: str) -> bool:
        """Return whether a file is as a run here wrote it."""
        return mark in self._ours.get(f"{place}/{target}", ())
