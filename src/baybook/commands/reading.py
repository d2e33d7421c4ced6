"""``check`` and ``takeoff``: read a book and say what is in it."""

from __future__ import annotations

import datetime as dt
from typing import Any

import click

from baybook.commands.common import ON, counted, quote_day, told

__all__ = ["check", "takeoff"]


@click.command()
@click.argument("book", type=click.Path())
@ON
@told
def check(book: str, on: dt.datetime | None) -> int:
    """Read everything in BOOK, report every problem, write nothing.

    Example: baybook check my-first-book
    """
    from baybook.batch import estimates_of
    from baybook.offering import refusals
    from baybook.problems import BookError

    estimates = estimates_of(book, quote_day(on))
    refused = [problem for one in estimates for problem in refusals(one.inputs, one.findings)]
    if refused:
        raise BookError(refused)
    findings = 0
    for estimate in estimates:
        findings += len(estimate.findings)
        for finding in estimate.findings:
            click.echo(f"{estimate.inputs.job.job}: {'FAILED ' if finding.failed else ''}{finding}")
    click.echo(f"{counted(len(estimates), 'job')} read, no problem, {counted(findings, 'finding')}")
    return 0


def _table(data: dict[str, Any]) -> None:
    """Print one job's quantities for a person."""
    from rich.console import Console
    from rich.table import Table

    console = Console()
    for code, job in data["jobs"].items():
        table = Table(title=f"{code}: {job['bays']} bays, price {job['totals']['price']}")
        for name, right in (
            ("item", False),
            ("net", True),
            ("order", True),
            ("unit", False),
            ("packs", True),
            ("cost", True),
        ):
            table.add_column(name, justify="right" if right else "left")
        for item, row in job["items"].items():
            table.add_row(item, *(str(row[key]) for key in ("net", "order", "unit", "packs", "cost")))
        console.print(table)
        for warning in job["warnings"]:
            console.print(f"  ! {warning}", markup=False, highlight=False)


@click.command()
@click.argument("book", type=click.Path())
@click.option("--json", "as_json", is_flag=True, help="One JSON document for scripts.")
@click.option(
    "--offcuts-out", type=click.Path(), help="Write what the cut plans leave over as a stock.csv for the next job."
)
@ON
@told
def takeoff(book: str, as_json: bool, offcuts_out: str | None, on: dt.datetime | None) -> int:
    """Print the quantities of every job in BOOK.

    Example: baybook takeoff my-first-book --json
    """
    import json

    from baybook.batch import estimates_of
    from baybook.report import as_data

    estimates = estimates_of(book, quote_day(on))
    if offcuts_out:
        from baybook.files.table import write_table
        from baybook.report import OFFCUT_COLUMNS, offcut_rows

        write_table(offcuts_out, OFFCUT_COLUMNS, offcut_rows(estimates))
    data: dict[str, Any] = {"jobs": {one.inputs.job.job: as_data(one) for one in estimates}}
    if as_json:
        click.echo(json.dumps(data, indent=2, ensure_ascii=False))
    else:
        _table(data)
    return 0
