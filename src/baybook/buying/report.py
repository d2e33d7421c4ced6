"""The match as rows: exceptions, all lines, a summary by supplier, and proposed rates."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from baybook.buying.match import Match
from baybook.buying.model import KINDS, Account, Bill
from baybook.buying.settle import Settled, claim_text
from baybook.buying.used import ENOUGH, Proposal
from baybook.numbers import cents

__all__ = [
    "EXCEPTION_COLUMNS",
    "LINE_COLUMNS",
    "SupplierSum",
    "exception_rows",
    "line_rows",
    "proposed_rates_text",
    "supplier_sums",
]

ZERO = Decimal(0)
EXCEPTION_COLUMNS = (
    "finding", "state", "kind", "supplier", "order", "line", "sku", "invoice", "date", "quantity", "money", "currency",
    "credited", "claim", "said", "wording", "by", "file", "file_line",
)  # fmt: skip
LINE_COLUMNS = (
    "supplier", "order", "line", "sku", "item", "description", "ordered", "received", "pack_price", "invoice", "date",
    "billed", "billed_price", "amount", "currency", "status", "said",
)  # fmt: skip


def exception_rows(settled: Iterable[Settled]) -> list[Sequence[Any]]:
    """Return all findings that are more than a note, as rows of exceptions.csv: open ones first."""
    return [
        (
            one.finding.mark,
            one.state,
            one.finding.kind,
            one.finding.supplier,
            one.finding.order,
            one.finding.line,
            one.finding.sku,
            one.finding.invoice,
            one.finding.date,
            one.finding.quantity,
            cents(one.finding.money),
            one.finding.currency,
            cents(one.credited),
            cents(one.claim),
            one.finding.said,
            claim_text(one) if one.claim else "",
            one.by,
            one.finding.place.source,
            one.finding.place.line or None,
        )
        for one in settled
        if one.state != "note"
    ]


def _status(said: Sequence[Settled]) -> tuple[int, str, str]:
    """Return whether anything is open (0: yes, sorts first), the status, and the sentences."""
    if not said:
        return 1, "matched", ""
    words = [f"{KINDS[one.finding.kind]}{'' if one.state == 'open' else f' ({one.state})'}" for one in said]
    return (
        int(all(one.state != "open" for one in said)),
        "; ".join(dict.fromkeys(words)),
        "; ".join(one.finding.said for one in said),
    )


def line_rows(match: Match, settled: Iterable[Settled]) -> list[Sequence[Any]]:
    """Return every line of every order and invoice with its status: those with something open first.

    Parameters
    ----------
    match : Match
        Accounts, bills, strays.
    settled : iterable of Settled
        What became of the findings.

    Returns
    -------
    list
        Rows of `LINE_COLUMNS`: one for each invoice line, and one for each order line that is not billed.
    """
    became = {id(one.finding): one for one in settled}

    def of(*facts: object) -> list[Settled]:
        return [became[id(finding)] for fact in facts for finding in match.of_fact.get(id(fact), ())]

    accounts = {(id(one.order), one.line.line): one for one in match.accounts}
    last = {id(one.bills[-1]): one for one in match.accounts if one.bills}
    rows = []
    for bill in match.bills:
        order, line = bill.link.order, bill.link.line
        account = accounts[id(order), line.line] if order is not None and line is not None else None
        facts = (bill, last[id(bill)]) if id(bill) in last else (bill,)
        rows.append(_row(account, bill, of(*facts)))
    rows += [_row(account, None, of(account)) for account in match.accounts if not account.bills]
    for one in match.strays:
        receipt = one.receipt
        state, status, said = _status(of(one))
        row = ("", receipt.order, "", receipt.sku, "", "", ZERO, receipt.quantity, None, "", receipt.received_on)
        rows.append((state, (*row, None, None, None, "", status, said)))
    return [row for _, row in sorted(rows, key=lambda pair: pair[0])]


def _row(account: Account | None, bill: Bill | None, said: Sequence[Settled]) -> tuple[int, Sequence[Any]]:
    state, status, words = _status(said)
    if bill is None and not said:
        status = "not billed yet"
    line, order = (account.line, account.order) if account else (None, None)
    one = bill.one if bill else None
    return state, (
        order.supplier if order else bill.document.supplier if bill else "",
        order.number if order else one.order if one else "",
        line.line if line else one.line if one else "",
        (one.sku if one else "") or (line.sku if line else ""),
        line.item if line else "",
        (one.description if one else "") or (line.description if line else ""),
        line.packs if line else None,
        account.received if account else None,
        line.pack_price if line else None,
        bill.document.number if bill else "",
        bill.document.date if bill else order.issued_on if order else None,
        (bill.link.packs if bill.link.packs is not None else bill.one.quantity) if bill else None,
        one.unit_price if one else None,
        one.amount if one else None,
        (bill.document.currency if bill else "") or (order.currency if order else ""),
        status,
        words,
    )


@dataclass(frozen=True, slots=True)
class SupplierSum:
    """What stands between a supplier and the book, in one currency. [money]."""

    supplier: str
    currency: str
    ordered: Decimal
    billed: Decimal
    credited: Decimal
    claims: Decimal
    open: int


def supplier_sums(match: Match, settled: Iterable[Settled]) -> list[SupplierSum]:
    """Return the sums of each supplier and currency, exact; duplicates count as billed until a credit comes."""
    sums: dict[tuple[str, str], list[Any]] = {}
    currencies: dict[str, str] = {}

    def of(supplier: str, currency: str) -> list[Any]:
        return sums.setdefault((supplier, currency or currencies.get(supplier, "")), [ZERO, ZERO, ZERO, ZERO, 0])

    for account in match.accounts:
        currencies.setdefault(account.order.supplier, account.order.currency)
        of(account.order.supplier, account.order.currency)[0] += account.line.amount
    for bill in match.bills:
        currency = bill.document.currency or (bill.link.order.currency if bill.link.order else "")
        of(bill.document.supplier, currency)[2 if bill.is_credit else 1] += abs(bill.one.amount)
    for one in settled:
        row = of(one.finding.supplier, one.finding.currency)
        row[3] += one.claim
        row[4] += one.state == "open"
    return [SupplierSum(*key, *row) for key, row in sorted(sums.items(), key=lambda pair: pair[0][0].casefold())]


def _share(value: float) -> str:
    return f"{value * 100:.1f}%"


def proposed_rates_text(found: Iterable[Proposal]) -> str:
    """Return the proposed rates as the text of a rates.csv; one with too few jobs behind it is a comment.

    Parameters
    ----------
    found : iterable of Proposal
        What the jobs bear out.

    Returns
    -------
    str
        Columns job, key, value, and columns beginning with x_ that say what stands behind each.
    """
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow(("job", "key", "value", "x_in_use", "x_jobs", "x_low", "x_median", "x_high", "x_says"))
    for one in found:
        shown = _share if one.key.startswith("waste_") else "{:.3f}".format
        says = "" if one.enough else f"too few jobs: {one.jobs}, at least {ENOUGH} are needed"
        spread = (shown(one.in_use), one.jobs, shown(one.low), shown(one.median), shown(one.high), says)
        writer.writerow(("" if one.enough else "#", one.key, shown(one.proposed), *spread))
    return text.getvalue()
