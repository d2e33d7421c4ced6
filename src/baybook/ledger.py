"""The buying of a book from reading to writing: orders issued, the match, what was accepted."""

from __future__ import annotations

import datetime as dt
import os
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from baybook.buying.drafts import Draft, drafts_of, revised
from baybook.buying.match import Ledger, Match, match
from baybook.buying.needs import needs_of
from baybook.buying.orders import ORDER_COLUMNS, Order, latest, rows_of
from baybook.buying.records import Accepted
from baybook.buying.report import (
    EXCEPTION_COLUMNS,
    LINE_COLUMNS,
    exception_rows,
    line_rows,
    proposed_rates_text,
    supplier_sums,
)
from baybook.buying.settle import Settled, decided, settle
from baybook.buying.tolerances import Tolerance, tolerance_of
from baybook.buying.used import hours_used, materials_used, proposals
from baybook.estimate import Estimate, build_estimate
from baybook.files.book import book_there, read_book
from baybook.files.example import ready_folder
from baybook.files.lock import book_lock, open_elsewhere
from baybook.files.orders import Buying, append_accepted, next_number, orders_folder, read_buying, write_order
from baybook.files.table import write_table
from baybook.files.ubl_order import order_xml
from baybook.files.write import backup, sweep, write_bytes
from baybook.files.written import Written
from baybook.job.records import JobInputs, PriceRow
from baybook.problems import BookError, Problem
from baybook.workbook.buying import Reconciliation, order_workbook, reconciliation_workbook

__all__ = ["Issued", "Reconciled", "accept", "issue_orders", "reconcile", "revise_order"]

PathLike = str | os.PathLike[str]


@dataclass(frozen=True, slots=True)
class Issued:
    """What was ordered.

    Parameters
    ----------
    orders : tuple of Order
        Issued now.
    paths : tuple of Path
        The files written.
    told : tuple of Problem
        What a person should know: late, short of a minimum, not taken into account.
    held : int
        Orders that were not issued, for being short of the supplier's minimum.
    order_by : tuple of date or None
        The day by which each order must leave.
    """

    orders: tuple[Order, ...]
    paths: tuple[Path, ...]
    told: tuple[Problem, ...]
    held: int = 0
    order_by: tuple[dt.date | None, ...] = ()


def _chosen(inputs: Sequence[JobInputs], names: Iterable[str]) -> list[JobInputs]:
    """Return the jobs to buy for: those named, else those won."""
    by_code = {one.job.job.casefold(): one for one in inputs}
    wanted = list(dict.fromkeys(name.casefold() for name in names))
    missing = [name for name in wanted if name not in by_code]
    if missing:
        known = ", ".join(one.job.job for one in inputs)
        raise BookError(
            [Problem("jobs.csv", 0, "job", f"there is no job {name!r}: it has {known}") for name in missing]
        )
    if wanted:
        return [one for one in inputs if one.job.job.casefold() in wanted]
    won = [one for one in inputs if one.job.status == "won"]
    if not won:
        states = ", ".join(f"{one.job.job} is {one.job.status}" for one in inputs)
        said = f"no job is won ({states}): goods are ordered for jobs that are won, or name one with --job"
        raise BookError(Problem("jobs.csv", 0, "status", said))
    return won


def _drafts(
    inputs: Sequence[JobInputs],
    chosen: Sequence[JobInputs],
    earlier: Sequence[Order],
    buying: Buying,
    on: dt.date,
    *,
    together: bool,
) -> tuple[list[Draft], list[Problem]]:
    codes = {one.job.job for one in chosen}
    around = [one for one in inputs if one.job.job in codes or one.job.status == "won"]
    needs = needs_of(around, codes, earlier, on)
    terms = {(one.supplier.casefold(), one.currency): one for one in buying.suppliers}
    jobs = [one.job for one in chosen]
    return drafts_of(needs.purchases, jobs, terms, buying.settings, on, together=together), list(needs.notes)


def _told(draft: Draft, name: str) -> list[Problem]:
    return [Problem(name or draft.order.supplier, 0, "", note) for note in draft.notes]


