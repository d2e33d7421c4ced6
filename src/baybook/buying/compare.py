"""The comparator: small checks, each of one fact, each saying at most a sentence for what it finds."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from decimal import Decimal
from typing import Any

from baybook.buying.documents import Fault
from baybook.buying.model import Account, Bill, Context, Fact, Finding, Papers, Stray
from baybook.buying.orders import money, plain
from baybook.numbers import cents

__all__ = ["CHECKS", "compare", "price_difference"]

ZERO = Decimal(0)


def _of_bill(bill: Bill, kind: str, said: str, **more: Any) -> Finding:
    order, line = bill.link.order, bill.link.line
    return Finding(
        kind=kind,
        supplier=order.supplier if order else bill.document.supplier,
        order=order.number if order else bill.one.order,
        line=str(line.line) if line else bill.one.line,
        sku=bill.one.sku or (line.sku if line else ""),
        invoice=bill.document.number,
        currency=bill.document.currency or (order.currency if order else ""),
        said=said,
        place=bill.one.place,
        date=bill.document.date,
        **more,
    )


def _of_account(account: Account, kind: str, said: str, **more: Any) -> Finding:
    order, line = account.order, account.line
    fixed: dict[str, Any] = {"place": line.place, "date": order.issued_on} | more
    return Finding(
        kind=kind,
        supplier=order.supplier,
        order=order.number,
        line=str(line.line),
        sku=line.sku,
        currency=order.currency,
        said=said,
        **fixed,
    )


def price_difference(bill: Bill) -> Decimal:
    """Return what a line bills over its ordered price, for the quantity billed. [money]."""
    line, packs = bill.link.line, bill.link.packs
    if line is None or packs is None:
        return ZERO
    return bill.due - cents(packs * line.pack_price)


# ---------------------------------------------------------------------------------------------- lines of invoices


def duplicate(bill: Bill, _: Context) -> Iterator[Finding]:
    """Billed before."""
    if bill.duplicate_of:
        said = f"invoice {bill.document.number} bills this again: it is on {bill.duplicate_of}"
        yield _of_bill(bill, "duplicate", said, money=bill.one.amount, claim=True)


def unknown(bill: Bill, _: Context) -> Iterator[Finding]:
    """Belongs to no order line; a suggestion may help."""
    if bill.link.line is not None or bill.duplicate_of or bill.is_credit:
        return
    hint = f"; perhaps {bill.link.suggestion}" if bill.link.suggestion else ""
    yield _of_bill(bill, "unknown", f"{bill.link.why}{hint}", money=bill.one.amount)


def other_pack(bill: Bill, _: Context) -> Iterator[Finding]:
    """Another pack or unit: only noted where it could be converted."""
    if bill.link.other and not bill.duplicate_of:
        yield _of_bill(bill, "other_pack", bill.link.why, quantity=bill.link.packs, open=bill.link.packs is None)


def price(bill: Bill, context: Context) -> Iterator[Finding]:
    """Price over or under the order's, beyond what is let pass; of what is claimed anyway no price is claimed."""
    line, packs, difference = bill.link.line, bill.link.packs, price_difference(bill)
    if line is None or not packs or bill.duplicate_of or bill.is_credit or difference == 0:
        return
    ordered = cents(packs * line.pack_price)
    of_order = difference if line.is_freight else context.of_order.get(bill.link.order.number, difference)  # type: ignore[union-attr]  # a line has an order
    if context.tolerance.price_passes(difference, ordered, of_order):
        return
    each = money((bill.due / packs).quantize(Decimal("0.0001")))
    said = f"{plain(packs)} billed at {each}, ordered at {money(line.pack_price)}"
    worth = cents(difference * max(ZERO, packs - bill.over) / packs)
    if difference > 0:
        yield _of_bill(bill, "price_over", said, quantity=packs, money=worth, claim=worth > 0)
    else:
        yield _of_bill(bill, "price_under", said, quantity=packs, money=worth, open=not context.tolerance.overage_only)


def line_sums(bill: Bill, _: Context) -> Iterator[Finding]:
    """A line whose amount or tax is not what it should be."""
    if not bill.duplicate_of:
        yield from (_of_bill(bill, fault.kind, _told(fault), **_worth(fault)) for fault in bill.faults)


def _told(fault: Fault) -> str:
    return f"{fault.what} is {money(fault.says)}, right is {money(fault.right)}"


def _worth(fault: Fault) -> dict[str, Any]:
    worth = cents(fault.says) - cents(fault.right)
    return {"money": worth, "claim": worth > 0 and fault.owed}


# ---------------------------------------------------------------------------------------------- documents and receipts


def document_sums(papers: Papers, _: Context) -> Iterator[Finding]:
    """Sums of the document itself."""
    if papers.duplicate_of:
        return
    document = papers.document
    for fault in papers.faults:
        yield Finding(
            kind=fault.kind,
            supplier=document.supplier,
            invoice=document.number,
            currency=document.currency,
            said=_told(fault),
            place=document.place,
            date=document.date,
            **_worth(fault),
        )


