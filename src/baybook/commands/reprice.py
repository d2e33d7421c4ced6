"""``reprice``: all open jobs of a folder by a new price list."""

from __future__ import annotations

import datetime as dt
import sys
import time
from typing import TYPE_CHECKING, Any

import click

from baybook.commands.common import counted, moment, quote_day, told

if TYPE_CHECKING:
    from collections.abc import Callable

    from baybook.reprice.report import Repriced, Sum

__all__ = ["reprice"]

LINES = 20  # lines that tell the progress where there is no terminal


class _Share(click.ParamType):  # type: ignore[type-arg]  # older click has no argument there
    name = "percent"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        """Read 12 and 12% alike."""
        if isinstance(value, float):
            return value
        try:
            read = float(str(value).strip().removesuffix("%")) / 100
        except ValueError:
            self.fail(f"{value!r} is no percentage: write 12%", param, ctx)
        if not -1 <= read < 1:
            self.fail(f"{value!r}: a margin is less than 100%", param, ctx)
        return read


@click.command()
@click.argument("folder", type=click.Path())
@click.option("--prices", required=True, type=click.Path(), help="The new price list, with the columns of prices.csv.")
@click.option(
    "--on",
    type=click.DateTime(["%Y-%m-%d"]),
    default=None,
    help="Day of the new prices; quoted jobs are quoted anew on it (default: today).",
)
@click.option("--out", type=click.Path(), help="Folder of the results (default: 'repriced DATE' in FOLDER).")
@click.option("--jobs", type=click.IntRange(1, 256), default=None, help="Processes (default: one a processor).")
@click.option("--accept", multiple=True, metavar="SKU", help="Take an offer over that is held back; SUPPLIER/SKU too.")
@click.option("--floor", type=_Share(), default=None, help="The least margin, as 12% (default: each job's own profit).")
@click.option("--dry-run", is_flag=True, help="Only tell what would change.")
@told
def reprice(
    folder: str,
    prices: str,
    on: dt.datetime | None,
    out: str | None,
    jobs: int | None,
    accept: tuple[str, ...],
    floor: float | None,
    dry_run: bool,
) -> int:
    """Price all jobs in FOLDER that are in pricing or offered by a new price list.

    Books and workbooks in FOLDER and its sub-folders count. Books are not touched: their jobs become workbooks in the
    folder of the results. Workbooks are brought up to date in place; as they were they are kept there too. Jobs that
    are won, lost or done are listed and left alone. The new list speaks for the suppliers it names; offers of others
    stay.

    Exit status 3: a job was left out or an offer is held back; all else is done. A run that was killed goes on when it
    is started again.

    Example: baybook reprice my-first-book --prices my-first-book/alder-yard-october.csv --on 2026-10-01
    """
    import os

    from baybook.reprice.run import reprice as run

    result = run(
        folder,
        prices,
        quote_day(on),
        moment(),
        out=out,
        accept=accept,
        floor=floor,
        dry_run=dry_run,
        jobs=jobs or os.cpu_count() or 1,
        progress=_progress(),
    )
    _tell(result)
    click.echo(_last_line(result, dry_run), err=True)
    return 3 if result.missed or result.held or result.untold else 0


def _progress() -> Callable[[int, int, str], None]:
    """Return what tells how far a run is and how long it still takes."""
    start, terminal = time.monotonic(), sys.stderr.isatty()
    first, last = [-1], [0]

    def show(done: int, total: int, source: str) -> None:
        if first[0] < 0:  # what an earlier run did took this one no time
            first[0] = last[0] = done
        if done == first[0]:
            return
        rest = (time.monotonic() - start) / (done - first[0]) * (total - done)
        left = f"{int(rest // 60)} min {int(rest % 60):02d} s left" if done < total else "done"
        if terminal:
            click.echo(f"\r{done} of {total}  {left:<18}{source:<40.40}", err=True, nl=done >= total)
        elif done >= total or done - last[0] >= max(1, total // LINES):
            last[0] = done
            click.echo(f"{done} of {total}, {left}", err=True)

    return show


def _tell(result: Repriced) -> None:
    """Print the jobs that moved, then what was left and why."""
    from collections import Counter

    from baybook.reprice.report import KINDS, in_order, offer_rows, sums

    for one in in_order(result.jobs):
        if one.old_price is None:
            click.echo(f"{one.job} ({one.source}): {one.new_price:,.2f} {one.currency}; before: {one.unpriced}")
        elif one.moved or one.below_floor:
            margin = "" if one.margin_left is None else f", {one.margin_left:.1%} margin at the old price"
            floor = ", UNDER THE FLOOR" if one.below_floor else ""
            prices = f"{one.old_price:,.2f} -> {one.new_price:,.2f} {one.currency} ({one.moved:+,.2f})"
            click.echo(f"{one.job} ({one.source}): {prices}{margin}{floor}")
    for each in sums(result):
        click.echo(_sum(each))
    counts = Counter(row[0] for row in offer_rows(result))
    click.echo("the list: " + ", ".join(f"{counts[kind]} {kind}" for kind in KINDS.values()))
    for offer in result.held:
        click.echo(f"held back: {offer.name}: {offer.why}; --accept {offer.name!r} takes it over", err=True)
    for left in result.left:
        for problem in left.problems:
            click.echo(f"{left.source}: {problem}" if left.source != problem.source else str(problem), err=True)
    for problem in result.untold:
        click.echo(str(problem), err=True)


def _sum(one: Sum) -> str:
    return (
        f"{one.currency}: {one.old:,.2f} -> {one.new:,.2f} ({one.new - one.old:+,.2f}); "
        f"{one.up} dearer, {one.down} cheaper, {one.below_floor} under the floor"
    )


def _last_line(result: Repriced, dry_run: bool) -> str:
    """Return the one line that a script keeps."""
    counts = [
        f"{counted(len(result.jobs), 'job')} priced again",
        f"{counted(len(result.written), 'workbook')} written",
        f"{len(result.left) - len(result.missed)} won, lost or done",
        f"{len(result.missed)} left out",
        f"{counted(len(result.held), 'offer')} held back",
    ]
    if dry_run:
        return f"{', '.join(counts)}; nothing was written"
    where = f"; the report is {result.files[0].parent / 're-pricing.xlsx'}" if result.files else "; nothing was new"
    return ", ".join(counts) + where