def _places(book: PathLike, out: PathLike | None) -> Path:
    """Make the folder of the records, and return where what leaves the office goes."""
    records = ready_folder(orders_folder(book))
    sweep(records)
    return records if out is None else ready_folder(out)


def _write(book: PathLike, out: Path, order: Order, when: dt.datetime) -> list[Path]:
    """Write the record of an order, and what leaves the office."""
    sheet, xml = order_workbook(order, when), order_xml(order)
    paths = [write_order(book, order)]
    if out.resolve() != orders_folder(book).resolve():
        paths.append(out / f"{order.name}.csv")
        write_table(paths[-1], ORDER_COLUMNS, rows_of(order), inside=out)
    for suffix, data in ((".xlsx", sheet), (".xml", xml)):
        paths.append(out / f"{order.name}{suffix}")
        write_bytes(paths[-1], data, inside=out)
    return paths


def issue_orders(
    book: PathLike,
    out: PathLike | None,
    on: dt.date,
    when: dt.datetime,
    *,
    jobs: Iterable[str] = (),
    together: bool = False,
    below_minimum: bool = False,
) -> Issued:
    """Issue what jobs still need: one order a supplier.

    Parameters
    ----------
    book : path
        The book's folder; the records stand in its folder ``orders``.
    out : path or None
        Where the printable sheet, the CSV and the UBL go; None: into ``orders`` too.
    on : date
        Day of issue; its prices count.
    when : datetime
        The moment of the run.
    jobs : iterable of str
        Codes; none: all that are won.
    together : bool
        All jobs on one order a supplier; else each job has its own.
    below_minimum : bool
        Also issue orders that are short of the supplier's minimum.

    Returns
    -------
    Issued
        Orders, files, and what to know.

    Raises
    ------
    BookError
        If the book has problems, or nothing can be ordered.
    """
    with book_lock(book_there(book)):
        inputs, buying = read_book(book, on), read_buying(book)
        chosen = _chosen(inputs, jobs)
        drafts, notes = _drafts(inputs, chosen, latest(buying.orders), buying, on, together=together)
        place = _places(book, out)
        held = [draft for draft in drafts if draft.short_of and not below_minimum]
        drafts = [draft for draft in drafts if draft not in held]
        orders, paths = [], []
        told = notes + [one for draft in held for one in _told(draft, "")]
        for draft, number in zip(drafts, next_number(book, len(drafts)) if drafts else (), strict=True):
            order = replace(draft.order, number=number)
            paths += _write(book, place, order, when)
            orders.append(order)
            told += _told(draft, number)
    return Issued(tuple(orders), tuple(paths), tuple(told), len(held), tuple(draft.order_by for draft in drafts))


def revise_order(book: PathLike, number: str, out: PathLike | None, on: dt.date, when: dt.datetime) -> Issued:
    """Issue the next revision of an order, if what its jobs need of that supplier has changed.

    Its goods stay with its supplier, even where another is cheaper by now; other orders are taken off.

    Parameters
    ----------
    book, out, on, when
        As for `issue_orders`.
    number : str
        The order's number.

    Returns
    -------
    Issued
        Without an order if nothing changed.

    Raises
    ------
    BookError
        If the book has problems, or there is no such order.
    """
    with book_lock(book_there(book)):
        inputs, buying = read_book(book, on), read_buying(book)
        current = latest(buying.orders)
        issued = next((one for one in current if one.number.casefold() == number.casefold()), None)
        if issued is None:
            known = ", ".join(one.number for one in current) or "none"
            said = f"there is no order {number!r} to revise: issued are {known}"
            raise BookError(Problem("orders", 0, "order", said))
        codes = dict.fromkeys(job for line in issued.lines for job, _ in line.jobs)
        chosen = _chosen(inputs, codes)
        items = {line.item.casefold() for line in issued.lines}
        prices = tuple(row for row in inputs[0].prices if _stays(row, items, issued))
        inputs = tuple(replace(one, prices=prices) for one in inputs)
        others = [one for one in current if one is not issued]
        drafts, notes = _drafts(inputs, chosen, others, buying, on, together=True)
        draft = next((one for one in drafts if one.order.supplier.casefold() == issued.supplier.casefold()), None)
        if draft is None:
            said = f"its jobs need nothing of {issued.supplier} any more: cancel it with the supplier"
            return Issued((), (), (Problem(issued.number, 0, "", said),), 1)
        revisions = [one for one in buying.orders if one.number == issued.number]
        highest = max(line.line for one in revisions for line in one.lines)
        order = revised(issued, draft.order, highest, on)
        if order is None:
            return Issued((), (), ())
        paths = _write(book, _places(book, out), order, when)
    return Issued((order,), tuple(paths), (*notes, *_told(draft, order.name)), 0, (draft.order_by,))


