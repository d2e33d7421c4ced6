"""Which order line a receipt or an invoice line belongs to: by order number, then line or SKU; else a suggestion."""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from decimal import Decimal

from baybook.buying.documents import BilledLine
from baybook.buying.orders import Order, OrderLine, plain, tidy
from baybook.buying.packs import factors_to_packs, packs_of_other
from baybook.buying.records import FREIGHT
from baybook.job.records import PriceRow, Supplier

__all__ = ["Link", "Links"]

_CARRIAGE = ("freight", "carriage", "shipping", "delivery")
_MILLIONTH = Decimal("0.000001")


@dataclass(frozen=True, slots=True)
class Link:
    """Where a line belongs.

    Parameters
    ----------
    order : Order or None
        The order it names, if there is one.
    line : OrderLine or None
        The order's line; None where none can be told for sure.
    packs : Decimal or None
        Its quantity in packs of that line; None where it cannot be converted.
    why : str
        What is to be known: why there is no line, or how it was converted.
    other : bool
        Another pack or unit than ordered.
    suggestion : str
        A line that it may belong to, for a person to decide.
    """

    order: Order | None
    line: OrderLine | None = None
    packs: Decimal | None = None
    why: str = ""
    other: bool = False
    suggestion: str = ""


def _digits(number: str) -> str:
    return number.lstrip("0") if number.isdigit() else ""


