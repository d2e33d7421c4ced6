"""What Excel needs: a workbook with macros built on the installed xlwings' own template, and what stands beside it.

The template's VBA names the exact version of the library that runs it, so the workbook is made where it will be used,
and its VBA stays byte for byte the template's.
"""

from __future__ import annotations

import datetime as dt
import io
import os
import sys
from pathlib import Path
from typing import Any
from xml.sax.saxutils import escape, quoteattr
from zipfile import ZIP_DEFLATED, ZipFile, ZipInfo

from baybook import __version__
from baybook.addin.pages import Page, reference_page
from baybook.addin.registry import answer
from baybook.addin.sample import CALC_ID, for_excel, own_sheet
from baybook.addin.vba import HELP_MACRO, UDF_MODULE, functions_bas
from baybook.files.example import ready_folder
from baybook.files.own import library_file
from baybook.files.write import write_bytes
from baybook.problems import BookError, Problem

__all__ = [
    "CONF_SHEET",
    "FIELDS",
    "NAME",
    "NEW",
    "REFRESH",
    "STATUS",
    "TEMPLATE",
    "conf_rows",
    "macro_workbook",
    "write_excel",
]

NAME = "baybook_addin"
"""The workbook's name and that of the module beside it: its macro imports the one by the other."""
TEMPLATE = "quickstart_standalone.xlsm"
CONF_SHEET = "xlwings.conf"
REFRESH, NEW = "Refresh", "New workbook"
FIELDS = {"workbook": "B4", "book": "B4", "out": "B5", "on": "B6"}
STATUS = "B12"
_MACRO = "[0]!SampleCall"
_MODULE = f'''"""The buttons of {NAME}.xlsm; keep it beside the workbook, under the same name."""

from baybook.commands.buttons import main

__all__ = ["main"]
'''
_DRAWING_NS = "http://schemas.openxmlformats.org/drawingml/2006/spreadsheetDrawing"
_MAIN_NS = "http://schemas.openxmlformats.org/drawingml/2006/main"
_REL_NS = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
_PACKAGE_REL_NS = "http://schemas.openxmlformats.org/package/2006/relationships"

_START = f"""
# Functions in your own sheets (Excel on Windows)
1. Keep this file and {NAME}.py in one folder, and open it with macros allowed.
2. Bring the functions in, by one of two ways:
    a. Tick 'Trust access to the VBA project object model' (File, Options, Trust Center, Macro Settings),
        press Alt+F8 and run ImportPythonUDFs.
    b. Or leave that alone: press Alt+F11, choose File, Import File, take {NAME}_functions.bas,
        then press Alt+F8 and run {HELP_MACRO} once, for the texts of the function wizard.
3. Press Ctrl+Alt+F9. The cell at the bottom says 12 when all is well.
4. Put your sheets into this workbook, or into a copy of it with a copy of its .py beside.
# Buttons (Windows and macOS)
The sheets {REFRESH} and {NEW} have one each. On macOS run 'xlwings runpython install' once before.
# What to know
A call that cannot be answered puts one line of text into its cell. SUM passes over text, so count first.
Nothing recalculates unless an input changes. One call for a whole table is far quicker than one for each cell.
'baybook addin check' names every step that is missing, with its remedy.
Excel itself was not at hand when this was made: the functions ran through xlwings' own code and in LibreOffice.
"""


_BUTTONS = {
    REFRESH: (
        "Refresh this workbook",
        "A job's workbook, brought up to date with its inputs: a new cut plan, new figures; your work in it stays.",
        [("workbook of the job", "its whole path; it may be open in this Excel: it is saved, closed and opened again")],
    ),
    NEW: (
        "New workbook",
        "Builds the workbooks of a book of CSV files.",
        [
            ("book", "folder of the CSV files, its whole path"),
            ("folder for the workbooks", "its whole path; empty: the folder workbooks in the book"),
            ("day whose prices count", "2026-06-15; empty: today"),
        ],
    ),
}
"""Sheet to its button's label, what it does, and the fields it reads, each with a note."""


