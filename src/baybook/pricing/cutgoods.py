"""Cut goods: the stock a plan may use, the plan, and what it costs (rules P7, M1, M5)."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction
from functools import lru_cache

from baybook.cutplan import Piece, Plan, Stock, plan_cuts, verify_plan
from baybook.job.records import JobInputs, Override, PriceRow, StockPiece
from baybook.numbers import cents, sixteenths_down, sixteenths_up
from baybook.takeoff.model import CutPieces
from baybook.takeoff.stock import StockOnOffer

__all__ = ["Bought", "CutLine", "Offcut", "StockPieceCut", "plan_of", "stock_lengths"]


@dataclass(frozen=True, slots=True)
class Bought:
    """New stock pieces of one length."""

    offer: PriceRow
    length: int  # [1/16 in]
    planned: int
    pieces: int  # as planned, unless overridden
    cost: Decimal
    override: Override | None = None


@dataclass(frozen=True, slots=True)
class Offcut:
    """Offcuts on hand of one length and place, at their scrap value."""

    row: StockPiece
    length: int  # [1/16 in]
    value: Decimal
    used: int


@dataclass(frozen=True, slots=True)
class StockPieceCut:
    """P7. One stock piece and what is cut from it."""

    number: int
    length: int  # [1/16 in]
    location: str  # of an offcut; empty for new stock
    pieces: tuple[int, ...]  # places in the list of pieces, longest first
    remainder: int  # [1/16 in]


@dataclass(frozen=True, slots=True)
class CutLine:
    """The plan of one cut item and what it costs."""

    cut: CutPieces
    stock: tuple[Stock, ...]  # what the plan's patterns count in: new lengths first, then offcuts
    plan: Plan
    bought: tuple[Bought, ...]
    offcuts: tuple[Offcut, ...]
    cost: Decimal

    @property
    def key(self) -> str:
        """Item, with its liner record where it has one."""
        return f"{self.cut.item}: {self.cut.liner}" if self.cut.liner else self.cut.item

    @property
    def pieces(self) -> int:
        """Stock pieces bought."""
        return sum(one.pieces for one in self.bought)

    def stock_pieces(self) -> tuple[StockPieceCut, ...]:
        """P7. Every stock piece of the plan with the pieces cut from it, in the order of the plan.

        Of pieces of one length the first in the order of work comes from the first stock piece that holds one.
        """
        waiting: dict[int, list[int]] = {}
        for at in reversed(range(len(self.cut.pieces))):
            waiting.setdefault(self.cut.pieces[at][0], []).append(at)
        found: list[StockPieceCut] = []
        for pattern in self.plan.patterns:
            stock = self.stock[pattern.stock]
            where = stock.name if stock.supply is not None else ""
            for _ in range(pattern.times):
                cut = tuple(waiting[length].pop() for length, count in pattern.pieces for _ in range(count))
                found.append(StockPieceCut(len(found) + 1, stock.length, where, cut, pattern.remainder))
        return tuple(found)

    def in_order_of_work(self) -> tuple[tuple[str, int, StockPieceCut], ...]:
        """P7. Label and length of every piece in the order of work, with the stock piece it comes from."""
        source = {at: piece for piece in self.stock_pieces() for at in piece.pieces}
        return tuple((label, length, source[at]) for at, (length, label) in enumerate(self.cut.pieces))


def stock_lengths(stock: StockOnOffer) -> tuple[tuple[int, PriceRow], ...]:
    """M5. Stock lengths on offer, shortest first, each with its cheapest offer; the first of equals."""
    best: dict[int, PriceRow] = {}
    for row in stock.offers:
        length = sixteenths_down(row.length_in or 0.0)
        if length > 0 and (length not in best or cents(row.pack_price) < cents(best[length].pack_price)):
            best[length] = row
    return tuple(sorted(best.items()))


def _scrap_value(length: int, lengths: Sequence[tuple[int, PriceRow]], share: Decimal) -> Decimal:
    """P7. Scrap value of an offcut: a share of the lowest price by length on offer."""
    by_length = min(Fraction(cents(row.pack_price)) / new for new, row in lengths)
    exact = by_length * length * Fraction(share)
    return (Decimal(exact.numerator) / Decimal(exact.denominator)).quantize(Decimal("0.01"), ROUND_HALF_UP)


def _is_item(text: str, cut: CutPieces) -> bool:
    item, _, liner = (part.strip().casefold() for part in text.partition(":"))
    return item == cut.item and liner in {"", cut.liner}


@lru_cache(maxsize=1024)
def _plan(pieces: tuple[Piece, ...], offered: tuple[Stock, ...], kerf: int, end_trim: int, min_remainder: int) -> Plan:
    """P7. Plan the same cutting once: alternatives of a job, and a job priced again, often share it."""
    return plan_cuts(pieces, offered, kerf=kerf, end_trim=end_trim, min_remainder=min_remainder)


def plan_of(cut: CutPieces, stock: StockOnOffer, inputs: JobInputs) -> CutLine:
    """P7, M1. Plan one cut item at least cost and price it.

    Parameters
    ----------
    cut : CutPieces
        The pieces to cut.
    stock : StockOnOffer
        The eligible offers.
    inputs : JobInputs
        For kerf, end trim, offcuts on hand and overrides.

    Returns
    -------
    CutLine
        A plan that passed the independent verifier.

    Raises
    ------
    Unplannable
        If a piece is longer than every stock piece less its trim.
    """
    rates = inputs.rates
    lengths = stock_lengths(stock)
    hand = [
        Offcut(
            row,
            sixteenths_down(row.length_in),
            _scrap_value(sixteenths_down(row.length_in), lengths, rates.offcut_value),
            0,
        )
        for row in inputs.stock
        if row.quantity > 0 and _is_item(row.item, cut)
    ]
    offered = tuple(
        [Stock(length, int(cents(row.pack_price) * 100), None, row.sku) for length, row in lengths]
        + [Stock(one.length, int(one.value * 100), one.row.quantity, one.row.location) for one in hand]
    )
    counts: dict[int, int] = {}
    for length, _ in cut.pieces:
        counts[length] = counts.get(length, 0) + 1
    pieces = tuple(Piece(length, count) for length, count in sorted(counts.items(), reverse=True))
    kerf, trim = sixteenths_up(rates.kerf_in), sixteenths_up(rates.end_trim_in)
    plan = _plan(pieces, offered, kerf, trim, sixteenths_up(rates.offcut_min_in))
    verify_plan(plan, pieces, offered, kerf=kerf, end_trim=trim)
    own = {
        sixteenths_down(row.length_in): row
        for row in inputs.overrides
        if row.length_in is not None and _is_item(row.item, cut)
    }
    bought = []
    for at, (length, row) in enumerate(lengths):
        planned, override = plan.used[at], own.get(length)
        count = int(override.quantity) if override else planned
        bought.append(Bought(row, length, planned, count, cents(count * cents(row.pack_price)), override))
    offcuts = tuple(Offcut(one.row, one.length, one.value, plan.used[len(lengths) + at]) for at, one in enumerate(hand))
    cost = sum((one.cost for one in bought), Decimal(0)) + sum((one.value * one.used for one in offcuts), Decimal(0))
    return CutLine(cut, offered, plan, tuple(bought), offcuts, cents(cost))
