"""What the quote says beside scope and price: payment steps, options, what is not included, terms."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from baybook.job.records import QUOTE_KINDS, Place, QuoteRow

__all__ = ["PLAIN_ROWS", "check_quote", "quote_of"]

PLAIN_ROWS: tuple[QuoteRow, ...] = (  # what counts of a kind that a book has no row of; our own words, no lawyer's
    QuoteRow(kind="payment", words="the whole price", when="when the work is done and has passed its water test"),
    *(
        QuoteRow(kind="excluded", words=words)
        for words in (
            "Framing, decking, railings, stairs, ceilings and electrical work; anything not named above.",
            "Repair of framing found rotten, out of level or otherwise than stated.",
            "Structural design: joist, ledger and beam sizes are the designer's.",
            "The building permit, inspections, and drains beyond the foot of the leaders.",
        )
    ),
    *(
        QuoteRow(kind="term", words=words)
        for words in (
            "This offer holds until the day above, for the deck described here; what is otherwise is priced anew.",
            "Changes are agreed in writing, with their price, before they are made.",
            "The frame is finished, inspected and cleared before we begin.",
            "Nobody steps on the liner before the decking is down.",
            "Most rain is carried off, not all: driven rain, melting snow and water down a wall may pass.",
            "The liner carries its maker's warranty. The owner keeps outlets, gutters and leaders clear of leaves.",
            "The deck is tested with water before the decking goes down; you are welcome to watch.",
        )
    ),
)

Say = Callable[[Place, str, str], None]


def quote_of(job: str, rows: Sequence[QuoteRow]) -> tuple[QuoteRow, ...]:
    """Return what a job's quote says: of each kind its own rows, else those of all jobs, else plain ones.

    Parameters
    ----------
    job : str
        The job's code.
    rows : sequence of QuoteRow
        Those of the whole book.

    Returns
    -------
    tuple of QuoteRow
        Payments, options, what is not included, terms; each in the order of the file. No job is an option of itself.
    """
    code = job.casefold()
    found: list[QuoteRow] = []
    for kind in QUOTE_KINDS:
        of_kind = [row for row in rows if row.kind == kind]
        mine = [row for row in of_kind if row.job.casefold() == code]
        shared = [row for row in of_kind if not row.job]
        found += mine or shared or [row for row in PLAIN_ROWS if row.kind == kind]
    return tuple(row for row in found if row.of.casefold() != code)


def check_quote(rows: Sequence[QuoteRow], say: Say) -> None:
    """Hold the rows of a book to the columns that their kind has, and payments to one whole."""
    for row in rows:
        for column, value, kinds in (
            ("share", row.share, ("payment",)),
            ("when", row.when or None, ("payment",)),
            ("of", row.of or None, ("option",)),
            ("amount", row.amount, ("payment", "option")),
        ):
            if value is not None and row.kind not in kinds:
                say(row.place, column, f"belongs to kind {' and '.join(kinds)}: leave it empty for kind {row.kind}")
        if row.kind == "payment" and row.amount is not None and row.amount < 0:
            say(row.place, "amount", f"{row.amount}: a payment is 0 or more")
        if row.kind == "option" and bool(row.of) == (row.amount is not None):
            say(row.place, "of", "name the job that prices the option, or give amount: one of the two")
        if row.of and row.of.casefold() == row.job.casefold():
            say(row.place, "of", f"job {row.job} is no option of itself: name another job of the book")
    for job in dict.fromkeys(row.job.casefold() for row in rows if row.kind == "payment"):
        _check_steps([row for row in rows if row.kind == "payment" and row.job.casefold() == job], say)


def _check_steps(steps: Sequence[QuoteRow], say: Say) -> None:
    """Hold payments to one whole: each states its part, the last takes the rest."""
    for row in steps[:-1]:
        if (row.share is None) == (row.amount is None):
            say(row.place, "share", "give share or amount, one of the two: only the last payment takes the rest")
    last = steps[-1]
    if last.amount is not None:
        say(last.place, "amount", "the last payment takes the rest of the price: leave it empty")
    elif last.share is not None:
        shares = [row.share for row in steps if row.share is not None]
        if len(shares) < len(steps) or sum(shares) != 1:
            said = f"{sum(shares) * 100:f}".rstrip("0").rstrip(".")
            message = f"the payments make {said} % of the price: leave the last one empty, it takes the rest"
            say(last.place, "share", message)
