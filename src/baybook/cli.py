"""The command line: thin over the library.

Results go to standard output; progress and problems to standard error, a problem as ``file:line: column: message``.
Exit status 0: done; 1: the inputs have problems, nothing written; 2: wrong usage; 3: done, with findings.
"""

from __future__ import annotations

import click

from baybook import __version__
from baybook.commands import addin, building, buying, compare, quote, reading, remeasure, reprice, workbooks

__all__ = ["main"]


@click.group(context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="baybook")
def main() -> None:
    """Estimate workbooks for under-deck drainage, from a book of CSV files.

    A liner is laid over the joists, each bay drains to an outlet, a gutter carries the water off. A book states the
    deck, the liner, the prices; baybook takes it off, plans the cuts, prices it and writes a live workbook.
    """


for _command in (
    building.example,
    reading.check,
    reading.takeoff,
    building.build,
    compare.compare,
    quote.quote,
    workbooks.refresh,
    workbooks.export,
    workbooks.verify,
    reprice.reprice,
    remeasure.remeasure,
    buying.order,
    buying.reconcile,
    addin.addin,
):
    main.add_command(_command)
