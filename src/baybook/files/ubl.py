"""OASIS UBL 2 documents in: invoices, credit notes, receipt advices and orders, with file and line of every problem."""

from __future__ import annotations

import datetime as dt
import os
import re
from collections.abc import Iterator, Mapping
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

from baybook.buying.documents import BilledLine, Document, SubTotal, Totals
from baybook.buying.orders import Order, OrderLine, jobs_of
from baybook.buying.records import Receipt
from baybook.files.guard import read_bounded
from baybook.files.limits import limits_in_force
from baybook.files.ubl_tree import DOCUMENT, Node, read_tree
from baybook.job.records import Place
from baybook.problems import FileRefused, Problem

__all__ = ["document_from", "order_from", "read_ubl", "receipts_from"]

ZERO = Decimal(0)
_WHOLE = "ask whoever sent it for the whole file"
_DECIMAL = re.compile(r"[-+]?([0-9]+(\.[0-9]*)?|\.[0-9]+)")  # xsd:decimal knows no exponent


class _Reader:
    """Takes values out of a tree and gathers what is wrong with them."""

    def __init__(self, source: str) -> None:
        self.source = source
        self.problems: list[Problem] = []

    def place(self, node: Node) -> Place:
        return Place(self.source, node.line)

    def say(self, node: Node, field: str, message: str) -> None:
        self.problems.append(Problem(self.source, node.line, field, message))

    def text(self, node: Node, *paths: str) -> str:
        """Return the first of several places that holds a text."""
        return next((found for path in paths if (found := node.get(path))), "")

    def needed(self, node: Node, path: str) -> str:
        found = node.get(path)
        if not found:
            self.say(node, path, f"is missing or empty; every {node.name} has one: {_WHOLE}")
        return found

    def number(self, node: Node, path: str) -> Decimal | None:
        """Return a number, None where there is none; XML writes it with a point and no separators."""
        found = node.first(path)
        if found is None:
            return None
        words = found.text.strip()
        if not _DECIMAL.fullmatch(words) or len(words) > 30 or abs(Decimal(words)) >= 10**12:
            self.say(found, path, f"{words[:30]!r} is not a number; write digits with a decimal point")
            return None
        return Decimal(words)

    def needed_number(self, node: Node, path: str) -> Decimal:
        value = self.number(node, path)
        if value is None and node.first(path) is None:
            self.say(node, path, f"is missing; every {node.name} has one: {_WHOLE}")
        return value if value is not None else ZERO

    def date(self, node: Node, path: str, *, needed: bool = True) -> dt.date | None:
        words = self.needed(node, path) if needed else node.get(path)
        if not words:
            return None
        try:
            return dt.date.fromisoformat(words[:10])
        except ValueError:
            self.say(node.first(path) or node, path, f"{words[:30]!r} is not a date; write year-month-day")
            return None

    def base(self, price: Node | None) -> Decimal:
        """Return the quantity a price is for; 1 where it says none."""
        value = self.number(price, "BaseQuantity") if price is not None else None
        if value is not None and value <= 0:
            self.say(price or Node("", "", 0), "BaseQuantity", f"{value} must be above 0")
            return Decimal(1)
        return value if value is not None else Decimal(1)

    def done(self) -> None:
        if self.problems:
            raise FileRefused(self.problems)


def read_ubl(path: str | os.PathLike[str], *kinds: str) -> Node:
    """Read a UBL file.

    Parameters
    ----------
    path : path
        The file.
    *kinds : str
        What it may be: Invoice, CreditNote, ReceiptAdvice, Order.

    Returns
    -------
    Node
        Its root; the name says what it is.

    Raises
    ------
    FileRefused
        If it is not safe to read or is none of these.
    """
    source = Path(path).name
    root = read_tree(read_bounded(path, limits_in_force().disk_bytes), source)
    if root.name not in kinds or root.space != DOCUMENT.format(root.name):
        said = (
            f"holds <{root.name[:40]}>; what is read here is a UBL 2 {' or '.join(kinds)}: take it out of this folder"
        )
        raise FileRefused(Problem(source, root.line, "", said))
    return root


