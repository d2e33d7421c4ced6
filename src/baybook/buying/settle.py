"""What became of each finding: accepted by somebody, closed by a credit, or still open; and the claims to make."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal

from baybook.buying.documents import plain_number
from baybook.buying.match import Match
from baybook.buying.model import Bill, Finding
from baybook.buying.orders import money
from baybook.buying.records import Accepted

__all__ = ["Settled", "claim_text", "decided", "settle"]

ZERO = Decimal(0)
STATES = ("open", "accepted", "closed", "note")


@dataclass(frozen=True, slots=True)
class Settled:
    """A finding and what became of it.

    Parameters
    ----------
    finding : Finding
        The finding.
    state : str
        ``open``, ``accepted``, ``closed`` (by credits), or ``note`` (nobody need look at it).
    by : str
        Who accepted it and when, or which credits closed it.
    credited : Decimal
        Credits that came for it. [money]
    """

    finding: Finding
    state: str
    by: str = ""
    credited: Decimal = ZERO

    @property
    def claim(self) -> Decimal:
        """What is still to be claimed. [money]."""
        owed = self.state == "open" and self.finding.claim
        return self.finding.money - self.credited if owed else ZERO


@dataclass(slots=True)
class _Credit:
    bill: Bill
    left: Decimal

    @property
    def shown(self) -> str:
        return f"credit {self.bill.document.number} of {self.bill.document.date}"


def decided(log: Iterable[Accepted]) -> dict[str, Accepted]:
    """Return the mark of each finding that is accepted, with the row that says so; later rows win."""
    found: dict[str, Accepted] = {}
    for row in log:
        if row.action == "accepted":
            found[row.finding] = row
        else:
            found.pop(row.finding, None)
    return found


def _key(credit: _Credit) -> tuple[str, ...]:
    """Return what a credit is for: an order line, else an invoice, else an order."""
    bill = credit.bill
    order, line = bill.link.order, bill.link.line
    if order is not None and line is not None:
        return ("line", order.number, str(line.line))
    if bill.document.credit_of:
        return ("invoice", bill.document.supplier.casefold(), plain_number(bill.document.credit_of))
    return ("order", order.number if order else "")


def _keys(claim: Finding) -> tuple[tuple[str, ...], ...]:
    """Return what credits a claim takes, the closest first."""
    return (
        ("line", claim.order, claim.line),
        ("invoice", claim.supplier.casefold(), plain_number(claim.invoice)),
        ("order", claim.order or "none"),
    )


def _spend(claims: Sequence[Finding], given: Sequence[_Credit]) -> dict[int, tuple[Decimal, list[str]]]:
    """Lay credits on claims: first those of the same amount, then what is left."""
    spent: dict[int, tuple[Decimal, list[str]]] = {}
    buckets: dict[tuple[str, ...], list[_Credit]] = {}
    for credit in given:
        buckets.setdefault(_key(credit), []).append(credit)
    for exact in (True, False):
        for claim in claims:
            paid, names = spent.get(id(claim), (ZERO, []))
            for credit in (one for key in _keys(claim) for one in buckets.get(key, ())):
                wanted = claim.money - paid
                if wanted <= 0 or credit.left <= 0 or (exact and credit.left != wanted):
                    continue
                part = min(wanted, credit.left)
                credit.left -= part
                paid += part
                names = [*names, credit.shown]
            spent[id(claim)] = (paid, names)
    return spent


def _credits_of(match: Match) -> list[_Credit]:
    """Return the credits that count; an allowance on an invoice is none."""
    return [
        _Credit(bill, -bill.one.amount)
        for bill in match.bills
        if bill.is_credit and not bill.duplicate_of and not (bill.one.whole and bill.document.amount > 0)
    ]


def _unspent(given: Iterable[_Credit], open_claims: Sequence[Finding]) -> Iterator[Finding]:
    claims = {(one.supplier, one.money): one for one in open_claims}
    for credit in given:
        if credit.left <= 0:
            continue
        bill = credit.bill
        same = claims.get((bill.document.supplier, credit.left))
        hint = f"; perhaps for invoice {same.invoice}, {same.sku}" if same else ""
        yield Finding(
            kind="unknown",
            supplier=bill.document.supplier,
            order=bill.link.order.number if bill.link.order else bill.one.order,
            line=str(bill.link.line.line) if bill.link.line else bill.one.line,
            sku=bill.one.sku,
            invoice=bill.document.number,
            money=-credit.left,
            currency=bill.document.currency,
            said=f"{money(credit.left)} of this credit belongs to no claim{hint}",
            place=bill.one.place,
            date=bill.document.date,
        )


def settle(match: Match, log: Iterable[Accepted] = ()) -> list[Settled]:
    """Say what became of each finding.

    Parameters
    ----------
    match : Match
        With its findings and the credits among its bills.
    log : iterable of Accepted
        Who accepted what; an entry counts while the finding's figures stay what they were.

    Returns
    -------
    list of Settled
        Open ones first, the dearest first; then accepted, closed, and those only noted.
    """
    accepted = decided(log)
    claims = [one for one in match.findings if one.claim and one.open and one.mark not in accepted]
    given = _credits_of(match)
    spent = _spend(claims, given)
    left = [one for one in claims if spent[id(one)][0] < one.money]
    found = []
    for finding in (*match.findings, *_unspent(given, left)):
        paid, names = spent.get(id(finding), (ZERO, []))
        row = accepted.get(finding.mark)
        if not finding.open:
            found.append(Settled(finding, "note"))
        elif row is not None:
            found.append(Settled(finding, "accepted", f"{row.who}, {row.at}"))
        elif finding.claim and paid >= finding.money:
            found.append(Settled(finding, "closed", ", ".join(dict.fromkeys(names)), paid))
        else:
            found.append(Settled(finding, "open", ", ".join(dict.fromkeys(names)), paid))
    return sorted(found, key=lambda one: (STATES.index(one.state), -abs(one.finding.money)))


_LEADS = {
    "duplicate": "You have billed this before",
    "price_over": "The price is not the one we ordered at",
    "billed_not_received": "You bill more than came",
    "returned": "You have this back",
    "wrong_sum": "The sum does not come out",
    "wrong_tax": "The tax does not come out",
}


def claim_text(one: Settled) -> str:
    """Return the words with which a claim is made.

    Parameters
    ----------
    one : Settled
        An open finding with something to claim.

    Returns
    -------
    str
        One paragraph for the supplier: what invoice and line, what is wrong, what to credit.
    """
    finding = one.finding
    where = f"Invoice {finding.invoice} of {finding.date}"
    if finding.order:
        line = f" line {finding.line}" if finding.line else ""
        where += f", our order {finding.order}{line}{f' ({finding.sku})' if finding.sku else ''}"
    so_far = f"; {money(one.credited)} came so far" if one.credited else ""
    lead = _LEADS.get(finding.kind, "This is not as ordered")
    return f"{where}: {lead}: {finding.said}. Please credit {one.claim:.2f} {finding.currency}{so_far}."
