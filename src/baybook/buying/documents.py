"""Invoices and credit notes as they came, whatever file they stood in, and whether their own sums are right."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal

from baybook.buying.records import InvoiceRow
from baybook.job.records import Place
from baybook.numbers import cents

__all__ = [
    "BilledLine",
    "Document",
    "Fault",
    "SubTotal",
    "Totals",
    "documents_of",
    "line_due",
    "sum_faults",
    "tax_faults",
    "tax_on",
]

_SIGNS = re.compile(r"[^0-9a-z]+")
ZERO = Decimal(0)


@dataclass(frozen=True, slots=True, kw_only=True)
class BilledLine:
    """One line of an invoice or credit note; a credit has an amount below 0.

    Parameters
    ----------
    order, line, sku, description : str
        What it names: an order, its line, the supplier's number.
    quantity, unit_price, base_quantity : Decimal
        So many, at the price for the base quantity.
    unit : str
        Of the quantity; empty: packs.
    amount : Decimal
        As billed, without tax. [money]
    tax : Decimal or None
        As billed; None where the line states none. [money]
    extra : Decimal
        Charges less allowances of this line. [money]
    whole : bool
        A charge or allowance on the document as a whole, not one of its lines.
    tax_rate : Decimal or None
        The rate its tax category states.
    """

    order: str = ""
    line: str = ""
    sku: str = ""
    description: str = ""
    quantity: Decimal
    unit: str = ""
    unit_price: Decimal
    base_quantity: Decimal = Decimal(1)
    amount: Decimal
    tax: Decimal | None = None
    extra: Decimal = ZERO
    whole: bool = False
    tax_rate: Decimal | None = None
    place: Place = Place()


@dataclass(frozen=True, slots=True)
class SubTotal:
    """Tax of one category as the document states it."""

    taxable: Decimal
    rate: Decimal | None
    tax: Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class Totals:
    """The sums that a document states of itself; None where it states none. [money]."""

    lines: Decimal | None = None
    allowances: Decimal | None = None
    charges: Decimal | None = None
    without_tax: Decimal | None = None
    tax: Decimal | None = None
    with_tax: Decimal | None = None
    prepaid: Decimal | None = None
    rounding: Decimal | None = None
    payable: Decimal | None = None
    subtotals: tuple[SubTotal, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Document:
    """An invoice or a credit note."""

    supplier: str
    number: str
    date: dt.date
    lines: tuple[BilledLine, ...]
    currency: str = ""
    credit_of: str = ""
    totals: Totals | None = None
    place: Place = Place()

    @property
    def key(self) -> tuple[str, str]:
        """Supplier and number as they are compared: without case, signs and leading zeros."""
        return self.supplier.casefold(), plain_number(self.number)

    @property
    def amount(self) -> Decimal:
        """The sum of its lines, without tax. [money]."""
        return sum((line.amount for line in self.lines), ZERO)


@dataclass(frozen=True, slots=True)
class Fault:
    """A sum of a document that does not come out.

    Parameters
    ----------
    line : BilledLine or None
        The line it concerns; None for a sum of the document.
    what : str
        Which sum.
    says, right : Decimal
        As it stands there, and as it should be. [money]
    kind : str
        ``wrong_sum`` or ``wrong_tax``.
    owed : bool
        What it says too much is paid too much.
    """

    line: BilledLine | None
    what: str
    says: Decimal
    right: Decimal
    kind: str = "wrong_sum"
    owed: bool = True


def plain_number(number: str) -> str:
    """Return a document's number as it is compared: ``INV-0042`` and ``inv 42`` are one.

    Examples
    --------
    >>> plain_number("INV-0042"), plain_number("inv 42")
    ('inv.42', 'inv.42')
    """
    words = [word.lstrip("0") or "0" for word in _SIGNS.split(number.casefold()) if word]
    return ".".join(words) or number.casefold()


def documents_of(rows: Iterable[InvoiceRow], supplier: Callable[[str], str] = str) -> list[Document]:
    """Gather rows of invoices into documents: one for each supplier, number, date and file.

    Parameters
    ----------
    rows : iterable of InvoiceRow
        In any order.
    supplier : callable
        A name on an invoice to the supplier's name in the book.

    Returns
    -------
    list of Document
        In the order of their first rows.
    """
    grouped: dict[tuple[str, str, dt.date, str], list[InvoiceRow]] = {}
    names: dict[str, str] = {}
    for row in rows:
        name = names.setdefault(row.supplier, supplier(row.supplier))
        key = (name, row.invoice.casefold(), row.invoice_date, row.place.source)
        grouped.setdefault(key, []).append(row)
    return [_document(key[0], same) for key, same in grouped.items()]


def _document(supplier: str, rows: Sequence[InvoiceRow]) -> Document:
    first = rows[0]
    return Document(
        supplier=supplier,
        number=first.invoice,
        date=first.invoice_date,
        currency=next((row.currency for row in rows if row.currency), ""),
        credit_of=next((row.credit_of for row in rows if row.credit_of), ""),
        lines=tuple(
            BilledLine(
                order=row.order,
                line=row.line,
                sku=row.sku,
                description=row.description,
                quantity=row.quantity,
                unit=row.unit,
                unit_price=row.unit_price,
                base_quantity=row.base_quantity,
                amount=row.amount,
                tax=row.tax,
                place=row.place,
            )
            for row in rows
        ),
        place=first.place,
    )


# ---------------------------------------------------------------------------------------------- sums


def line_due(line: BilledLine) -> Decimal:
    """Return what quantity and price of a line come to.

    Parameters
    ----------
    line : BilledLine
        The line.

    Returns
    -------
    Decimal
        Quantity times price over the base quantity, rounded on its absolute value, and the line's own charges less
        allowances. [money]

    References
    ----------
    .. [1] EN 16931-1:2017, invoice line net amount (BT-131) from item net price (BT-146) and its base quantity
       (BT-149).
    """
    return cents(line.quantity * line.unit_price / line.base_quantity) + line.extra


def tax_on(base: Decimal, rate: Decimal) -> Decimal:
    """Return the tax on a base, to cents; of a credit rounded on the absolute value. [money]."""
    return cents(base * rate)


def sum_faults(document: Document) -> Iterator[Fault]:
    """Yield the sums of a document that do not come out: its lines', then its own.

    Parameters
    ----------
    document : Document
        As it came.

    Yields
    ------
    Fault
        Each with what it says and what would be right.
    """
    for line in document.lines:
        if not line.whole and cents(line.amount) != line_due(line):
            yield Fault(line, "amount of the line", line.amount, line_due(line))
    totals = document.totals
    if totals is None:
        return
    lines = sum((line.amount for line in document.lines if not line.whole), ZERO)
    charged = sum((line.amount for line in document.lines if line.whole and line.amount > 0), ZERO)
    allowed = -sum((line.amount for line in document.lines if line.whole and line.amount < 0), ZERO)
    net = (totals.lines if totals.lines is not None else lines) + charged - allowed
    without = totals.without_tax if totals.without_tax is not None else net
    with_tax = totals.with_tax if totals.with_tax is not None else without + (totals.tax or ZERO)
    due = with_tax - (totals.prepaid or ZERO) + (totals.rounding or ZERO)
    for what, says, right in (
        ("sum of the lines", totals.lines, lines),
        ("sum of allowances", totals.allowances, allowed),
        ("sum of charges", totals.charges, charged),
        ("sum without tax", totals.without_tax, net),
        ("sum with tax", totals.with_tax, without + (totals.tax or ZERO)),
        ("amount due", totals.payable, due),
    ):
        if says is not None and cents(says) != cents(right):
            yield Fault(None, what, says, right, owed=what != "sum of allowances")


def tax_faults(document: Document, rate: Decimal | None) -> Iterator[Fault]:
    """Yield what is wrong with the tax of a document.

    Tax stated by category must be its base times its rate, and their sum the tax of the document. Tax stated by line
    is held against the rate of the book: it is right if the sum is, whether the seller rounds each line or the sum.

    Parameters
    ----------
    document : Document
        As it came.
    rate : Decimal or None
        The rate that invoices must bear; None: tax by line is not checked.

    Yields
    ------
    Fault
        Each with what it says and what would be right.

    References
    ----------
    .. [1] EN 16931-1:2017, VAT category tax amount (BT-117): taxable amount times rate over 100, to two decimals.
    .. [2] Streamlined Sales and Use Tax Agreement, section 324: rounding by item or by invoice, as the seller chooses.
    """
    totals = document.totals
    if totals is not None and totals.subtotals:
        yield from _category_faults(document, totals, rate)
        return
    if rate is None:
        return
    taxed = [line for line in document.lines if line.tax is not None]
    if totals is None and not taxed:
        return
    says = (
        totals.tax if totals is not None and totals.tax is not None else sum((line.tax or ZERO for line in taxed), ZERO)
    )
    base = taxed or list(document.lines)
    by_line = sum((tax_on(line.amount, rate) for line in base), ZERO)
    by_sum = tax_on(sum((line.amount for line in base), ZERO), rate)
    if cents(says) in {by_line, by_sum}:
        return
    wrong = [line for line in taxed if abs((line.tax or ZERO) - tax_on(line.amount, rate)) > Decimal("0.01")]
    for line in wrong:
        yield Fault(line, f"tax at {rate:%}", line.tax or ZERO, tax_on(line.amount, rate), "wrong_tax")
    if not wrong:
        yield Fault(None, f"tax at {rate:%}", says, by_sum, "wrong_tax")


def _category_faults(document: Document, totals: Totals, rate: Decimal | None) -> Iterator[Fault]:
    for one in totals.subtotals:
        used = one.rate if one.rate is not None else rate
        wanted = rate if rate is not None and used not in {None, ZERO} else used
        if wanted is not None and cents(one.tax) != tax_on(one.taxable, wanted):
            yield Fault(None, f"tax at {wanted:%}", one.tax, tax_on(one.taxable, wanted), "wrong_tax")
    stated = {one.rate for one in totals.subtotals if one.rate is not None}
    for at in sorted(stated):
        taxable = sum((one.taxable for one in totals.subtotals if one.rate == at), ZERO)
        mine = [line.amount for line in document.lines if line.tax_rate == at]
        if mine and cents(taxable) != cents(sum(mine, ZERO)):
            yield Fault(None, f"base of the tax at {at:%}", taxable, sum(mine, ZERO), "wrong_tax", owed=False)
    total = sum((one.tax for one in totals.subtotals), ZERO)
    if totals.tax is not None and cents(totals.tax) != cents(total):
        yield Fault(None, "sum of the taxes", totals.tax, total, "wrong_tax")
