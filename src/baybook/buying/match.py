"""The match of what was ordered, what came and what was billed."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal
from functools import reduce
from math import gcd

from baybook.buying.compare import compare, price_difference
from baybook.buying.documents import BilledLine, Document, Fault, sum_faults, tax_faults
from baybook.buying.link import Links
from baybook.buying.model import Account, Bill, Comparator, Context, Fact, Finding, Papers, Stray
from baybook.buying.orders import Order, latest, tidy
from baybook.buying.records import Receipt, Return
from baybook.buying.tolerances import POLICIES, Tolerance
from baybook.job.records import PriceRow, Supplier

__all__ = ["Ledger", "Match", "match"]

ZERO = Decimal(0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Ledger:
    """All that is known of orders, goods and bills.

    Parameters
    ----------
    orders : tuple of Order
        As issued, all revisions; the latest of each counts.
    receipts, returns : tuple
        What came, and what went back or was left over.
    documents : tuple of Document
        Invoices and credit notes.
    suppliers, prices : tuple
        Names, and packs.
    tolerance : Tolerance
        What is let pass.
    tax_rate : Decimal or None
        The rate that invoices must bear.
    """

    orders: tuple[Order, ...]
    receipts: tuple[Receipt, ...] = ()
    returns: tuple[Return, ...] = ()
    documents: tuple[Document, ...] = ()
    suppliers: tuple[Supplier, ...] = ()
    prices: tuple[PriceRow, ...] = ()
    tolerance: Tolerance = POLICIES["exact"]
    tax_rate: Decimal | None = None


@dataclass(slots=True)
class Match:
    """Everything put together, and what was found.

    Parameters
    ----------
    accounts : list of Account
        One for each line of each order, in their order.
    bills : list of Bill
        One for each line of each document, by date.
    strays : list of Stray
        Goods that belong to no order line.
    findings : list of Finding
        All of them, open or only noted.
    of_fact : dict
        id of an account or bill to its findings.
    """

    accounts: list[Account] = field(default_factory=list)
    bills: list[Bill] = field(default_factory=list)
    strays: list[Stray] = field(default_factory=list)
    findings: list[Finding] = field(default_factory=list)
    of_fact: dict[int, list[Finding]] = field(default_factory=dict)


def match(ledger: Ledger, comparator: Comparator = compare) -> Match:
    """Match orders, receipts and invoices.

    Parameters
    ----------
    ledger : Ledger
        What is known.
    comparator : callable
        Says what is found in each fact.

    Returns
    -------
    Match
        Accounts, bills and findings.
    """
    orders = latest(ledger.orders)
    links = Links(orders, ledger.prices, ledger.suppliers)
    found = Match()
    accounts: dict[tuple[int, int], Account] = {}
    for order in orders:
        for line in order.lines:
            account = accounts[id(order), line.line] = Account(order, line)
            found.accounts.append(account)
    _book_goods(ledger, links, accounts, found)
    papers = _book_documents(ledger, links, accounts, found)
    _spread_over(found.accounts)
    context = Context(ledger.tolerance, _of_orders(found.accounts))
    facts: list[Fact] = [*found.bills, *found.accounts, *found.strays, *papers]
    for fact in facts:
        said = list(comparator(fact, context))
        if said:
            found.findings += said
            found.of_fact[id(fact)] = said
    return found


def _book_goods(ledger: Ledger, links: Links, accounts: dict[tuple[int, int], Account], found: Match) -> None:
    for receipt in ledger.receipts:
        link = links.receipt(receipt.order, receipt.sku, receipt.quantity)
        if link.order is None or link.line is None or link.packs is None:
            found.strays.append(Stray(receipt, link))
            continue
        account = accounts[id(link.order), link.line.line]
        damaged = receipt.damaged
        if link.packs != receipt.quantity:
            damaged = tidy((damaged * link.packs / receipt.quantity).quantize(Decimal("0.000001")))
        account.received += link.packs - damaged
        account.damaged += damaged
        if link.why:
            account.notes.append(link.why)
    for back in ledger.returns:
        link = links.receipt(back.order, back.sku, back.quantity)
        if back.kind == "returned" and link.order is not None and link.line is not None and link.packs is not None:
            accounts[id(link.order), link.line.line].returned += link.packs


def _book_documents(
    ledger: Ledger, links: Links, accounts: dict[tuple[int, int], Account], found: Match
) -> list[Papers]:
    papers = []
    seen: dict[tuple[str, str, bool], Document] = {}
    alike: dict[object, tuple[Document, list[Bill]]] = {}
    for raw in sorted(ledger.documents, key=lambda one: one.date):
        document = replace(raw, supplier=links.supplier(raw.supplier))
        first = seen.setdefault((*document.key, document.amount < 0), document)
        again = "" if first is document else _shown(first)
        faults: dict[int, list[Fault]] = {}
        for fault in (*sum_faults(document), *tax_faults(document, ledger.tax_rate)):
            faults.setdefault(id(fault.line) if fault.line else 0, []).append(fault)
        bills = [
            Bill(document, one, links.billed(document.supplier, document.currency, one), faults.get(id(one), []), again)
            for one in document.lines
        ]
        if not again:
            _mark_repeated(document, bills)
            _mark_alike(document, bills, alike)
        papers.append(Papers(document, tuple(faults.get(0, ())), bills[0].duplicate_of if bills else again))
        found.bills += bills
        for bill in bills:
            if bill.link.order is not None and bill.link.line is not None and not bill.is_credit:
                accounts[id(bill.link.order), bill.link.line.line].bills.append(bill)
    return papers


def _shown(document: Document) -> str:
    return f"invoice {document.number} of {document.date} ({document.place.source} line {document.place.line})"


def _print_of(one: BilledLine) -> tuple[object, ...]:
    return (one.order.casefold(), one.line, one.sku.casefold(), one.description.casefold(), one.quantity, one.amount)


def _mark_repeated(document: Document, bills: Sequence[Bill]) -> None:
    """Mark the second copy of an invoice that stands twice in one file: every line of it is there again.

    Of an invoice of one line the second may be another delivery, unless both bill more than was ordered.
    """
    counts = Counter(_print_of(bill.one) for bill in bills)
    times = reduce(gcd, counts.values(), 0)
    if times < 2 or (len(counts) == 1 and not _beyond(bills)):
        return
    kept: Counter[tuple[object, ...]] = Counter()
    for bill in bills:
        key = _print_of(bill.one)
        kept[key] += 1
        if kept[key] > counts[key] // times:
            bill.duplicate_of = _shown(document)


def _mark_alike(document: Document, bills: Sequence[Bill], alike: dict[object, tuple[Document, list[Bill]]]) -> None:
    """Mark an invoice that differs from one of the same day by its number only, if both bill more than was ordered."""
    if document.amount <= 0 or not all(bill.link.line for bill in bills):
        return
    prints = tuple(sorted(map(repr, (_print_of(bill.one) for bill in bills))))
    first, others = alike.setdefault((document.supplier.casefold(), document.date, prints), (document, list(bills)))
    if first is document:
        return
    if _beyond((*others, *bills)):
        for bill in bills:
            bill.duplicate_of = _shown(first)


def _beyond(bills: Iterable[Bill]) -> bool:
    """Return whether bills together take more of any order line than was ordered, or belong to none."""
    billed: dict[int, Decimal] = {}
    for bill in bills:
        line = bill.link.line
        if line is None:
            return True
        billed[id(line)] = billed.get(id(line), ZERO) + (bill.link.packs or ZERO)
        if billed[id(line)] > line.packs:
            return True
    return False


def _spread_over(accounts: Iterable[Account]) -> None:
    """Lay packs that did not come or went back on the bills that came last."""
    for account in accounts:
        counted = account.counted
        if account.line.is_freight:
            left = account.billed - account.line.packs
        else:
            left = account.billed - (account.received - account.returned)
        for bill in reversed(counted):
            bill.over = max(ZERO, min(left, bill.link.packs or ZERO))
            left -= bill.over


def _of_orders(accounts: Iterable[Account]) -> dict[str, Decimal]:
    """Return the price differences of each order, carriage apart."""
    found: dict[str, Decimal] = {}
    for account in accounts:
        if not account.line.is_freight:
            for bill in account.counted:
                number = account.order.number
                found[number] = found.get(number, ZERO) + price_difference(bill)
    return found
