"""An order as an OASIS UBL 2.1 Order: its element names in the standard's sequence, UNECE unit codes, ISO 4217."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from decimal import Decimal
from xml.sax.saxutils import escape, quoteattr

from baybook.buying.orders import Order, OrderLine, jobs_text, plain
from baybook.buying.packs import PACK_CODE, UNIT_CODES
from baybook.files.text import clean_text
from baybook.files.ubl_tree import AGGREGATE, BASIC, DOCUMENT
from baybook.job.records import ITEMS

__all__ = ["order_xml"]

Element = tuple[str, "str | list[Element]", dict[str, str]]


def order_xml(order: Order) -> bytes:
    """Return an order as UBL.

    A quantity is in packs; what is in a pack stands in PackQuantity. The number of a revised order stays; the revision
    before it stands in OrderDocumentReference, what changed in the notes. The jobs of a line stand in AccountingCost.

    Parameters
    ----------
    order : Order
        What was issued.

    Returns
    -------
    bytes
        XML in UTF-8.

    References
    ----------
    .. [1] OASIS, Universal Business Language Version 2.1, 2013, schema Order.
    .. [2] UNECE Recommendations 20 (units) and 21 (packages).
    """
    spaces = (
        f" xmlns={quoteattr(DOCUMENT.format('Order'))} xmlns:cac={quoteattr(AGGREGATE)} xmlns:cbc={quoteattr(BASIC)}"
    )
    lines = ['<?xml version="1.0" encoding="UTF-8"?>', f"<Order{spaces}>"]
    for element in _order(order):
        lines += _written(element, 1)
    return "\n".join([*lines, "</Order>", ""]).encode("utf-8")


def _order(order: Order) -> Iterator[Element]:
    yield _text("UBLVersionID", "2.1")
    yield _text("ID", order.number)
    yield _text("IssueDate", order.issued_on.isoformat())
    yield from (_text("Note", note) for note in order.notes)
    yield _text("DocumentCurrencyCode", order.currency)
    yield _text("LineCountNumeric", str(len(order.lines)))
    if order.revision:
        before = [_text("ID", order.number), _text("VersionID", str(order.revision - 1))]
        yield _group("OrderDocumentReference", before)
    account = [_text("SupplierAssignedAccountID", order.account)] if order.account else []
    yield _group("BuyerCustomerParty", [*account, _party(order.buyer, order.buyer_address)])
    yield _group("SellerSupplierParty", [_party(order.supplier, order.supplier_address)])
    yield from _delivery(order)
    total = [_money("LineExtensionAmount", order.total, order), _money("PayableAmount", order.total, order)]
    yield _group("AnticipatedMonetaryTotal", total)
    yield from (_group("OrderLine", [_line(line, order)]) for line in order.lines)


def _delivery(order: Order) -> Iterator[Element]:
    parts = []
    if order.ship_to:
        parts.append(_address("DeliveryAddress", order.ship_to.splitlines()))
    if order.wanted_on:
        parts.append(_group("RequestedDeliveryPeriod", [_text("EndDate", order.wanted_on.isoformat())]))
    if parts:
        yield _group("Delivery", parts)


def _party(name: str, address: Iterable[str]) -> Element:
    lines = list(address)
    return _group(
        "Party",
        [_group("PartyName", [_text("Name", name)]), *([_address("PostalAddress", lines)] if lines else [])],
    )


def _address(name: str, lines: Iterable[str]) -> Element:
    return _group(name, [_group("AddressLine", [_text("Line", line)]) for line in lines])


def _line(line: OrderLine, order: Order) -> Element:
    inside = UNIT_CODES.get(line.unit.casefold(), line.unit if 2 <= len(line.unit) <= 3 else "C62")
    packed = PACK_CODE if line.pack_qty != 1 else inside
    item = [
        *([_text("Description", line.description)] if line.description else []),
        _text("PackQuantity", plain(line.pack_qty), unitCode=inside),
        _text("Name", ITEMS[line.item].title if line.item in ITEMS else line.item or line.description or line.sku),
        *([_group("BuyersItemIdentification", [_text("ID", line.item)])] if line.item else []),
        *([_group("SellersItemIdentification", [_text("ID", line.sku)])] if line.sku else []),
    ]
    price = [
        _text("PriceAmount", plain(line.pack_price), currencyID=order.currency),
        _text("BaseQuantity", "1", unitCode=packed),
    ]
    jobs = jobs_text(line.jobs)
    return _group(
        "LineItem",
        [
            _text("ID", str(line.line)),
            _text("Quantity", plain(line.packs), unitCode=packed),
            _money("LineExtensionAmount", line.amount, order),
            *([_text("AccountingCost", jobs)] if jobs else []),
            _group("Price", price),
            _group("Item", item),
        ],
    )


def _text(name: str, words: str, **attributes: str) -> Element:
    return f"cbc:{name}", words, attributes


def _money(name: str, amount: Decimal, order: Order) -> Element:
    return _text(name, f"{amount:.2f}", currencyID=order.currency)


def _group(name: str, children: list[Element]) -> Element:
    return f"cac:{name}", children, {}


def _written(element: Element, depth: int) -> Iterator[str]:
    name, content, attributes = element
    start = "  " * depth + f"<{name}" + "".join(f" {key}={quoteattr(value)}" for key, value in attributes.items())
    if isinstance(content, str):
        words, _ = clean_text(content, "", name)
        yield f"{start}>{escape(words)}</{name}>"
        return
    yield start + ">"
    for child in content:
        yield from _written(child, depth + 1)
    yield "  " * depth + f"</{name}>"