def _stays(row: PriceRow, items: set[str], issued: Order) -> bool:
    return row.item not in items or row.supplier.casefold() == issued.supplier.casefold()


# ---------------------------------------------------------------------------------------------- the match


@dataclass(frozen=True, slots=True)
class Reconciled:
    """What the match found.

    Parameters
    ----------
    matched : Match
        Accounts, bills, findings.
    settled : tuple of Settled
        What became of each finding, open ones first.
    paths : tuple of Path
        The files written.
    """

    matched: Match
    settled: tuple[Settled, ...]
    paths: tuple[Path, ...] = ()

    @property
    def open(self) -> tuple[Settled, ...]:
        """The findings that a person must look at."""
        return tuple(one for one in self.settled if one.state == "open")


def _matched(inputs: Sequence[JobInputs], buying: Buying) -> Reconciled:
    settings = buying.settings("")
    found = match(
        Ledger(
            orders=buying.orders,
            receipts=buying.receipts,
            returns=buying.returns,
            documents=buying.documents,
            suppliers=buying.suppliers,
            prices=inputs[0].prices if inputs else (),
            tolerance=tolerance_of(settings),
            tax_rate=settings.tax_rate,
        )
    )
    return Reconciled(found, tuple(settle(found, buying.accepted)))


def _estimates(inputs: Sequence[JobInputs], buying: Buying) -> list[Estimate]:
    """Estimate the jobs that anything came or was worked for."""
    received = {one.order.casefold() for one in buying.receipts}
    jobs = {
        job.casefold()
        for order in latest(buying.orders)
        if order.number.casefold() in received
        for line in order.lines
        for job, _ in line.jobs
    }
    jobs |= {row.job.casefold() for row in buying.hours}
    return [build_estimate(one) for one in inputs if one.job.job.casefold() in jobs]


def _in_words(tolerance: Tolerance) -> str:
    price = []
    if tolerance.price_percent is not None:
        price.append(f"{'under' if tolerance.under_percent else 'up to'} {tolerance.price_percent:%} of a line")
    if tolerance.price_money is not None:
        price.append(f"up to {tolerance.price_money} a line")
    said = (" or " if tolerance.price_rule == "either" else " and ").join(price)
    if tolerance.order_money is not None:
        said += f"{' and ' if said else ''}up to {tolerance.order_money} an order"
    said = f"price: {said or 'nothing'}; quantity: {tolerance.quantity_percent:%}"
    return f"{said}; only what is too much stays open" if tolerance.overage_only else said


