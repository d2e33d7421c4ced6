"""What every command shares: clock, exit status, options, and problems told as sentences."""

from __future__ import annotations

import datetime as dt
import os
import sys
from collections.abc import Callable
from functools import wraps
from typing import ParamSpec

import click

from baybook.job.fields import FIRST_YEAR
from baybook.problems import BookError, WriteFailed

__all__ = ["FORCE", "ON", "counted", "moment", "progress", "quote_day", "told"]

P = ParamSpec("P")


def today() -> dt.date:
    """Return the day of the run; SOURCE_DATE_EPOCH injects it."""
    return moment().date()


def moment() -> dt.datetime:
    """Return the time of the run; SOURCE_DATE_EPOCH injects it (UTC)."""
    given = os.environ.get("SOURCE_DATE_EPOCH", "")
    if given.isascii() and given.isdigit() and len(given) < 12:  # to the year 5138
        return dt.datetime.fromtimestamp(int(given), dt.UTC).replace(tzinfo=None)
    return dt.datetime.now().astimezone().replace(tzinfo=None, microsecond=0)


def told(command: Callable[P, int | None]) -> Callable[P, None]:
    """Turn problems into lines on standard error and an exit status; no traceback reaches a user."""

    @wraps(command)
    def run(*args: P.args, **kwargs: P.kwargs) -> None:
        try:
            status = command(*args, **kwargs)
        except BookError as found:
            for problem in found.problems:
                click.echo(str(problem), err=True)
            count = len(found.problems)
            left = (
                "stopped; what was written before is whole" if isinstance(found, WriteFailed) else "nothing was written"
            )
            click.echo(f"{counted(count, 'problem')}; {left}", err=True)
            status = 1
        except (click.ClickException, click.exceptions.Exit, click.Abort, BrokenPipeError):
            raise
        except Exception as fault:  # the unknown becomes a sentence too
            if os.environ.get("BAYBOOK_DEBUG"):
                raise
            click.echo(
                f"a fault of baybook, not of your inputs ({type(fault).__name__}: {fault}); stopped, what was written "
                "before is whole. Set BAYBOOK_DEBUG=1 to see where, and report it",
                err=True,
            )
            status = 1
        sys.exit(status or 0)

    return run


ON = click.option(
    "--on",
    type=click.DateTime(["%Y-%m-%d"]),
    default=None,
    help="Day whose prices count for jobs still in pricing (default: today).",
)
FORCE = click.option(
    "--force",
    is_flag=True,
    help="Also overwrite workbooks a person changed and those of settled jobs; backups are kept.",
)


def quote_day(on: dt.datetime | None) -> dt.date:
    """Return the day given by ``--on``, else today."""
    if on and on.year < FIRST_YEAR:
        raise click.BadParameter(f"{on:%Y-%m-%d} is long before any deck: check the year", param_hint="'--on'")
    return on.date() if on else today()


def counted(count: int, what: str) -> str:
    """Return a count with its noun: 1 job, 2 jobs."""
    return f"{count} {what}" if count == 1 else f"{count} {what}s"


def progress(done: int, jobs: int, name: str) -> None:
    """Tell on standard error how far a run over many jobs is."""
    if jobs < 2:
        return
    if sys.stderr.isatty():
        click.echo(f"\r{done} of {jobs}  {name:<40.40}", err=True, nl=done == jobs)
    else:
        click.echo(f"{done} of {jobs}: {name}", err=True)
