"""``build`` and ``example``: workbooks from a book."""

from __future__ import annotations

import datetime as dt

import click

from baybook.commands.common import FORCE, ON, counted, moment, progress, quote_day, told

__all__ = ["build", "example"]


def _built(book: str, out: str, on: dt.datetime | None, force: bool) -> int:
    from baybook.batch import build_book

    built = build_book(book, out, quote_day(on), moment(), force=force, progress=progress)
    for path in built.workbooks:
        click.echo(str(path))
    for problem in built.kept:
        click.echo(str(problem), err=True)
    kept = f", {len(built.kept)} left as they were" if built.kept else ""
    click.echo(f"{counted(len(built.workbooks), 'workbook')} written{kept}; totals in summary.csv", err=True)
    return 3 if built.kept else 0


@click.command()
@click.argument("book", type=click.Path())
@click.option("--out", required=True, type=click.Path(), help="Folder for the workbooks, made if it is not there.")
@FORCE
@ON
@told
def build(book: str, out: str, force: bool, on: dt.datetime | None) -> int:
    """Write one workbook a job of BOOK, a draft order a job, and summary.csv.

    A workbook that somebody changed since, and one of a job that is won, lost or done, is left as it is and listed
    (exit status 3).

    Example: baybook build my-first-book --out my-first-book/workbooks
    """
    return _built(book, out, on, force)


@click.command()
@click.argument("folder", type=click.Path(), default="example-book")
@told
def example(folder: str) -> int:
    """Make an invented book in FOLDER, with its workbooks ready to open.

    Example: baybook example my-first-book
    """
    from pathlib import Path

    from baybook.files.example import write_example

    write_example(folder)
    click.echo(f"an invented book of three jobs is in {folder}; its workbooks:", err=True)
    return _built(folder, str(Path(folder) / "workbooks"), None, force=False)