def conf_rows(system: str, executable: str) -> list[tuple[str, Any]]:
    """Return the settings of the conf sheet, from its first cell on and without a gap.

    Parameters
    ----------
    system : str
        As `sys.platform` names it.
    executable : str
        The Python that runs this program.

    Returns
    -------
    list of (str, value)
        Key and value; the interpreter by its whole path on the system the workbook is made on.
    """
    return [
        ("INTERPRETER_WIN", executable if system == "win32" else "python"),
        ("INTERPRETER_MAC", executable if system == "darwin" else "python3"),
        ("UDF MODULES", UDF_MODULE),
        ("DEBUG UDFS", False),
        ("USE UDF SERVER", True),
        ("SHOW CONSOLE", False),
        ("ADD_WORKBOOK_TO_PYTHONPATH", True),
    ]


def _start_page(page: Page) -> None:
    page.put(1, 1, "baybook in Excel", "title")
    lines = _START.strip().splitlines()
    for row, line in enumerate(lines, 3):
        page.put(row, 1, line.removeprefix("# "), "part" if line.startswith("# ") else "body")
    page.formula(len(lines) + 4, 1, '=BAY_COUNT("16 ft",16)', answer("BAY_COUNT", ("16 ft", 16)), "result")
    page.widths(14, 120)


def _button_page(page: Page, title: str, purpose: str, fields: list[tuple[str, str]]) -> None:
    page.put(1, 1, title, "title")
    page.put(2, 1, purpose, "purpose")
    for row, (label, note) in enumerate(fields, 4):
        page.put(row, 1, label, "body")
        page.put(row, 2, "", "input text")
        page.put(row, 3, note, "note")
    page.put(12, 1, "what happened", "body")
    page.put(12, 2, "nothing yet", "long body")
    page.widths(28, 70, 60)


def _conf_page(ws: Any, system: str, executable: str) -> None:
    ws.delete_rows(1, ws.max_row)
    ws.title = CONF_SHEET
    for row, (key, value) in enumerate(conf_rows(system, executable), 1):
        ws.cell(row, 1, key)
        ws.cell(row, 2, value)


def _template() -> bytes:
    try:
        return library_file("xlwings", TEMPLATE)
    except (ModuleNotFoundError, FileNotFoundError) as missing:
        message = f"the workbook is built on xlwings' own template ({missing}); pip install xlwings"
        raise BookError(Problem("", 0, "xlwings", message)) from None


def macro_workbook(when: dt.datetime, system: str = sys.platform, executable: str = sys.executable) -> bytes:
    """Return the workbook with macros.

    Parameters
    ----------
    when : datetime
        Date for the file's properties.
    system, executable : str
        Where it will be used: see `conf_rows`.

    Returns
    -------
    bytes
        An xlsm file.

    Raises
    ------
    BookError
        If xlwings is not installed or its template is not there.
    """
    from openpyxl import load_workbook
    from openpyxl.workbook.properties import CalcProperties

    from baybook.workbook.looks import Palette
    from baybook.workbook.package import save

    book = load_workbook(io.BytesIO(_template()), keep_vba=True)
    first, conf = book.worksheets
    first.title = "Start"
    values: dict[tuple[str, int, int], Any] = {}
    palette = Palette(first)
    _start_page(Page(first, palette, values))
    own_sheet(Page(book.create_sheet("Own sheet"), palette, values), for_excel)
    for title, (label, purpose, fields) in _BUTTONS.items():
        _button_page(Page(book.create_sheet(title), palette, values), label, purpose, fields)
    reference_page(Page(book.create_sheet("Functions"), palette, values))
    _conf_page(conf, system, executable)
    book.move_sheet(conf, len(book.worksheets))
    book.active = 0
    book.calculation = CalcProperties(calcId=CALC_ID, fullCalcOnLoad=False)
    book.properties.creator = f"baybook {__version__}"
    book.properties.title = "baybook in Excel"
    book.properties.created = book.properties.modified = when
    stream = io.BytesIO()
    save(book, values, stream)
    numbers = {sheet.title: number for number, sheet in enumerate(book.worksheets, 1)}
    return _with_buttons(stream.getvalue(), {numbers[title]: label for title, (label, *_) in _BUTTONS.items()})


