"""From what is to be bought to orders ready to be issued: grouped, with freight, dates and an address."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from baybook.buying.needs import Purchase
from baybook.buying.orders import Order, OrderLine, difference, tidy
from baybook.buying.records import FREIGHT, Settings
from baybook.job.records import ITEMS, Job, Supplier
from baybook.numbers import cents, decimal_of
from baybook.pricing.freight import freight_due
from baybook.problems import BookError, Problem

__all__ = ["Draft", "drafts_of", "revised"]

NO_BUYER = "(your firm: set buyer in buying.csv)"
_SHARE = Decimal("0.0001")


@dataclass(frozen=True, slots=True, kw_only=True)
class Draft:
    """An order that has no number yet.

    Parameters
    ----------
    order : Order
        All that will be issued; its number is empty.
    jobs : tuple of str
        The jobs it is for.
    goods : Decimal
        Its lines without freight. [money]
    order_by : date or None
        The day it must leave so that the slowest line is there in time.
    short_of : Decimal
        What is missing to the supplier's minimum. [money]
    notes : tuple of str
        What a person should know before it leaves.
    """

    order: Order
    jobs: tuple[str, ...]
    goods: Decimal
    order_by: dt.date | None
    short_of: Decimal
    notes: tuple[str, ...]


def _merged(purchases: Iterable[Purchase]) -> list[tuple[Purchase, dict[str, int]]]:
    """Put the purchases of one offer together, each with its jobs and their packs."""
    found: dict[str, tuple[Purchase, dict[str, int]]] = {}
    for one in purchases:
        _, jobs = found.setdefault(one.offer.sku.casefold(), (one, {}))
        jobs[one.job] = jobs.get(one.job, 0) + one.packs
    items = list(ITEMS)
    return sorted(found.values(), key=lambda pair: (items.index(pair[0].offer.item), pair[0].offer.sku.casefold()))


def _goods_line(number: int, one: Purchase, jobs: Mapping[str, int]) -> OrderLine:
    offer, packs = one.offer, Decimal(sum(jobs.values()))
    return OrderLine(
        line=number,
        sku=offer.sku,
        item=offer.item,
        description=offer.description,
        packs=packs,
        pack_qty=tidy(decimal_of(offer.pack_qty)),
        unit=offer.unit or ITEMS[offer.item].unit,
        pack_price=offer.pack_price,
        amount=cents(packs * offer.pack_price),
        jobs=tuple((job, Decimal(count)) for job, count in jobs.items()),
    )


def _freight_line(number: int, freight: Decimal, lines: Sequence[OrderLine]) -> OrderLine:
    """Return the line of carriage, shared among the jobs by the goods they get."""
    goods: dict[str, Decimal] = {}
    for line in lines:
        for job, packs in line.jobs:
            goods[job] = goods.get(job, Decimal(0)) + packs * line.pack_price
    total = sum(goods.values(), Decimal(0))
    shares = {
        job: (value / total if total else Decimal(1) / len(goods)).quantize(_SHARE) for job, value in goods.items()
    }
    last = next(reversed(shares))
    shares[last] = 1 - sum((share for job, share in shares.items() if job != last), Decimal(0))
    return OrderLine(
        line=number,
        sku="",
        item=FREIGHT,
        description=FREIGHT,
        packs=Decimal(1),
        pack_qty=Decimal(1),
        unit="each",
        pack_price=freight,
        amount=freight,
        jobs=tuple(shares.items()),
    )


def _ship_to(jobs: Sequence[Job], settings: Callable[[str], Settings]) -> str:
    places = list(dict.fromkeys(settings(job.job).ship_to or job.site for job in jobs))
    if len(places) == 1:
        return places[0]
    if settings("").ship_to:
        return settings("").ship_to
    names = " and ".join(job.job for job in jobs)
    said = f"{names} go on one order and have different sites: set ship_to, where the goods shall go"
    raise BookError(Problem("buying.csv", 0, "ship_to", said))


def _dates(
    jobs: Sequence[Job], purchases: Iterable[Purchase], settings: Callable[[str], Settings], on: dt.date
) -> tuple[dt.date | None, dt.date | None, list[str]]:
    """Return the wanted date, the day to order by, and what to say of them."""
    starts = [(one.start, one.buffer_days) for one in (settings(job.job) for job in jobs) if one.start is not None]
    if not starts:
        return None, None, []
    wanted = min(start - dt.timedelta(days=buffer) for start, buffer in starts)
    leads = [one.offer.lead_days or 0 for one in purchases]
    order_by = wanted - dt.timedelta(days=max(leads, default=0))
    said = []
    if order_by < on:
        said.append(f"should have been ordered by {order_by}: goods wanted on {wanted} take {max(leads)} days")
    return wanted, order_by, said


def _address(text: str) -> tuple[str, ...]:
    return tuple(line.strip() for line in text.replace("\n", ";").split(";") if line.strip())


def drafts_of(
    purchases: Sequence[Purchase],
    jobs: Sequence[Job],
    suppliers: Mapping[tuple[str, str], Supplier],
    settings: Callable[[str], Settings],
    on: dt.date,
    *,
    together: bool = False,
) -> list[Draft]:
    """Group purchases into orders: one a supplier and currency, and one a job unless several go together.

    Parameters
    ----------
    purchases : sequence of Purchase
        What is to be bought.
    jobs : sequence of Job
        The jobs they are for.
    suppliers : mapping of (name, currency) to Supplier
        Terms; the name without case.
    settings : callable
        Job code to its settings.
    on : date
        Day of issue.
    together : bool
        All jobs on one order a supplier.

    Returns
    -------
    list of Draft
        By job, then supplier.

    Raises
    ------
    BookError
        If jobs of different sites go together and no address is set.
    """
    groups: dict[tuple[int, str, str], list[Purchase]] = {}
    at = {job.job: 0 if together else number for number, job in enumerate(jobs)}
    currency = {job.job: job.currency for job in jobs}
    for one in purchases:
        groups.setdefault((at[one.job], one.offer.supplier, currency[one.job]), []).append(one)
    drafts = []
    for (_, name, money), mine in sorted(groups.items(), key=lambda pair: (pair[0][0], pair[0][1].casefold())):
        own = [job for job in jobs if any(one.job == job.job for one in mine)]
        drafts.append(_draft(name, money, mine, own, suppliers.get((name.casefold(), money)), settings, on))
    return drafts


def _draft(
    name: str,
    currency: str,
    purchases: Sequence[Purchase],
    jobs: Sequence[Job],
    terms: Supplier | None,
    settings: Callable[[str], Settings],
    on: dt.date,
) -> Draft:
    lines = [_goods_line(number, one, shares) for number, (one, shares) in enumerate(_merged(purchases), 1)]
    goods = sum((line.amount for line in lines), Decimal(0))
    freight = freight_due(goods, terms)
    if freight:
        lines.append(_freight_line(len(lines) + 1, freight, lines))
    wanted, order_by, notes = _dates(jobs, purchases, settings, on)
    common = settings("")
    order = Order(
        number="",
        revision=0,
        issued_on=on,
        supplier=name,
        currency=currency,
        lines=tuple(lines),
        buyer=common.buyer or NO_BUYER,
        buyer_address=_address(common.buyer_address),
        supplier_address=_address(terms.address if terms else ""),
        account=terms.account if terms else "",
        ship_to="\n".join(_address(_ship_to(jobs, settings))),
        wanted_on=wanted,
    )
    minimum = terms.minimum_order if terms else Decimal(0)
    short = max(Decimal(0), minimum - goods)
    if short:
        notes.append(f"goods of {goods} stay {short} under the minimum of {name}, {minimum}")
    codes = tuple(job.job for job in jobs)
    return Draft(order=order, jobs=codes, goods=goods, order_by=order_by, short_of=short, notes=tuple(notes))


def revised(issued: Order, like: Order, highest: int, on: dt.date) -> Order | None:
    """Return the next revision of an issued order, or None if nothing changed.

    Parameters
    ----------
    issued : Order
        Its latest revision.
    like : Order
        What it should be; a line that stays keeps its number, new ones follow the highest ever used.
    highest : int
        The highest line number in any revision.
    on : date
        Day of issue.

    Returns
    -------
    Order or None
        With what changed as its notes.
    """
    changes = difference(issued.lines, like.lines)
    if not changes:
        return None
    numbers = {line.key: line.line for line in issued.lines}
    following = highest
    kept = []
    for line in like.lines:
        number = numbers.get(line.key)
        if number is None:
            following += 1
            number = following
        kept.append(replace(line, line=number))
    return replace(
        like,
        number=issued.number,
        revision=issued.revision + 1,
        issued_on=on,
        lines=tuple(sorted(kept, key=lambda line: line.line)),
        notes=changes,
    )