# ---------------------------------------------------------------------------------------------- invoices, credit notes

_PARTY_NAMES = ("Party/PartyName/Name", "Party/PartyLegalEntity/RegistrationName", "Party/PartyIdentification/ID")


def document_from(root: Node, source: str) -> Document:
    """Return the invoice or credit note of a tree; amounts of a credit note are below 0.

    Parameters
    ----------
    root : Node
        An Invoice or CreditNote.
    source : str
        Its file's name.

    Returns
    -------
    Document
        With the sums that it states of itself.

    Raises
    ------
    FileRefused
        With every problem found.

    References
    ----------
    .. [1] OASIS, Universal Business Language Version 2.1, 2013, schemas Invoice and CreditNote.
    .. [2] EN 16931-1:2017, Semantic data model of the core elements of an electronic invoice.
    """
    read = _Reader(source)
    credit = root.name == "CreditNote"
    sign = Decimal(-1) if credit else Decimal(1)
    kinds = ("CreditNoteLine", "CreditedQuantity") if credit else ("InvoiceLine", "InvoicedQuantity")
    order = root.get("OrderReference/ID")
    lines = [_billed(read, node, kinds[1], order, sign) for node in root.all(kinds[0])]
    if not lines:
        read.say(root, kinds[0], f"is missing, so it bills nothing: {_WHOLE}")
    lines += list(_charges(read, root, order, sign))
    seller = root.first("AccountingSupplierParty") or root.first("SellerSupplierParty") or root
    supplier = read.text(seller, *_PARTY_NAMES)
    if not supplier:
        read.say(seller, "AccountingSupplierParty", "names nobody: ask for a file that says who bills")
    document = Document(
        supplier=supplier,
        number=read.needed(root, "ID"),
        date=read.date(root, "IssueDate") or dt.date.min,
        lines=tuple(lines),
        currency=root.get("DocumentCurrencyCode").upper(),
        credit_of=root.get("BillingReference/InvoiceDocumentReference/ID"),
        totals=_totals(read, root, sign),
        place=read.place(root),
    )
    read.done()
    return document


def _billed(read: _Reader, node: Node, quantity: str, order: str, sign: Decimal) -> BilledLine:
    price = node.first("Price")
    amount = read.needed_number(node, "LineExtensionAmount")
    count = read.number(node, quantity)
    item = node.first("Item") or Node("Item", "", node.line)
    unit_price = read.number(price, "PriceAmount") if price is not None else None
    base = read.base(price)
    extra = sum((_signed(read, one) for one in node.all("AllowanceCharge")), ZERO)
    if count is None:
        count = Decimal(1)
    if unit_price is None:  # no price stated: the line's own, so that it comes out
        unit_price = (amount - extra) * base / count if count else amount
    percent = read.number(item, "ClassifiedTaxCategory/Percent")
    found = node.first(quantity)
    return BilledLine(
        order=node.get("OrderLineReference/OrderReference/ID") or order,
        line=node.get("OrderLineReference/LineID"),
        sku=read.text(item, "SellersItemIdentification/ID", "StandardItemIdentification/ID"),
        description=read.text(item, "Name", "Description"),
        quantity=sign * count,
        unit=found.attributes.get("unitCode", "") if found else "",
        unit_price=unit_price,
        base_quantity=base,
        amount=sign * amount,
        tax=_of_line(read, node, sign),
        extra=sign * extra,
        tax_rate=None if percent is None else percent / 100,
        place=read.place(node),
    )


def _of_line(read: _Reader, node: Node, sign: Decimal) -> Decimal | None:
    """Return the tax that a line states itself."""
    tax = read.number(node, "TaxTotal/TaxAmount")
    return None if tax is None else sign * tax


