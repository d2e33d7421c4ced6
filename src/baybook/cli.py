"""The command line: thin over the library.

Results go to standard output; progress and problems to standard error, a problem as ``file:line: column: message``.
Exit status 0: done; 1: the inputs have problems, nothing written; 2: wrong usage; 3: done, with findings.
"""

from __future__ import annotations

import datetime as dt
import os
import sys
from collections.abc import Callable
from functools import wraps
from typing import Any, ParamSpec

import click

from baybook import __version__
from baybook.problems import BookError

__all__ = ["main"]

P = ParamSpec("P")


def today() -> dt.date:
    """Return the day of the run; SOURCE_DATE_EPOCH injects it."""
    return moment().date()


def moment() -> dt.datetime:
    """Return the time of the run; SOURCE_DATE_EPOCH injects it (UTC)."""
    given = os.environ.get("SOURCE_DATE_EPOCH", "")
    if given.isdigit():
        return dt.datetime.fromtimestamp(int(given), dt.UTC).replace(tzinfo=None)
    return dt.datetime.now().astimezone().replace(tzinfo=None, microsecond=0)


def _told(command: Callable[P, int | None]) -> Callable[P, None]:
    """Turn problems into lines on standard error and an exit status; no traceback reaches a user."""

    @wraps(command)
    def run(*args: P.args, **kwargs: P.kwargs) -> None:
        try:
            status = command(*args, **kwargs)
        except BookError as found:
            for problem in found.problems:
                click.echo(str(problem), err=True)
            count = len(found.problems)
            click.echo(f"{count} problem{'' if count == 1 else 's'}; nothing was written", err=True)
            status = 1
        sys.exit(status or 0)

    return run


@click.group(context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="baybook")
def main() -> None:
    """Estimate workbooks for under-deck drainage, from a book of CSV files.

    A liner is laid over the joists, each bay drains to an outlet, a gutter carries the water off. A book states the
    deck, the liner, the prices; baybook takes it off, plans the cuts, prices it and writes a live workbook.
    """


_ON = click.option(
    "--on",
    type=click.DateTime(["%Y-%m-%d"]),
    default=None,
    help="Day whose prices count for jobs still in pricing (default: today).",
)


def _date(on: dt.datetime | None) -> dt.date:
    return on.date() if on else today()


@main.command()
@click.argument("book", type=click.Path())
@_ON
@_told
def check(book: str, on: dt.datetime | None) -> int:
    """Read everything in BOOK, report every problem, write nothing.

    Example: baybook check mybook
    """
    from baybook.estimate import build_estimate
    from baybook.files.book import read_book

    problems = []
    findings = 0
    jobs = read_book(book, _date(on))
    for inputs in jobs:
        try:
            estimate = build_estimate(inputs)
        except BookError as found:
            problems += found.problems
            continue
        findings += len(estimate.findings)
        for finding in estimate.findings:
            click.echo(f"{inputs.job.job}: {'FAILED ' if finding.failed else ''}{finding}")
    if problems:
        raise BookError(problems)
    click.echo(f"{len(jobs)} job{'' if len(jobs) == 1 else 's'} read, no problem, {findings} to look at")
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


@main.command()
@click.argument("book", type=click.Path())
@click.option("--json", "as_json", is_flag=True, help="One JSON document for scripts.")
@_ON
@_told
def takeoff(book: str, as_json: bool, on: dt.datetime | None) -> int:
    """Print the quantities of every job in BOOK.

    Example: baybook takeoff mybook --json
    """
    import json

    from baybook.estimate import build_estimate
    from baybook.files.book import read_book
    from baybook.report import as_data

    problems = []
    data: dict[str, Any] = {"jobs": {}}
    for inputs in read_book(book, _date(on)):
        try:
            data["jobs"][inputs.job.job] = as_data(build_estimate(inputs))
        except BookError as found:
            problems += found.problems
    if problems:
        raise BookError(problems)
    if as_json:
        click.echo(json.dumps(data, indent=2, ensure_ascii=False))
    else:
        _table(data)
    return 0


if __name__ == "__main__":
    main()
