"""What a job still has to buy: its estimate on the day of the order, less offcuts on hand and what is on order."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from baybook.buying.orders import Order, OrderLine
from baybook.estimate import Estimate, build_estimate
from baybook.job.records import CUT_GOODS, JobInputs, PriceRow, StockPiece
from baybook.numbers import r6
from baybook.pricing.cutgoods import CutLine
from baybook.pricing.offers import cheapest
from baybook.pricing.price import Line
from baybook.problems import BookError, Problem

__all__ = ["Needs", "Purchase", "needs_of"]


@dataclass(frozen=True, slots=True)
class Purchase:
    """Packs of one offer for one job."""

    offer: PriceRow
    job: str
    packs: int


@dataclass(frozen=True, slots=True)
class Needs:
    """What is to be bought, and what could not be taken into account."""

    purchases: tuple[Purchase, ...]
    notes: tuple[Problem, ...]


@dataclass(slots=True)
class _OnOrder:
    """What earlier orders bring one job: units of goods in packs, and stock pieces."""

    units: dict[tuple[str, str], float] = field(default_factory=dict)  # (item, liner record or "") -> units
    pieces: dict[tuple[str, str, float], int] = field(default_factory=dict)  # (item, liner, length) -> pieces

    def take(self, item: str, liner: str, wanted: float) -> float:
        """Take units for a need, those of its own liner record first; return what is still wanted."""
        for key in dict.fromkeys([(item, liner), (item, "")]):
            taken = min(wanted, self.units.get(key, 0.0))
            self.units[key] = r6(self.units.get(key, 0.0) - taken)
            wanted = r6(wanted - taken)
        return wanted

    def stock(self) -> tuple[StockPiece, ...]:
        """Return the pieces on order as pieces on hand."""
        return tuple(
            StockPiece(
                item=f"{item}: {liner}" if liner else item, length_in=length, quantity=count, location="on order"
            )
            for (item, liner, length), count in self.pieces.items()
        )


def _offers_by_sku(prices: Iterable[PriceRow]) -> dict[tuple[str, str], PriceRow]:
    return {(row.supplier.casefold(), row.sku.casefold()): row for row in prices}


def _share(line: OrderLine, job: str) -> float:
    return float(sum(packs for code, packs in line.jobs if code.casefold() == job.casefold()))


def _on_order(
    job: str, earlier: Sequence[Order], offers: Mapping[tuple[str, str], PriceRow], notes: dict[Problem, None]
) -> _OnOrder:
    found = _OnOrder()
    for order in earlier:
        for line in order.lines:
            packs = _share(line, job)
            if not packs or line.is_freight:
                continue
            offer = offers.get((order.supplier.casefold(), line.sku.casefold()))
            item = (offer.item if offer else line.item).casefold()
            liner = offer.liner.casefold() if offer else ""
            if item in CUT_GOODS and (offer is None or offer.length_in is None):
                said = (
                    f"{line.sku} of order {order.number} is not in prices.csv: without its length it is not taken off"
                )
                notes[line.place.problem("sku", said)] = None
            elif item in CUT_GOODS and offer is not None:
                key = (item, liner, float(offer.length_in or 0.0))
                found.pieces[key] = found.pieces.get(key, 0) + int(packs)
            else:
                units = packs * (offer.pack_qty if offer else float(line.pack_qty))
                found.units[item, liner] = r6(found.units.get((item, liner), 0.0) + units)
    return found


def _bought_in_packs(line: Line, estimate: Estimate, on_order: _OnOrder) -> tuple[PriceRow, int] | None:
    """Return the offer and packs that a line still needs."""
    wanted = on_order.take(line.need.item, line.need.liner, line.order)
    if wanted <= 0:
        return None
    if wanted == line.order and line.taken is not None:
        return line.taken.offer, line.packs
    only = next(iter(estimate.inputs.liners)) if len(estimate.inputs.liners) == 1 else ""
    record = line.need.liner or only
    offers = [row for row in estimate.offers if row.item == line.need.item and row.liner.casefold() in {"", record}]
    taken = cheapest(wanted, offers)
    return (taken.offer, taken.packs) if taken else None


def _bought_in_lengths(cut: CutLine, on_order: _OnOrder) -> Iterable[tuple[PriceRow, int]]:
    """Yield the stock pieces that a plan buys; what the estimator set himself less what is on order."""
    for one in cut.bought:
        pieces = one.pieces
        if one.override:
            lengths = [(key, count) for key, count in on_order.pieces.items() if key[0] == cut.cut.item]
            pieces -= sum(
                count for key, count in lengths if key[1] in {"", cut.cut.liner} and key[2] == one.offer.length_in
            )
        if pieces > 0:
            yield one.offer, pieces


def _less(stock: Sequence[StockPiece], estimate: Estimate) -> tuple[StockPiece, ...]:
    """Return the offcuts that a job leaves for the next."""
    used = {id(one.row): one.used for cut in estimate.cuts for one in cut.offcuts}
    return tuple(replace(row, quantity=row.quantity - used.get(id(row), 0)) for row in stock)


def needs_of(jobs: Sequence[JobInputs], wanted: Iterable[str], earlier: Sequence[Order], on: dt.date) -> Needs:
    """Work out what jobs still have to buy.

    Each job is estimated with the prices of the day of the order. Offcuts on hand and stock pieces on order go into
    its cut plan as pieces on hand; of goods in packs what is on order is taken off the order quantity. Jobs that have
    orders already come first, so that an offcut they count on is not given to another.

    Parameters
    ----------
    jobs : sequence of JobInputs
        The jobs of the book that are won, and those wanted.
    wanted : iterable of str
        Codes of the jobs to buy for.
    earlier : sequence of Order
        Issued orders, each in its latest revision.
    on : date
        Day of the order; its prices count.

    Returns
    -------
    Needs
        Purchases, a row for each job and offer.

    Raises
    ------
    BookError
        If an estimate is refused on that day, such as for want of an offer in force.
    """
    codes = {code.casefold() for code in wanted}
    ordered = {code.casefold() for order in earlier for line in order.lines for code, _ in line.jobs}
    stock: tuple[StockPiece, ...] = jobs[0].stock if jobs else ()
    notes: dict[Problem, None] = {}
    purchases: list[Purchase] = []
    problems: list[Problem] = []
    for inputs in sorted(jobs, key=lambda one: one.job.job.casefold() not in ordered):
        code = inputs.job.job
        if code.casefold() not in codes | ordered:
            continue
        on_order = _on_order(code, earlier, _offers_by_sku(inputs.prices), notes)
        try:
            estimate = build_estimate(replace(inputs, on=on, stock=(*stock, *on_order.stock())))
        except BookError as refused:
            problems += refused.problems
            continue
        stock = _less(stock, estimate)
        if code.casefold() not in codes:
            continue
        found = [_bought_in_packs(line, estimate, on_order) for line in estimate.lines]
        cuts = [one for cut in estimate.cuts for one in _bought_in_lengths(cut, on_order)]
        purchases += [Purchase(offer, code, packs) for offer, packs in [*filter(None, found), *cuts] if packs]
    if problems:
        raise BookError(dict.fromkeys(problems))
    return Needs(tuple(purchases), tuple(notes))