@dataclass(slots=True)
class Links:
    """Finds the order lines that receipts and invoices belong to.

    Parameters
    ----------
    orders : sequence of Order
        Each in its latest revision.
    prices : iterable of PriceRow
        The price list: it knows packs.
    suppliers : iterable of Supplier
        They know names.
    """

    orders: Sequence[Order]
    prices: Iterable[PriceRow] = ()
    suppliers: Iterable[Supplier] = ()
    _by_number: dict[str, Order] = field(default_factory=dict)
    _by_digits: dict[str, Order] = field(default_factory=dict)
    _lines: dict[tuple[int, str], OrderLine] = field(default_factory=dict)
    _offers: dict[tuple[str, str], PriceRow] = field(default_factory=dict)
    _names: dict[str, str] = field(default_factory=dict)
    _with_sku: dict[tuple[str, str], list[Order]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        for order in self.orders:
            self._by_number[order.number.casefold()] = order
            if _digits(order.number):
                self._by_digits.setdefault(_digits(order.number), order)
            for line in order.lines:
                self._lines[id(order), line.sku.casefold() or FREIGHT * line.is_freight or f"line {line.line}"] = line
                self._lines[id(order), f"#{line.line}"] = line
                if line.sku:
                    self._with_sku.setdefault((order.supplier.casefold(), line.sku.casefold()), []).append(order)
        self._offers = {(row.supplier.casefold(), row.sku.casefold()): row for row in self.prices}
        self._names = {name: one.supplier for one in self.suppliers for name in one.names}

    def supplier(self, name: str) -> str:
        """Return a supplier's name in the book for one on a document."""
        return self._names.get(name.strip().casefold(), name)

    def order(self, number: str) -> Order | None:
        """Return an order by its number; without case, and figures without leading zeros."""
        return self._by_number.get(number.casefold()) or self._by_digits.get(_digits(number) or "none")

    def offer(self, supplier: str, sku: str) -> PriceRow | None:
        """Return the offer of a supplier's number, whenever it was in force."""
        return self._offers.get((supplier.casefold(), sku.casefold()))

    def receipt(self, number: str, sku: str, quantity: Decimal) -> Link:
        """Find the order line that goods belong to.

        Parameters
        ----------
        number, sku : str
            Order and supplier's number as the receipt has them.
        quantity : Decimal
            Packs of that number.

        Returns
        -------
        Link
            With the quantity in packs as ordered.
        """
        order = self.order(number)
        if order is None:
            return Link(None, why=f"no order {number} was issued")
        line = self._lines.get((id(order), sku.casefold()))
        if line is not None:
            return Link(order, line, quantity)
        return self._instead(order, sku, quantity)

    def _instead(self, order: Order, sku: str, quantity: Decimal) -> Link:
        """Find the line that another offer of the same supplier stands in for."""
        offer = self.offer(order.supplier, sku)
        if offer is None:
            return Link(order, why=f"{sku} is not on order {order.number}, and the price list does not know it")
        for line in order.lines:
            packs = packs_of_other(offer, line, self.offer(order.supplier, line.sku)) if line.sku else None
            if packs is not None:
                why = f"{sku} in place of {line.sku}: {offer.pack_qty:g} a pack, ordered {plain(line.pack_qty)} a pack"
                return Link(order, line, tidy((quantity * packs).quantize(_MILLIONTH)), why, other=True)
        return Link(order, why=f"{sku} ({offer.item}) is not on order {order.number}")

    def billed(self, supplier: str, currency: str, one: BilledLine) -> Link:
        """Find the order line that an invoice line belongs to.

        Parameters
        ----------
        supplier, currency : str
            Of the document.
        one : BilledLine
            Its line.

        Returns
        -------
        Link
            By order number, then line or SKU; by description only as a suggestion.
        """
        order = self.order(one.order) if one.order else None
        if order is None:
            named = f"no order {one.order} was issued" if one.order else "it names no order"
            return Link(None, why=named, suggestion=self._other_order(supplier, one))
        if self.supplier(order.supplier).casefold() != self.supplier(supplier).casefold():
            return Link(None, why=f"order {order.number} went to {order.supplier}, {supplier} bills it")
        if currency and currency != order.currency:
            return Link(order, why=f"billed in {currency}, ordered in {order.currency}: nothing is converted")
        line = self._line(order, one)
        if line is None and one.sku:
            found = self._instead(order, one.sku, one.quantity)
            if found.line is not None:
                return found
        if line is None:
            why = f"{one.sku or one.description or 'a line without a number'} is not on order {order.number}"
            return Link(order, why=why, suggestion=self._likely(order, one))
        return self._in_packs(order, line, one)

    def _line(self, order: Order, one: BilledLine) -> OrderLine | None:
        by_sku = self._lines.get((id(order), one.sku.casefold())) if one.sku else None
        if by_sku is not None:
            return by_sku
        if one.line and not one.sku:
            return self._lines.get((id(order), f"#{_digits(one.line) or one.line}"))
        if not one.sku and any(word in one.description.casefold() for word in _CARRIAGE):
            return self._lines.get((id(order), FREIGHT))
        return None

    def _in_packs(self, order: Order, line: OrderLine, one: BilledLine) -> Link:
        factors = factors_to_packs(one.unit, line)
        if not factors:
            ordered = f"packs of {plain(line.pack_qty)} {line.unit}"
            return Link(order, line, None, f"billed by {one.unit!r}, ordered in {ordered}", other=True)
        factor = factors[0]
        if len(factors) > 1:  # the reading whose pack price is nearer to the ordered one
            price = one.unit_price / one.base_quantity
            factor = min(factors, key=lambda way: _apart(price / way, line.pack_price))
        if factor == 1:
            return Link(order, line, one.quantity)
        packs = tidy((one.quantity * factor).quantize(_MILLIONTH))
        of = f"packs of {plain(line.pack_qty)} {line.unit}"
        why = f"billed {plain(one.quantity)} {one.unit}, which is {plain(packs)} {of}"
        return Link(order, line, packs, why, other=True)

    def _likely(self, order: Order, one: BilledLine) -> str:
        if one.line and (id(order), f"#{_digits(one.line) or one.line}") in self._lines:
            return f"line {one.line} of order {order.number}, which it names"
        names = {(line.description or line.item).casefold(): line for line in order.lines}
        wanted = (one.description or one.sku).casefold()
        close = difflib.get_close_matches(wanted, list(names), n=1, cutoff=0.5) if wanted else []
        return f"line {names[close[0]].line} of order {order.number} ({names[close[0]].description})" if close else ""

    def _other_order(self, supplier: str, one: BilledLine) -> str:
        found = self._with_sku.get((self.supplier(supplier).casefold(), one.sku.casefold()), []) if one.sku else []
        return " or ".join(f"order {order.number}" for order in found[:3])


def _apart(price: Decimal, ordered: Decimal) -> Decimal:
    if not price or not ordered:
        return Decimal(0) if price == ordered else Decimal("Infinity")
    return max(price / ordered, ordered / price) if price * ordered > 0 else Decimal("Infinity")