def reconcile(book: PathLike, out: PathLike | None, today: dt.date, when: dt.datetime) -> Reconciled:
    """Match a book's orders, receipts and invoices, and write what was found.

    Parameters
    ----------
    book : path
        The book's folder.
    out : path or None
        Where the workbook and the CSV files go; None: the folder ``reconciliation`` of the book.
    today : date
        Quote date of jobs still in pricing that name none.
    when : datetime
        The moment of the run.

    Returns
    -------
    Reconciled
        With the files written; a workbook that a person changed is kept as a dated backup.

    Raises
    ------
    BookError
        If the book has problems.
    """
    inputs, buying = read_book(book, today), read_buying(book)
    _check_jobs(inputs, buying)
    found = _matched(inputs, buying)
    estimates = _estimates(inputs, buying)
    prices = inputs[0].prices if inputs else ()
    materials = materials_used(estimates, buying.orders, buying.receipts, buying.returns, prices)
    hours = hours_used(estimates, buying.hours)
    proposed = proposals(materials, hours)
    exceptions, lines = exception_rows(found.settled), line_rows(found.matched, found.settled)
    data = reconciliation_workbook(
        Reconciliation(
            sums=supplier_sums(found.matched, found.settled),
            settled=found.settled,
            exceptions=exceptions,
            lines=lines,
            materials=materials,
            hours=hours,
            proposed=proposed,
            tolerance=_in_words(tolerance_of(buying.settings(""))),
        ),
        when,
    )
    place = ready_folder(out if out is not None else Path(book) / "reconciliation")
    with book_lock(place):
        sweep(place)
        workbook = place / "reconciliation.xlsx"
        elsewhere = open_elsewhere(workbook)
        if elsewhere:
            raise BookError(Problem(workbook.name, 0, "", f"is open elsewhere ({elsewhere}); close it and run again"))
        written = Written(place)
        if workbook.exists() and written.changed_since(workbook):
            backup(workbook)
        write_bytes(workbook, data, inside=place)
        written.note(workbook.name, data)
        write_table(place / "exceptions.csv", EXCEPTION_COLUMNS, exceptions, inside=place)
        write_table(place / "lines.csv", LINE_COLUMNS, lines, inside=place)
        rates = place / "proposed rates.csv"
        write_bytes(rates, proposed_rates_text(proposed).encode("utf-8"), inside=place)
    return replace(found, paths=(workbook, place / "exceptions.csv", place / "lines.csv", rates))


def _check_jobs(inputs: Sequence[JobInputs], buying: Buying) -> None:
    known = {one.job.job.casefold() for one in inputs}
    named = [(row.job, row.place) for row in buying.hours]
    named += [(row.job, row.place) for row in buying.returns if row.job]
    problems = [
        place.problem("job", f"{job!r} is no job of jobs.csv") for job, place in named if job.casefold() not in known
    ]
    if problems:
        raise BookError(problems)


def accept(
    book: PathLike, marks: Iterable[str], who: str, note: str, when: dt.datetime, *, withdraw: bool = False
) -> int:
    """Add to the log who accepted findings, or withdrew that.

    Parameters
    ----------
    book : path
        The book's folder.
    marks : iterable of str
        Marks of findings, as exceptions.csv has them.
    who, note : str
        Who decides, and why.
    when : datetime
        The moment.
    withdraw : bool
        Take back what was accepted.

    Returns
    -------
    int
        Rows added.

    Raises
    ------
    BookError
        If a mark stands for nothing that could be accepted or withdrawn, or nobody is named.
    """
    if not who.strip():
        raise BookError(
            Problem("settled.csv", 0, "who", "is empty: the log says who accepted what; name yourself with --by")
        )
    with book_lock(book_there(book)):
        inputs, buying = read_book(book, when.date()), read_buying(book)
        found = {one.finding.mark: one for one in _matched(inputs, buying).settled}
        accepted = decided(buying.accepted)
        rows, problems = [], []
        for mark in dict.fromkeys(marks):
            one = found.get(mark)
            wanted = mark in accepted if withdraw else one is not None and one.state == "open"
            if not wanted:
                said = "is not accepted" if withdraw else "stands for nothing that is open"
                problems.append(Problem("settled.csv", 0, "finding", f"{mark!r} {said}; marks stand in exceptions.csv"))
                continue
            action = "withdrawn" if withdraw else "accepted"
            rows.append(_entry(mark, one, accepted.get(mark), f"{when:%Y-%m-%d %H:%M:%S}", who.strip(), action, note))
        if problems:
            raise BookError(problems)
        append_accepted(book, rows)
    return len(rows)


def _entry(
    mark: str, one: Settled | None, before: Accepted | None, at: str, who: str, action: str, note: str
) -> Accepted:
    if one is None and before is not None:  # the finding is gone since; what the log said of it stands
        return replace(before, at=at, who=who, action=action, note=note)
    if one is None:
        raise AssertionError("a finding or a row of the log is at hand")
    finding = one.finding
    return Accepted(
        at=at,
        who=who,
        action=action,
        finding=mark,
        kind=finding.kind,
        supplier=finding.supplier,
        order=finding.order,
        line=finding.line,
        invoice=finding.invoice,
        money=finding.money,
        said=finding.said,
        note=note,
    )