def _signed(read: _Reader, node: Node) -> Decimal:
    """Return a charge as it is and an allowance below 0."""
    amount = read.needed_number(node, "Amount")
    return amount if node.get("ChargeIndicator").casefold() in {"true", "1"} else -amount


def _charges(read: _Reader, root: Node, order: str, sign: Decimal) -> Iterator[BilledLine]:
    """Yield the charges and allowances of the whole document; FC is freight (UNCL 7161)."""
    for node in root.all("AllowanceCharge"):
        amount = sign * _signed(read, node)
        percent = read.number(node, "TaxCategory/Percent")
        freight = node.get("AllowanceChargeReasonCode").upper() in {"FC", "SAA"}
        words = node.get("AllowanceChargeReason") or ("freight" if freight else "charge")
        yield BilledLine(
            order=order,
            description=f"freight: {words}" if freight and words != "freight" else words,
            quantity=Decimal(1),
            unit_price=amount,
            amount=amount,
            whole=True,
            tax_rate=None if percent is None else percent / 100,
            place=read.place(node),
        )


def _totals(read: _Reader, root: Node, sign: Decimal) -> Totals | None:
    """Return the sums stated; None where the document has none."""
    node = root.first("LegalMonetaryTotal")
    taxes = list(root.all("TaxTotal"))
    if node is None and not taxes:
        return None
    names = {
        "lines": "LineExtensionAmount",
        "allowances": "AllowanceTotalAmount",
        "charges": "ChargeTotalAmount",
        "without_tax": "TaxExclusiveAmount",
        "with_tax": "TaxInclusiveAmount",
        "prepaid": "PrepaidAmount",
        "rounding": "PayableRoundingAmount",
        "payable": "PayableAmount",
    }
    found: dict[str, Decimal | None] = {}
    for name, element in names.items():
        value = read.number(node, element) if node is not None else None
        found[name] = None if value is None else sign * value
    subtotals = []
    for one in (part for tax in taxes for part in tax.all("TaxSubtotal")):
        percent = read.number(one, "TaxCategory/Percent")
        taxable, amount = read.needed_number(one, "TaxableAmount"), read.needed_number(one, "TaxAmount")
        subtotals.append(SubTotal(sign * taxable, None if percent is None else percent / 100, sign * amount))
    stated = read.number(taxes[0], "TaxAmount") if taxes else None
    tax = None if stated is None else sign * stated
    return replace(Totals(tax=tax, subtotals=tuple(subtotals)), **found)  # type: ignore[arg-type]  # all are amounts


# ---------------------------------------------------------------------------------------------- receipt advices


def receipts_from(root: Node, source: str) -> list[Receipt]:
    """Return the receipts that a receipt advice tells of.

    Parameters
    ----------
    root : Node
        A ReceiptAdvice.
    source : str
        Its file's name.

    Returns
    -------
    list of Receipt
        One a line; what was rejected counts as damaged.

    Raises
    ------
    FileRefused
        With every problem found.

    References
    ----------
    .. [1] OASIS, Universal Business Language Version 2.1, 2013, schema Receipt Advice.
    """
    read = _Reader(source)
    on = read.date(root, "IssueDate") or dt.date.min
    order = root.get("OrderReference/ID")
    found = []
    for node in root.all("ReceiptLine"):
        item = node.first("Item") or Node("Item", "", node.line)
        number = read.text(node, "OrderLineReference/OrderReference/ID") or order
        short = read.number(node, "ShortQuantity")
        found.append(
            Receipt(
                order=number or read.needed(root, "OrderReference/ID"),
                sku=read.text(item, "SellersItemIdentification/ID", "BuyersItemIdentification/ID")
                or f"#{node.get('OrderLineReference/LineID')}",
                quantity=read.needed_number(node, "ReceivedQuantity"),
                received_on=read.date(node, "ReceivedDate", needed=False) or on,
                damaged=read.number(node, "RejectedQuantity") or ZERO,
                note=f"{short} short" if short else "",
                place=read.place(node),
            )
        )
    read.done()
    return found


