"""What was measured after framing against what was bid: differences, change orders, and what the contract comes to."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal

from baybook.estimate import Estimate
from baybook.job.fields import Kind, declare
from baybook.job.records import ITEMS, JobInputs, Measured, Place
from baybook.numbers import r6
from baybook.takeoff.model import Bay
from baybook.units import show_length

__all__ = [
    "BayChange",
    "ChangeOrder",
    "ChangeRow",
    "Contract",
    "GoodsChange",
    "bay_changes",
    "contract_of",
    "goods_changes",
    "with_measured",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class ChangeRow:
    """A row of changes.csv, the log of change orders: issued, signed or withdrawn; rows are only added."""

    at: str = declare("at", Kind.TEXT, required=True, help="date and time", example="2026-07-21 10:04:00")
    who: str = declare("who", Kind.TEXT, required=True, help="who did it", example="M. Varga")
    action: str = declare(
        "action",
        Kind.WORD,
        required=True,
        choices=("issued", "signed", "withdrawn"),
        help="what became of it",
        example="issued",
    )
    job: str = declare("job", Kind.NAME, required=True, help="the job", example="RC-058")
    change: int = declare("change", Kind.COUNT, required=True, low=1, high=9999, help="its number", example="1")
    before: Decimal = declare("before", Kind.MONEY, required=True, help="price before it", example="4100.00")
    after: Decimal = declare("after", Kind.MONEY, required=True, help="price with it", example="4180.00")
    currency: str = declare("currency", Kind.CURRENCY, required=True, help="ISO 4217 code", example="USD")
    note: str = declare("note", Kind.TEXT, default="", help="why")
    place: Place = Place()

    @property
    def amount(self) -> Decimal:
        """What it adds to the contract; below 0 what it takes off."""
        return self.after - self.before

    @property
    def name(self) -> str:
        """Its job and number: RC-058-01."""
        return f"{self.job}-{self.change:02d}"


@dataclass(frozen=True, slots=True)
class BayChange:
    """A bay whose clear width, clear run or cut length is another than it was taken for. [in]."""

    bay: str
    width_before_in: float
    width_after_in: float
    run_before_in: float
    run_after_in: float
    cut_before_in: float
    cut_after_in: float


@dataclass(frozen=True, slots=True)
class GoodsChange:
    """Packs or stock pieces of one offer, before and after.

    Parameters
    ----------
    item, supplier, sku, description : str
        What it is.
    unit : str
        What is counted: packs, or stock pieces of a length.
    before, after : int
        How many.
    """

    item: str
    supplier: str
    sku: str
    description: str
    unit: str
    before: int
    after: int

    @property
    def more(self) -> int:
        """To add to the order; below 0 to return."""
        return self.after - self.before


@dataclass(frozen=True, slots=True)
class Contract:
    """What a job's contract comes to: the bid and the signed changes.

    Parameters
    ----------
    bid : Decimal
        Price before the first change order.
    signed, waiting : tuple of ChangeRow
        Change orders that were signed, and those that are issued and neither signed nor withdrawn.
    last : int
        The highest number used.
    """

    bid: Decimal
    signed: tuple[ChangeRow, ...]
    waiting: tuple[ChangeRow, ...]
    last: int

    @property
    def total(self) -> Decimal:
        """Bid and signed changes."""
        return self.bid + sum((row.amount for row in self.signed), Decimal(0))


@dataclass(frozen=True, slots=True)
class ChangeOrder:
    """A change of one job: what was measured, what moves, and what it comes to."""

    job: str
    customer: str
    site: str
    number: int
    issued_on: dt.date
    reason: str
    currency: str
    before: Decimal
    after: Decimal
    contract: Contract
    bays: tuple[BayChange, ...]
    goods: tuple[GoodsChange, ...]
    units: str
    measured: tuple[Measured, ...]
    status: str

    @property
    def name(self) -> str:
        """Its job and number: RC-058-01."""
        return f"{self.job}-{self.number:02d}"

    @property
    def amount(self) -> Decimal:
        """What it adds to the contract; below 0 what it takes off."""
        return self.after - self.before


def with_measured(inputs: JobInputs, rows: Iterable[Measured]) -> tuple[Measured, ...]:
    """Return a job's measured bays with others laid over them: a bay measured again counts as measured last."""

    def key(row: Measured) -> tuple[str, str]:
        return row.area.casefold(), row.bay.casefold()

    return tuple(({key(row): row for row in inputs.measured} | {key(row): row for row in rows}).values())


