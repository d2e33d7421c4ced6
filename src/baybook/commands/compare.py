"""``compare``: the framing decisions side by side."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import click

from baybook.commands.common import ON, quote_day, told

if TYPE_CHECKING:
    from baybook.decisions import Compared

__all__ = ["compare"]

HEADS = (
    ("option", False),
    ("bays", True),
    ("outlets", True),
    ("liner", True),
    ("gutter ft", True),
    ("leaders", True),
    ("least fall", True),
    ("price", True),
    ("more", True),
    ("warnings", True),
    ("failed", True),
)


def _cells(one: Compared) -> list[str]:
    made = one.figures
    if made is None:
        return [f"{one.option.words} (not possible)", *[""] * (len(HEADS) - 1)]
    return [
        f"* {one.option.words}" if one.option.stated else one.option.words,
        str(made.bays),
        str(made.outlets),
        str(made.liner_pieces),
        f"{made.gutter_ft:.4g}",
        str(made.leaders),
        f"{made.least_fall_in_per_ft:.3f}",
        f"{made.price:,.2f}",
        "" if one.option.stated else f"{one.price_more:+,.2f}",
        str(made.warnings),
        str(made.failed),
    ]


def _words(one: Compared) -> list[str]:
    """Return what an option brings and takes away, a line each."""
    if one.refused:
        return [f"{one.option.words}: {one.refused}"]
    said = [f"{one.option.words}: {'FAILED ' if found.failed else ''}{found}" for found in one.new]
    return said + [f"{one.option.words}: no longer: {found}" for found in one.gone]


def _print(title: str, rows: Sequence[Compared]) -> None:
    from rich.console import Console
    from rich.table import Table

    console = Console()
    table = Table(title=title, title_justify="left")
    for name, right in HEADS:
        table.add_column(name, justify="right" if right else "left")
    for one in rows:
        table.add_row(*_cells(one))
    console.print(table)
    for one in rows:
        for line in _words(one):
            console.print(f"  {line}", markup=False, highlight=False)


def _data(one: Compared) -> dict[str, Any]:
    from baybook.report import as_data

    return {
        "option": one.option.words,
        "stated": one.option.stated,
        "refused": one.refused,
        "price_more": f"{one.price_more:.2f}",
        "new_warnings": [str(found) for found in one.new],
        "gone_warnings": [str(found) for found in one.gone],
        "estimate": as_data(one.estimate) if one.estimate else None,
    }


@click.command()
@click.argument("book", type=click.Path())
@click.option("--json", "as_json", is_flag=True, help="One JSON document for scripts.")
@ON
@told
def compare(book: str, as_json: bool, on: dt.datetime | None) -> int:
    """Show the framing decisions of every job in BOOK side by side.

    For each area: gutter on the rim or the ledger side, posts through the liner or outside, border and divider boards,
    beam flush or dropped. Every option is estimated as a whole job; the one in the book is marked with *.

    Example: baybook compare my-first-book
    """
    import json
    from itertools import groupby

    from baybook.batch import estimates_of
    from baybook.decisions import compare as options

    data: dict[str, Any] = {"jobs": {}}
    for estimate in estimates_of(book, quote_day(on)):
        job = estimate.inputs.job.job
        areas: dict[str, Any] = data["jobs"].setdefault(job, {})
        for (area, decision), rows in groupby(options(estimate), lambda one: (one.option.area, one.option.decision)):
            same = list(rows)
            if as_json:
                areas.setdefault(area, {})[decision] = [_data(one) for one in same]
            else:
                _print(f"{job}, {area}: {decision}", same)
    if as_json:
        click.echo(json.dumps(data, indent=2, ensure_ascii=False))
    return 0
