"""``quote``: the customer's page as a file of its own."""

from __future__ import annotations

import datetime as dt

import click

from baybook.commands.common import ON, moment, quote_day, told

__all__ = ["quote"]


@click.command()
@click.argument("source", metavar="BOOK|WORKBOOK", type=click.Path())
@click.option("--out", required=True, type=click.Path(), help="Folder for the quotes, made if it is not there.")
@click.option("--job", default="", metavar="CODE", help="Only this job of the book.")
@click.option("--site", is_flag=True, help="Also the site sheet and the labels for the pieces.")
@click.option("--pdf", is_flag=True, help="As PDF, by LibreOffice; without it as a workbook that holds values alone.")
@click.option(
    "--paper",
    type=click.Choice(["letter", "a4"], case_sensitive=False),
    help="Size of the paper (default: a4 for metric jobs, else letter).",
)
@ON
@told
def quote(source: str, out: str, job: str, site: bool, pdf: bool, paper: str | None, on: dt.datetime | None) -> int:
    """Write the customer's quote of every job of BOOK, or of a WORKBOOK: no cost and no margin is in the file.

    Example: baybook quote my-first-book --job LH-021 --out my-first-book/quotes
    """
    from baybook.papers import QUOTE, SITE, SIZES, write_papers

    size = SIZES[paper.lower()] if paper else ""
    titles = (*QUOTE, *SITE) if site else QUOTE
    for path in write_papers(source, out, quote_day(on), moment(), job=job, titles=titles, size=size, pdf=pdf):
        click.echo(str(path))
    return 0
