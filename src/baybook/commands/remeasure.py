"""``remeasure``: the deck as framed against the deck as bid."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING

import click

from baybook.commands.common import ON, counted, moment, quote_day, told

if TYPE_CHECKING:
    from baybook.changes import ChangeOrder

__all__ = ["remeasure"]


@click.command()
@click.argument("book", type=click.Path())
@click.argument("measured", type=click.Path(), required=False)
@click.option("--issue", is_flag=True, help="Issue a numbered change order a job: a record, and a page to sign.")
@click.option("--sign", "signed", metavar="CHANGE", help="The customer signed this change order, as RC-058-01.")
@click.option("--withdraw", "withdrawn", metavar="CHANGE", help="This change order is off.")
@click.option("--by", "who", default="", help="Who issues, signs or withdraws; the log keeps it.")
@click.option("--note", default="", help="Why; on the customer's page where a change is issued.")
@ON
@told
def remeasure(
    book: str,
    measured: str | None,
    issue: bool,
    signed: str | None,
    withdrawn: str | None,
    who: str,
    note: str,
    on: dt.datetime | None,
) -> int:
    """Say what MEASURED, a file like measured.csv, changes in BOOK: bays, goods to add or return, price, contract.

    Prices are those of the bid's day. Nothing is written without --issue, --sign or --withdraw. A signed change puts
    its measures into measured.csv, so that the next order takes them into account.

    Example: baybook remeasure my-first-book my-first-book/measured.csv
    """
    from baybook.remeasure import decide_change
    from baybook.remeasure import remeasure as run

    chosen = [one for one in (measured, signed, withdrawn) if one]
    if len(chosen) != 1 or (issue and not measured):
        raise click.UsageError("give MEASURED (with or without --issue), or --sign CHANGE, or --withdraw CHANGE")
    if measured is None:
        action = "signed" if signed else "withdrawn"
        row = decide_change(book, signed or withdrawn or "", action, who, moment(), note)
        click.echo(f"change order {row.name}: {action}, {row.amount:+,.2f} {row.currency}")
        return 0
    result = run(book, measured, quote_day(on), moment(), issue=issue, who=who, reason=note)
    for change in result.changes:
        _tell(change)
    for path in result.paths:
        click.echo(str(path))
    return 0


def _tell(change: ChangeOrder) -> None:
    from baybook.units import show_length

    for bay in change.bays:
        sizes = [
            f"{what} {show_length(was, change.units)} -> {show_length(now, change.units)}"
            for what, was, now in (
                ("width", bay.width_before_in, bay.width_after_in),
                ("run", bay.run_before_in, bay.run_after_in),
                ("cut", bay.cut_before_in, bay.cut_after_in),
            )
            if was != now
        ]
        click.echo(f"{change.job} bay {bay.bay}: {', '.join(sizes)}")
    for one in change.goods:
        what = f"add {one.more}" if one.more > 0 else f"return {-one.more}"
        click.echo(f"{change.job} {one.item}: {what} {one.unit} ({one.supplier} {one.sku})")
    contract = change.contract
    click.echo(
        f"{change.job}: {counted(len(change.bays), 'bay')} differ, price {change.before:,.2f} -> {change.after:,.2f} "
        f"{change.currency} ({change.amount:+,.2f}); contract {contract.total:,.2f}, with this change "
        f"{contract.total + change.amount:,.2f}"
    )
