"""``refresh``, ``export`` and ``verify``: workbooks that people worked in."""

from __future__ import annotations

from collections import Counter
from typing import Any

import click

from baybook.commands.common import counted, moment, told

__all__ = ["export", "refresh", "verify"]

WORKBOOK = click.argument("workbook", type=click.Path())


@click.command()
@WORKBOOK
@click.option("--dry-run", is_flag=True, help="Only tell what would change.")
@click.option("--force", is_flag=True, help="Also the workbook of a job that is won, lost or done; a backup is kept.")
@told
def refresh(workbook: str, dry_run: bool, force: bool) -> int:
    """Bring WORKBOOK up to date with the inputs in it, and plan the cuts anew.

    Only cells of ours change, and stored values of your own formulas that read them; sheets, colours, comments,
    pictures and macros of yours stay as they are. The file as it was is kept beside it under a dated name.

    Exit status 3: the job is offered, but a check has failed and nobody accepted that.

    Example: baybook refresh my-first-book/workbooks/LH-021.xlsx --dry-run
    """
    from baybook.workbook.refresh import refresh_workbook

    made = refresh_workbook(workbook, moment(), dry_run=dry_run, force=force)
    for one in made.mended:
        click.echo(f"{one}")
    for figure in made.figures:
        click.echo(f"{figure.name}: {_said(figure.before)} -> {_said(figure.after)}")
    for sheet, cells in Counter(one.address[0] for one in made.cells).items():
        click.echo(f"{sheet}: {counted(cells, 'cell')}")
    if not made.cells:
        click.echo("up to date; nothing was written", err=True)
    elif dry_run:
        click.echo(f"price {_said(made.before)} -> {_said(made.after)}; nothing was written", err=True)
    else:
        kept = made.copy.name if made.copy else ""
        click.echo(f"price {_said(made.before)} -> {_said(made.after)}; the file as it was is {kept}", err=True)
    for problem in made.unfit:
        click.echo(str(problem), err=True)
    return 3 if made.unfit else 0


@click.command()
@WORKBOOK
@click.option("--out", required=True, type=click.Path(), help="Folder for the book, made if it is not there.")
@told
def export(workbook: str, out: str) -> int:
    """Write the inputs of WORKBOOK as a book.

    Example: baybook export my-first-book/workbooks/LH-021.xlsx --out LH-021
    """
    from baybook.workbook.export import export_workbook

    made = export_workbook(workbook, out)
    for path in made.files:
        click.echo(str(path))
    if made.on:
        click.echo(f"job {made.job} has no quote date; its prices are those of that day: --on {made.on}", err=True)
    return 0


@click.command()
@WORKBOOK
@told
def verify(workbook: str) -> int:
    """Work WORKBOOK out again from the inputs in it and compare every formula and every stored value.

    What differs is listed, cell by cell (exit status 3).

    Example: baybook verify my-first-book/workbooks/LH-021.xlsx
    """
    from baybook.workbook.verify import verify_workbook

    found = verify_workbook(workbook, moment())
    for one in found.differences:
        click.echo(str(one))
    price = "the workbook's checks refuse a price" if found.price is None else f"price {found.price:,.2f}"
    click.echo(f"{counted(found.cells, 'cell')} compared, {len(found.differences)} differ; {price}", err=True)
    click.echo(found.plan, err=True)
    return 3 if found.differences else 0


def _said(value: Any) -> str:
    if isinstance(value, float | int) and not isinstance(value, bool):
        return f"{value:,.2f}"
    return str(value) if value not in {None, ""} else "nothing"