# ---------------------------------------------------------------------------------------------- orders


def _lines_of(node: Node | None) -> tuple[str, ...]:
    return tuple(one.text.strip() for one in node.all("AddressLine/Line")) if node is not None else ()


def order_from(root: Node, source: str, units: Mapping[str, str]) -> Order:
    """Return the order of a tree.

    Parameters
    ----------
    root : Node
        An Order.
    source : str
        Its file's name.
    units : mapping of str to str
        UNECE unit code to our unit; any other code stays as it is.

    Returns
    -------
    Order
        Equal to the order that was issued, if it is one of ours.

    Raises
    ------
    FileRefused
        With every problem found.

    References
    ----------
    .. [1] OASIS, Universal Business Language Version 2.1, 2013, schema Order.
    """
    read = _Reader(source)
    before = root.get("OrderDocumentReference/VersionID")
    buyer = root.first("BuyerCustomerParty")
    seller = root.first("SellerSupplierParty")
    delivery = root.first("Delivery")
    lines = [_ordered(read, node, units) for node in root.all("OrderLine/LineItem")]
    if not lines:
        read.say(root, "OrderLine", f"is missing; an Order has at least one: {_WHOLE}")
    order = Order(
        number=read.needed(root, "ID"),
        revision=int(before) + 1 if _whole(before) else 0,
        issued_on=read.date(root, "IssueDate") or dt.date.min,
        supplier=read.text(seller, *_PARTY_NAMES) if seller else "",
        currency=root.get("DocumentCurrencyCode").upper() or _currency(root),
        lines=tuple(lines),
        buyer=read.text(buyer, *_PARTY_NAMES) if buyer else "",
        buyer_address=_lines_of(buyer.first("Party/PostalAddress") if buyer else None),
        supplier_address=_lines_of(seller.first("Party/PostalAddress") if seller else None),
        account=buyer.get("SupplierAssignedAccountID") if buyer else "",
        ship_to="\n".join(_lines_of(delivery.first("DeliveryAddress") if delivery else None)),
        wanted_on=read.date(delivery, "RequestedDeliveryPeriod/EndDate", needed=False) if delivery else None,
        notes=tuple(node.text.strip() for node in root.all("Note")),
        place=read.place(root),
    )
    read.done()
    return order


def _whole(words: str) -> bool:
    """Tell a whole number of at most nine figures; other scripts' figures and raised ones are none."""
    return words.isascii() and words.isdigit() and len(words) < 10


def _currency(root: Node) -> str:
    amount = root.first("OrderLine/LineItem/Price/PriceAmount")
    return amount.attributes.get("currencyID", "") if amount else ""


def _ordered(read: _Reader, node: Node, units: Mapping[str, str]) -> OrderLine:
    price = node.first("Price")
    item = node.first("Item") or Node("Item", "", node.line)
    quantity, inside = node.first("Quantity"), item.first("PackQuantity")
    packs = read.needed_number(node, "Quantity")
    code = (inside or quantity or node).attributes.get("unitCode", "")
    line = read.needed(node, "ID")
    if line and not _whole(line):
        read.say(node, "ID", f"{line[:30]!r} is not the number of a line: write a whole number, 1")
    unit_price = read.number(price, "PriceAmount") if price is not None else None
    return OrderLine(
        line=int(line) if _whole(line) else 0,
        sku=item.get("SellersItemIdentification/ID"),
        item=item.get("BuyersItemIdentification/ID"),
        description=item.get("Description") or ("" if item.get("BuyersItemIdentification/ID") else item.get("Name")),
        packs=packs,
        pack_qty=read.number(item, "PackQuantity") or Decimal(1),
        unit=units.get(code, code),
        pack_price=(unit_price or ZERO) / read.base(price),
        amount=read.number(node, "LineExtensionAmount") or ZERO,
        jobs=jobs_of(node.get("AccountingCost"), packs),
        place=read.place(node),
    )
