"""``order`` and ``reconcile``: what leaves for the suppliers, and what comes back from them."""

from __future__ import annotations

import datetime as dt

import click

from baybook.commands.common import counted, moment, quote_day, told

__all__ = ["order", "reconcile"]

SHOWN = 20


@click.command()
@click.argument("book", type=click.Path())
@click.option(
    "--job", "jobs", multiple=True, help="Order for this job; may be given more than once (default: all won)."
)
@click.option("--together", is_flag=True, help="All jobs on one order a supplier; each line keeps its jobs.")
@click.option("--revise", metavar="NUMBER", help="Issue the next revision of this order, if anything changed.")
@click.option("--below-minimum", is_flag=True, help="Also issue orders that are short of a supplier's minimum.")
@click.option("--out", type=click.Path(), help="Also put what leaves the office here (default: BOOK/orders alone).")
@click.option(
    "--on", type=click.DateTime(["%Y-%m-%d"]), default=None, help="Day of issue; its prices count (default: today)."
)
@told
def order(
    book: str,
    jobs: tuple[str, ...],
    together: bool,
    revise: str | None,
    below_minimum: bool,
    out: str | None,
    on: dt.datetime | None,
) -> int:
    """Issue one order a supplier for what the jobs of BOOK still need: CSV, a sheet to print, and UBL.

    Offcuts on hand and earlier orders are taken off. Each order gets a number that is never used again, and its record
    in BOOK/orders is never rewritten. Exit status 3 if an order is late or was not issued.

    Example: baybook order my-first-book --job LH-021
    """
    from baybook.ledger import issue_orders, revise_order

    day = quote_day(on)
    if revise is not None:
        issued = revise_order(book, revise, out, day, moment())
    else:
        issued = issue_orders(book, out, day, moment(), jobs=jobs, together=together, below_minimum=below_minimum)
    for path in issued.paths:
        click.echo(str(path))
    for note in issued.told:
        click.echo(str(note), err=True)
    for one, order_by in zip(issued.orders, issued.order_by, strict=True):
        for change in one.notes:
            click.echo(f"order {one.name}: {change}", err=True)
        dates = f", wanted by {one.wanted_on}, to be ordered by {order_by}" if one.wanted_on else ""
        lines = counted(len(one.lines), "line")
        click.echo(f"order {one.name} to {one.supplier}: {lines}, {one.total} {one.currency}{dates}", err=True)
    if not issued.orders and not issued.held:
        click.echo("nothing to order: what the jobs need is on hand or on order", err=True)
    return 3 if issued.held or issued.told else 0


@click.command()
@click.argument("book", type=click.Path())
@click.option("--out", type=click.Path(), help="Folder for what is found (default: BOOK/reconciliation).")
@click.option("--accept", "accepted", multiple=True, metavar="FINDING", help="Accept this finding, by its mark.")
@click.option("--withdraw", "withdrawn", multiple=True, metavar="FINDING", help="Take back that it was accepted.")
@click.option("--by", "who", default="", help="Who accepts or withdraws; the log keeps it.")
@click.option("--note", default="", help="Why.")
@told
def reconcile(
    book: str, out: str | None, accepted: tuple[str, ...], withdrawn: tuple[str, ...], who: str, note: str
) -> int:
    """Match the orders, receipts and invoices of BOOK; say what differs, what to claim, what the jobs used.

    Writes reconciliation.xlsx, exceptions.csv, lines.csv and proposed rates.csv. Exit status 3 if anything is open.
    What is accepted goes into BOOK/settled.csv, to which rows are only added.

    Example: baybook reconcile my-first-book
    """
    from baybook import ledger

    when = moment()
    for marks, back in ((accepted, False), (withdrawn, True)):
        if marks:
            count = ledger.accept(book, marks, who, note, when, withdraw=back)
            click.echo(f"{counted(count, 'finding')} {'withdrawn' if back else 'accepted'} by {who}", err=True)
    found = ledger.reconcile(book, out, when.date(), when)
    for one in found.open[:SHOWN]:
        finding = one.finding
        place = ", ".join(
            f"{name} {value}"
            for name, value in (("invoice", finding.invoice), ("order", finding.order), ("line", finding.line))
            if value
        )
        click.echo(f"{finding.mark}  {finding.kind}  {finding.supplier}  {place}: {finding.said}")
    if len(found.open) > SHOWN:
        click.echo(f"... and {len(found.open) - SHOWN} more, in exceptions.csv")
    for path in found.paths:
        click.echo(str(path), err=True)
    lines = counted(len(found.matched.bills), "billed line")
    click.echo(
        f"{lines} against {counted(len(found.matched.accounts), 'ordered line')}: {len(found.open)} open", err=True
    )
    return 3 if found.open else 0