def stray(stray: Stray, _: Context) -> Iterator[Finding]:
    """Goods that nobody ordered."""
    receipt, order = stray.receipt, stray.link.order
    yield Finding(
        kind="received_not_ordered",
        supplier=order.supplier if order else "",
        order=order.number if order else receipt.order,
        sku=receipt.sku,
        quantity=receipt.quantity,
        said=f"{plain(receipt.quantity)} of {receipt.sku} came on {receipt.received_on}: {stray.link.why}",
        place=receipt.place,
        date=receipt.received_on,
    )


# ---------------------------------------------------------------------------------------------- order lines


def order_sum(account: Account, _: Context) -> Iterator[Finding]:
    """An order whose own line does not come out."""
    line = account.line
    if cents(line.amount) != line.due:
        said = (
            f"the order's line says {money(line.amount)}; {plain(line.packs)} at {money(line.pack_price)} is "
            f"{money(line.due)}"
        )
        yield _of_account(account, "wrong_sum", said, money=cents(line.amount) - line.due)


def _last(account: Account) -> dict[str, Any]:
    bill = account.counted[-1]
    return {"invoice": bill.document.number, "date": bill.document.date, "place": bill.one.place}


def _worth_over(account: Account, packs: Decimal) -> Decimal:
    """Return what packs too many cost: those billed last are those that did not come."""
    worth, left = ZERO, packs
    for bill in reversed(account.counted):
        if left <= 0 or not bill.link.packs:
            continue
        mine = min(left, bill.link.packs)
        worth += cents(bill.due * mine / bill.link.packs)
        left -= mine
    return worth


def billed_not_received(account: Account, context: Context) -> Iterator[Finding]:
    """More was billed than came in good order."""
    over = account.billed - _here(account)
    if over <= 0 or context.tolerance.quantity_passes(over, account.line.packs):
        return
    came = f"{plain(account.received)} came in good order" + (
        f" and {plain(account.damaged)} damaged" if account.damaged else ""
    )
    if account.line.is_freight:
        came = "it was ordered once"
    said = f"{plain(account.billed)} billed, {came}"
    worth = _worth_over(account, over)
    yield _of_account(account, "billed_not_received", said, quantity=over, money=worth, claim=True, **_last(account))


def _here(account: Account) -> Decimal:
    """Return the packs that came in good order; of carriage what was ordered."""
    return min(account.billed, account.line.packs) if account.line.is_freight else account.received


def returned(account: Account, _: Context) -> Iterator[Finding]:
    """Sent back after it was billed: a credit is due."""
    billed = min(account.billed, _here(account))
    packs = min(account.returned, billed - (_here(account) - account.returned))
    if packs > 0:
        beyond = max(ZERO, account.billed - _here(account))
        worth = _worth_over(account, beyond + packs) - _worth_over(account, beyond)
        said = f"{plain(packs)} went back to {account.order.supplier} and are billed"
        yield _of_account(account, "returned", said, quantity=packs, money=worth, claim=True, **_last(account))


def received_not_ordered(account: Account, context: Context) -> Iterator[Finding]:
    """More came than was ordered."""
    over = account.received - account.line.packs
    if over > 0 and not context.tolerance.quantity_passes(over, account.line.packs):
        said = f"{plain(account.received)} came, {plain(account.line.packs)} were ordered"
        yield _of_account(account, "received_not_ordered", said, quantity=over)


def not_yet_here(account: Account, context: Context) -> Iterator[Finding]:
    """Ordered, and neither here nor billed."""
    short = account.line.packs - max(account.received, account.billed)
    if account.line.is_freight or short <= 0 or context.tolerance.quantity_passes(short, account.line.packs):
        return
    said = f"{plain(account.line.packs)} ordered on {account.order.issued_on}, {plain(account.received)} here"
    yield _of_account(account, "not_yet_here", said, quantity=short)


def not_yet_billed(account: Account, _: Context) -> Iterator[Finding]:
    """Here and kept, and not billed so far: only noted."""
    short = account.received - account.returned - account.billed
    if short > 0 and not account.line.is_freight:
        said = f"{plain(account.received)} came, {plain(account.billed)} billed so far"
        yield _of_account(account, "not_yet_billed", said, quantity=short, open=False)


def packs_noted(account: Account, _: Context) -> Iterator[Finding]:
    """Goods that came in another pack than ordered: only noted."""
    yield from (_of_account(account, "other_pack", said, open=False) for said in account.notes)


CHECKS: Mapping[type, tuple[Callable[[Any, Context], Iterable[Finding]], ...]] = {
    Bill: (duplicate, unknown, other_pack, price, line_sums),
    Account: (
        order_sum,
        billed_not_received,
        returned,
        received_not_ordered,
        not_yet_here,
        not_yet_billed,
        packs_noted,
    ),
    Stray: (stray,),
    Papers: (document_sums,),
}


def compare(fact: Fact, context: Context) -> Iterator[Finding]:
    """Return the findings of one fact: the comparator that `reconcile` uses unless it is given another.

    Parameters
    ----------
    fact : Bill, Account, Stray or Papers
        A line of an invoice, a line of an order with what happened to it, goods nobody ordered, a whole document.
    context : Context
        Tolerance, and the differences of whole orders.

    Yields
    ------
    Finding
        What is not as it should be, or is worth knowing.
    """
    for check in CHECKS[type(fact)]:
        yield from check(fact, context)
