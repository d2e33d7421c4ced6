"""What the match works on and what it says: order lines with all that happened to them, and findings."""

from __future__ import annotations

import datetime as dt
import hashlib
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from decimal import Decimal

from baybook.buying.documents import BilledLine, Document, Fault
from baybook.buying.link import Link
from baybook.buying.orders import Order, OrderLine, plain
from baybook.buying.records import Receipt
from baybook.buying.tolerances import Tolerance
from baybook.job.records import Place

__all__ = ["KINDS", "Account", "Bill", "Comparator", "Context", "Fact", "Finding", "Papers", "Stray"]

ZERO = Decimal(0)
KINDS = {
    "price_over": "price over the order's",
    "price_under": "price under the order's",
    "billed_not_received": "billed, not received",
    "returned": "sent back, not credited",
    "received_not_ordered": "received, not ordered",
    "not_yet_here": "ordered, not yet here",
    "not_yet_billed": "received, not yet billed",
    "other_pack": "other pack or unit",
    "duplicate": "billed twice",
    "wrong_sum": "wrong sum",
    "wrong_tax": "wrong tax",
    "unknown": "belongs to nothing known",
}


@dataclass(slots=True, eq=False)
class Bill:
    """A line of an invoice or credit note, and the order line it belongs to."""

    document: Document
    one: BilledLine
    link: Link
    faults: list[Fault]
    duplicate_of: str = ""
    over: Decimal = ZERO  # packs billed that did not come or went back

    @property
    def is_credit(self) -> bool:
        """Whether it gives money back."""
        return self.one.amount < 0

    @property
    def due(self) -> Decimal:
        """What its quantity and price come to. [money]."""
        from baybook.buying.documents import line_due

        return line_due(self.one)


@dataclass(slots=True, eq=False)
class Account:
    """A line of an order and all that happened to it; quantities in its packs.

    ``received`` is without what came damaged; ``returned`` went back to the supplier.
    """

    order: Order
    line: OrderLine
    received: Decimal = ZERO
    damaged: Decimal = ZERO
    returned: Decimal = ZERO
    bills: list[Bill] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)

    @property
    def counted(self) -> list[Bill]:
        """The bills that count: no duplicates, and those that could be put into packs."""
        return [bill for bill in self.bills if not bill.duplicate_of and bill.link.packs is not None]

    @property
    def billed(self) -> Decimal:
        """Packs billed."""
        return sum((bill.link.packs or ZERO for bill in self.counted), ZERO)


@dataclass(frozen=True, slots=True, eq=False)
class Stray:
    """Goods that came and belong to no order line."""

    receipt: Receipt
    link: Link


@dataclass(frozen=True, slots=True, eq=False)
class Papers:
    """A document and the sums of its own that do not come out."""

    document: Document
    faults: tuple[Fault, ...]
    duplicate_of: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """A difference, or something worth knowing.

    Parameters
    ----------
    kind : str
        One of `KINDS`.
    supplier, order, line, sku, invoice : str
        What it concerns; empty where it concerns none.
    quantity : Decimal or None
        Packs. [no]
    money : Decimal
        What it is worth: above 0 if too much was billed. [money]
    claim : bool
        The supplier owes a credit of that much.
    open : bool
        A person must look at it; else it is only noted.
    said : str
        One sentence.
    place : Place
        Where it was read.
    date : date or None
        Of the invoice or the order.
    """

    kind: str
    supplier: str
    order: str = ""
    line: str = ""
    sku: str = ""
    invoice: str = ""
    quantity: Decimal | None = None
    money: Decimal = ZERO
    claim: bool = False
    open: bool = True
    said: str
    currency: str = ""
    place: Place = Place()
    date: dt.date | None = None

    @property
    def mark(self) -> str:
        """Ten signs that stand for it; another figure is another mark, so what was accepted stays what it was."""
        quantity = "" if self.quantity is None else plain(self.quantity)
        parts = (self.kind, self.supplier, self.order, self.line, self.sku, self.invoice, quantity, plain(self.money))
        return hashlib.sha256("\x1f".join(part.casefold() for part in parts).encode()).hexdigest()[:10]


@dataclass(frozen=True, slots=True)
class Context:
    """What a comparator may look at besides the fact itself.

    Parameters
    ----------
    tolerance : Tolerance
        What is let pass.
    of_order : mapping
        Order number to the price differences of all its lines together. [money]
    """

    tolerance: Tolerance
    of_order: dict[str, Decimal]


Fact = Bill | Account | Stray | Papers
Comparator = Callable[[Fact, Context], Iterable[Finding]]
