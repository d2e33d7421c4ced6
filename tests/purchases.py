"""Orders, receipts and invoices for tests, all invented: small builders with everything else filled in."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Sequence
from decimal import Decimal
from typing import Any

from baybook.buying.documents import BilledLine, Document
from baybook.buying.match import Ledger, Match, match
from baybook.buying.model import Finding
from baybook.buying.orders import Order, OrderLine
from baybook.buying.records import Receipt, Return
from baybook.buying.settle import settle
from baybook.buying.tolerances import Tolerance
from baybook.job.records import Place, PriceRow
from baybook.numbers import cents

DAY = dt.date(2026, 7, 1)
SUPPLIER = "Alder Yard"


def d(value: Any) -> Decimal:
    return Decimal(str(value))


def line(number: int, packs: Any, price: Any, **more: Any) -> OrderLine:
    """Return an order line; its SKU is S1, S2 and so on."""
    values = {
        "line": number,
        "sku": f"S{number}",
        "item": "strap",
        "description": f"thing {number}",
        "packs": d(packs),
        "pack_qty": Decimal(1),
        "unit": "each",
        "pack_price": d(price),
        "amount": cents(d(packs) * d(price)),
        "jobs": (("LH-021", d(packs)),),
    }
    return OrderLine(**values | more)


def order(*lines: OrderLine, number: str = "0001", **more: Any) -> Order:
    values = {
        "number": number, "revision": 0, "issued_on": DAY, "supplier": SUPPLIER, "currency": "USD", "lines": lines,
    }  # fmt: skip
    return Order(**values | more)


def came(number: int, quantity: Any, *, order: str = "0001", damaged: Any = 0, sku: str = "") -> Receipt:
    return Receipt(
        order=order, sku=sku or f"S{number}", quantity=d(quantity), received_on=DAY + dt.timedelta(5),
        damaged=d(damaged), place=Place("receipts.csv", number + 1),
    )  # fmt: skip


def back(number: int, quantity: Any, *, order: str = "0001", kind: str = "returned", job: str = "") -> Return:
    return Return(
        order=order, sku=f"S{number}", quantity=d(quantity), returned_on=DAY + dt.timedelta(9), kind=kind, job=job
    )


def bill(number: int, quantity: Any, price: Any, **more: Any) -> BilledLine:
    """Return an invoice line for line ``number`` of order 0001, by its SKU."""
    base = d(more.get("base_quantity", 1))
    values = {
        "order": "0001",
        "sku": f"S{number}",
        "description": f"thing {number}",
        "quantity": d(quantity),
        "unit_price": d(price),
        "amount": cents(d(quantity) * d(price) / base),
        "place": Place("invoices.csv", number + 1),
    }
    figures = {"tax", "amount", "base_quantity", "extra", "tax_rate"}
    more = {key: d(value) if key in figures else value for key, value in more.items()}
    return BilledLine(**values | more)


def invoice(*lines: BilledLine, number: str = "A-1", days: int = 7, **more: Any) -> Document:
    values = {
        "supplier": SUPPLIER,
        "number": number,
        "date": DAY + dt.timedelta(days),
        "lines": lines,
        "currency": "USD",
    }
    return Document(**values | more)


def offer(sku: str, item: str, pack_qty: float, price: Any, **more: Any) -> PriceRow:
    values = {
        "supplier": SUPPLIER, "sku": sku, "item": item, "pack_qty": float(pack_qty), "pack_price": d(price),
        "currency": "USD",
    }  # fmt: skip
    return PriceRow(**values | more)


def matched(
    orders: Order | Sequence[Order],
    receipts: Iterable[Receipt] = (),
    documents: Iterable[Document] = (),
    *,
    returns: Iterable[Return] = (),
    prices: Iterable[PriceRow] = (),
    tolerance: Tolerance | None = None,
    tax_rate: Any = None,
    **more: Any,
) -> Match:
    ledger = Ledger(
        orders=(orders,) if isinstance(orders, Order) else tuple(orders),
        receipts=tuple(receipts),
        returns=tuple(returns),
        documents=tuple(documents),
        prices=tuple(prices),
        tolerance=tolerance or Tolerance(),
        tax_rate=None if tax_rate is None else d(tax_rate),
    )
    return match(ledger, **more)


def kinds(found: Match, *, also_notes: bool = False) -> list[str]:
    """Return the kinds of the findings, sorted; only the open ones unless notes are asked for."""
    return sorted(one.kind for one in found.findings if one.open or also_notes)


def only(found: Match, kind: str) -> Finding:
    """Return the one finding of a kind."""
    (finding,) = [one for one in found.findings if one.kind == kind]
    return finding


def states(found: Match, log: Iterable[Any] = ()) -> dict[str, str]:
    """Return kind to state of what is more than a note."""
    return {one.finding.kind: one.state for one in settle(found, log) if one.state != "note"}