def _bays(estimate: Estimate) -> dict[tuple[str, int, int], Bay]:
    """Return every bay by area, number, and which of its parts it is from the ledger out."""
    found: dict[tuple[str, int, int], Bay] = {}
    for take in estimate.takeoff.areas:
        parts: dict[int, int] = {}
        for bay in (bay for part in take.parts for bay in part.bays):
            at = parts[bay.number] = parts.get(bay.number, -1) + 1
            found[take.area.area.casefold(), bay.number, at] = bay
    return found


def bay_changes(before: Estimate, after: Estimate) -> tuple[BayChange, ...]:
    """Return the bays that differ, from left to right, area by area.

    Parameters
    ----------
    before, after : Estimate
        The same deck, as it was taken and as it was measured.

    Returns
    -------
    tuple of BayChange
        Bays with another clear width, clear run or cut length. A bay of an area that was whole before has the same
        number after.
    """
    old, found = _bays(before), []
    for key, bay in _bays(after).items():
        was = old.get(key, bay)
        if any(r6(one) != r6(two) for one, two in zip(_sizes(was), _sizes(bay), strict=True)):
            pairs = zip(_sizes(was), _sizes(bay), strict=True)
            found.append(BayChange(bay.label, *(size for pair in pairs for size in pair)))
    return tuple(found)


def _sizes(bay: Bay) -> tuple[float, float, float]:
    return bay.clear_in, bay.run_in, bay.cut_length_in


def _goods(estimate: Estimate) -> Iterator[tuple[tuple[str, str, str, str, str], int]]:
    units = estimate.inputs.rates.units
    for cut in estimate.cuts:
        for one in cut.bought:
            length = show_length(one.length / 16, units)
            offer = one.offer
            yield (cut.cut.item, offer.supplier, offer.sku, offer.description, f"pieces of {length}"), one.pieces
    for line in estimate.lines:
        if line.taken is not None:
            offer = line.taken.offer
            unit = offer.unit or ITEMS[line.need.item].unit
            packs = f"packs of {offer.pack_qty:g} {unit}" if offer.pack_qty != 1 else unit
            yield (line.need.item, offer.supplier, offer.sku, offer.description, packs), line.packs


def goods_changes(before: Estimate, after: Estimate) -> tuple[GoodsChange, ...]:
    """Return what must be added to an order, or goes back, in packs and stock pieces.

    Parameters
    ----------
    before, after : Estimate
        The same job at the same prices.

    Returns
    -------
    tuple of GoodsChange
        In the order of the estimate; only what differs.
    """
    old: dict[tuple[str, str, str, str, str], int] = {}
    new: dict[tuple[str, str, str, str, str], int] = {}
    for counts, estimate in ((old, before), (new, after)):
        for key, count in _goods(estimate):
            counts[key] = counts.get(key, 0) + count
    keys = dict.fromkeys((*new, *old))
    found = (GoodsChange(*key, old.get(key, 0), new.get(key, 0)) for key in keys)
    return tuple(one for one in found if one.more)


def contract_of(job: str, bid: Decimal, log: Sequence[ChangeRow]) -> Contract:
    """Return what a job's contract comes to.

    Parameters
    ----------
    job : str
        Its code.
    bid : Decimal
        What it is bid at if no change order was issued yet.
    log : sequence of ChangeRow
        The book's log, in its order.

    Returns
    -------
    Contract
        Its bid and changes.
    """
    mine = [row for row in log if row.job.casefold() == job.casefold()]
    issued = {row.change: row for row in mine if row.action == "issued"}
    state = {row.change: row.action for row in mine}
    first = min(issued, default=0)
    return Contract(
        bid=issued[first].before if first else bid,
        signed=tuple(row for number, row in sorted(issued.items()) if state[number] == "signed"),
        waiting=tuple(row for number, row in sorted(issued.items()) if state[number] == "issued"),
        last=max((row.change for row in mine), default=0),
    )