def _drawing(label: str) -> str:
    """A shape from B8 to B10 that runs the template's macro."""
    return (
        '<?xml version="1.0" encoding="UTF-8" standalone="yes"?>'
        f'<xdr:wsDr xmlns:xdr="{_DRAWING_NS}" xmlns:a="{_MAIN_NS}"><xdr:twoCellAnchor editAs="absolute">'
        "<xdr:from><xdr:col>1</xdr:col><xdr:colOff>0</xdr:colOff><xdr:row>7</xdr:row><xdr:rowOff>0</xdr:rowOff></xdr:from>"
        "<xdr:to><xdr:col>1</xdr:col><xdr:colOff>2400000</xdr:colOff><xdr:row>9</xdr:row><xdr:rowOff>90000</xdr:rowOff></xdr:to>"
        f'<xdr:sp macro="{_MACRO}" textlink=""><xdr:nvSpPr><xdr:cNvPr id="2" name={quoteattr(label)}/><xdr:cNvSpPr/>'
        '</xdr:nvSpPr><xdr:spPr><a:xfrm><a:off x="0" y="0"/><a:ext cx="2400000" cy="470000"/></a:xfrm>'
        '<a:prstGeom prst="roundRect"><a:avLst/></a:prstGeom><a:solidFill><a:srgbClr val="D9E2EC"/></a:solidFill>'
        '<a:ln w="9525"><a:solidFill><a:srgbClr val="7F7F7F"/></a:solidFill></a:ln></xdr:spPr>'
        '<xdr:txBody><a:bodyPr anchor="ctr"/><a:p><a:pPr algn="ctr"/><a:r><a:rPr lang="en-US" sz="1200" b="1">'
        f'<a:solidFill><a:srgbClr val="000000"/></a:solidFill></a:rPr><a:t>{escape(label)}</a:t></a:r></a:p>'
        "</xdr:txBody></xdr:sp><xdr:clientData/></xdr:twoCellAnchor></xdr:wsDr>"
    )


def _with_buttons(data: bytes, buttons: dict[int, str]) -> bytes:
    """Put a button on sheets, by their number in the package; they have no drawing so far."""
    with ZipFile(io.BytesIO(data)) as archive:
        parts = {name: archive.read(name) for name in archive.namelist()}
    types = ""
    for at, label in buttons.items():
        sheet = f"xl/worksheets/sheet{at}.xml"
        rels = f"xl/worksheets/_rels/sheet{at}.xml.rels"
        link = f'<drawing xmlns:r="{_REL_NS}" r:id="rId1"/></worksheet>'
        if rels in parts or b"<drawing" in parts[sheet]:
            raise ValueError(f"{sheet} has a drawing already")
        parts[sheet] = parts[sheet].replace(b"</worksheet>", link.encode())
        parts[rels] = (
            f'<?xml version="1.0" encoding="UTF-8" standalone="yes"?><Relationships xmlns="{_PACKAGE_REL_NS}">'
            f'<Relationship Id="rId1" Type="{_REL_NS}/drawing" Target="../drawings/drawing{at}.xml"/></Relationships>'
        ).encode()
        parts[f"xl/drawings/drawing{at}.xml"] = _drawing(label).encode()
        types += (
            f'<Override PartName="/xl/drawings/drawing{at}.xml" '
            'ContentType="application/vnd.openxmlformats-officedocument.drawing+xml"/>'
        )
    listing = "[Content_Types].xml"
    parts[listing] = parts[listing].replace(b"</Types>", types.encode() + b"</Types>")
    stream = io.BytesIO()
    with ZipFile(stream, "w", ZIP_DEFLATED) as archive:
        for name, content in parts.items():
            entry = ZipInfo(name, (1980, 1, 1, 0, 0, 0))
            entry.compress_type = ZIP_DEFLATED
            archive.writestr(entry, content)
    return stream.getvalue()


def write_excel(out: str | os.PathLike[str], when: dt.datetime) -> list[Path]:
    """Write the workbook with macros, the module of its buttons, and the functions as a VBA module.

    Parameters
    ----------
    out : path
        The folder, made if it is not there.
    when : datetime
        Date for the file's properties.

    Returns
    -------
    list of Path
        The files.

    Raises
    ------
    BookError
        If xlwings is not installed or a file cannot be written.
    """
    workbook = macro_workbook(when)
    place = ready_folder(out)
    files = {
        f"{NAME}.xlsm": workbook,
        f"{NAME}.py": _MODULE.encode(),
        f"{NAME}_functions.bas": functions_bas().encode("cp1252"),
    }
    for name, data in files.items():
        write_bytes(place / name, data, inside=place)
    return [place / name for name in files]
