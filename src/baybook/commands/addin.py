"""``addin``: the functions and buttons for Excel, the functions for Calc, and what is still missing."""

from __future__ import annotations

import click

from baybook.commands.common import counted, moment, told

__all__ = ["addin"]

OUT = click.option("--out", type=click.Path(), default=".", show_default="this folder", help="Folder for the files.")


@click.group()
def addin() -> None:
    """Bring the engine's functions into your own spreadsheets."""


@addin.command()
@OUT
@told
def excel(out: str) -> int:
    """Write the macro workbook, the module of its buttons, and the functions as a .bas to import.

    Example: baybook addin excel --out excel
    """
    from baybook.addin.excel import write_excel

    for path in write_excel(out, moment()):
        click.echo(str(path))
    click.echo(f"the workbook's first sheet says how to go on; then: baybook addin check --out {out}", err=True)
    return 0


@addin.command()
@OUT
@told
def calc(out: str) -> int:
    """Write the extension for LibreOffice Calc.

    Example: baybook addin calc --out calc
    """
    from baybook.addin.calc import EXTENSION, extension
    from baybook.files.example import ready_folder
    from baybook.files.write import write_bytes

    place = ready_folder(out)
    write_bytes(place / EXTENSION, extension(), inside=place)
    click.echo(str(place / EXTENSION))
    click.echo(f"install it: unopkg add {place / EXTENSION}, or in LibreOffice: Tools, Extensions, Add", err=True)
    return 0


@addin.command()
@OUT
@told
def check(out: str) -> int:
    """Name every step that is missing before Excel runs the functions and buttons, with its remedy.

    Looks at the macro workbooks in the folder. Exit status 3 if something is missing.

    Example: baybook addin check --out excel
    """
    from pathlib import Path

    from baybook.addin.check import MISSING
    from baybook.addin.check import check as steps_of

    steps = steps_of(Path(out))
    for step in steps:
        remedy = f"\n             {step.remedy}" if step.remedy else ""
        click.echo(f"{step.state:<12} {step.what}{remedy}")
    missing = sum(step.state == MISSING for step in steps)
    click.echo(f"{counted(missing, 'step')} missing" if missing else "nothing is missing", err=True)
    return 3 if missing else 0
