"""A deck measured again after framing: what differs from the bid, the change order, its signature."""

from __future__ import annotations

import datetime as dt
import os
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from baybook.changes import ChangeOrder, ChangeRow, bay_changes, contract_of, goods_changes, with_measured
from baybook.estimate import build_estimate
from baybook.files.book import book_there, read_book
from baybook.files.changes import append_change, changes_folder, read_changes, write_change, write_measured
from baybook.files.example import ready_folder
from baybook.files.lock import book_lock
from baybook.files.table import read_table
from baybook.files.write import sweep, write_bytes
from baybook.job.records import JobInputs
from baybook.problems import BookError, Problem
from baybook.workbook.change import change_workbook

__all__ = ["Told", "decide_change", "remeasure"]

PathLike = str | os.PathLike[str]
SETTLED = ("lost", "done")


@dataclass(frozen=True, slots=True)
class Told:
    """What was found of each job, and the files written."""

    changes: tuple[ChangeOrder, ...]
    paths: tuple[Path, ...] = ()


def _measured_jobs(book: PathLike, measured: PathLike, on: dt.date) -> list[tuple[JobInputs, JobInputs]]:
    """Return each job that was measured: as the book has it, and with what was measured laid over it."""
    plain = {one.job.job.casefold(): one for one in read_book(book, on)}
    again = read_book(book, on, {"measured": read_table(measured)})
    found = []
    for one in again:
        if one.measured:
            bid = plain[one.job.job.casefold()]
            found.append((bid, replace(bid, measured=with_measured(bid, one.measured))))
    if not found:
        raise BookError(
            Problem(str(measured), 0, "", "has no bay: measured.csv has a row a bay, with its job and area")
        )
    return found


def remeasure(
    book: PathLike,
    measured: PathLike,
    on: dt.date,
    when: dt.datetime,
    *,
    issue: bool = False,
    who: str = "",
    reason: str = "",
) -> Told:
    """Work jobs out again with bays as they were measured after framing.

    The prices are those of the bid's day. With ``issue`` each job that was offered or won gets a numbered change order:
    a record that is never rewritten, a page to sign, and a row in the log changes.csv.

    Parameters
    ----------
    book : path
        The book's folder.
    measured : path
        What was measured, with the columns of measured.csv; a bay not in it stays as it was.
    on : date
        Day whose prices count for jobs still in pricing.
    when : datetime
        The moment of the run.
    issue : bool
        Write change orders; else only tell.
    who : str
        Who issues it.
    reason : str
        Why, for the customer's page.

    Returns
    -------
    Told
        A change a job, and the files written.

    Raises
    ------
    BookError
        If book or measures have problems, or a change order of the job waits for its signature.
    """
    if issue and not who.strip():
        raise BookError(Problem("", 0, "by", "a change order needs a name: --by NAME"))
    with book_lock(book_there(book)):
        log = read_changes(book)
        changes = [_change(bid, again, log, on, reason) for bid, again in _measured_jobs(book, measured, on)]
        if not issue:
            return Told(tuple(changes))
        refused = [problem for one in changes if (problem := _refusal(one)) is not None]
        if refused:
            raise BookError(refused)
        folder = ready_folder(changes_folder(book))
        sweep(folder)
        paths = [path for one in changes if one.bays or one.amount for path in _issue(book, folder, one, who, when)]
    return Told(tuple(changes), tuple(paths))


def _change(bid: JobInputs, again: JobInputs, log: Sequence[ChangeRow], on: dt.date, reason: str) -> ChangeOrder:
    before, after = build_estimate(bid), build_estimate(again)
    contract = contract_of(bid.job.job, before.totals.price, log)
    return ChangeOrder(
        job=bid.job.job,
        customer=bid.job.customer,
        site=bid.job.site,
        number=contract.last + 1,
        issued_on=on,
        reason=reason,
        currency=bid.job.currency,
        before=before.totals.price,
        after=after.totals.price,
        contract=contract,
        bays=bay_changes(before, after),
        goods=goods_changes(before, after),
        units=bid.rates.units,
        measured=again.measured,
        status=bid.job.status,
    )


def _refusal(change: ChangeOrder) -> Problem | None:
    if change.status == "pricing":
        said = "is still in pricing: put what was measured into measured.csv and build again, no contract changes"
    elif change.status in SETTLED:
        said = f"is {change.status}: its contract does not change any more"
    elif change.contract.waiting:
        waits = change.contract.waiting[0].name
        said = f"has change order {waits} waiting: --sign {waits} or --withdraw {waits} first"
    else:
        return None
    return Problem("jobs.csv", 0, "status", f"job {change.job} {said}")


def _issue(book: PathLike, folder: Path, change: ChangeOrder, who: str, when: dt.datetime) -> list[Path]:
    """Write one change order: its record, its measures, its page, then its row in the log, which makes it count."""
    page = change_workbook(change, when)
    paths = [write_change(book, change), folder / f"{change.name}.xlsx"]
    write_bytes(paths[1], page, inside=folder)
    paths.append(write_measured(book, change.job, change.measured, folder / f"{change.name} measured.csv"))
    append_change(book, _row(change, "issued", who, when, change.reason))
    return paths


def _row(change: ChangeOrder, action: str, who: str, when: dt.datetime, note: str) -> ChangeRow:
    return ChangeRow(
        at=f"{when:%Y-%m-%d %H:%M:%S}",
        who=who,
        action=action,
        job=change.job,
        change=change.number,
        before=change.before,
        after=change.after,
        currency=change.currency,
        note=note,
    )


def decide_change(book: PathLike, name: str, action: str, who: str, when: dt.datetime, note: str = "") -> ChangeRow:
    """Sign or withdraw a change order. Signed, its measures go into measured.csv, so that orders follow.

    Parameters
    ----------
    book : path
        The book's folder.
    name : str
        Job and number, as RC-058-01.
    action : str
        ``signed`` or ``withdrawn``.
    who : str
        Who signs or withdraws it.
    when : datetime
        The moment of the run.
    note : str
        Why.

    Returns
    -------
    ChangeRow
        What was added to the log.

    Raises
    ------
    BookError
        If no such change order waits.
    """
    if not who.strip():
        raise BookError(Problem("", 0, "by", "who signs or withdraws needs a name: --by NAME"))
    with book_lock(book_there(book)):
        log = read_changes(book)
        waiting = {row.name.casefold(): row for job in {row.job for row in log}
                   for row in contract_of(job, log[0].before, log).waiting}  # fmt: skip
        found = waiting.get(name.casefold())
        if found is None:
            known = ", ".join(row.name for row in waiting.values()) or "none"
            raise BookError(
                Problem("changes.csv", 0, "change", f"{name!r} does not wait for a signature; waiting: {known}")
            )
        row = replace(found, at=f"{when:%Y-%m-%d %H:%M:%S}", who=who, action=action, note=note)
        if action == "signed":
            _adopt(book, found)
        append_change(book, row)
    return row


def _adopt(book: PathLike, row: ChangeRow) -> None:
    """Put the measures of a change order into the book."""
    folder = changes_folder(book)
    name = f"{row.name} measured.csv"
    if not (folder / name).exists():
        raise BookError(
            Problem(name, 0, "", "is gone: the measures of that change order; withdraw it and issue it again")
        )
    table = read_table(folder / name)
    mine = [
        one for one in read_book(book, dt.date.min, {"measured": table}) if one.job.job.casefold() == row.job.casefold()
    ]
    write_measured(book, row.job, mine[0].measured)
