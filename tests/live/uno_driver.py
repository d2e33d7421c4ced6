"""Drive LibreOffice Calc through UNO: a JSON request a line on standard input, a JSON answer a line on standard output.

Run by the Python that LibreOffice's `uno` module belongs to (Debian: /usr/bin/python3, package python3-uno), which has
none of our own dependencies. Started as ``uno_driver.py PROFILE_DIRECTORY`` by the leader of a process group; the
LibreOffice it starts stays in that group, so that ending the group ends everything. It stops when its input ends.
"""

# ruff: noqa: FBT003 - UNO takes its arguments by position only

from __future__ import annotations

import contextlib
import json
import os
import signal
import subprocess
import sys
import time
import uuid
from pathlib import Path

import uno
from com.sun.star.beans import PropertyValue
from com.sun.star.connection import NoConnectException
from com.sun.star.container import NoSuchElementException
from com.sun.star.uno import Exception as UnoError
from com.sun.star.uno import RuntimeException

XLSX = "Calc MS Excel 2007 XML"
FILTERS = {".xlsx": XLSX, ".xlsm": "Calc MS Excel 2007 VBA XML", ".ods": "calc8"}
CONTENT = 1 | 2 | 4 | 16  # CellFlags VALUE, DATETIME, STRING, FORMULA: what a person's Delete key clears
NEVER = 0  # MacroExecMode.NEVER_EXECUTE and UpdateDocMode.NO_UPDATE
ERRORS = {
    503: "#NUM!",
    519: "#VALUE!",
    521: "#NULL!",
    524: "#REF!",
    525: "#NAME?",
    532: "#DIV/0!",
    32767: "#N/A",
}
PAPER = {"Letter": (21590, 27940), "A4": (21000, 29700)}  # width and height [1/100 mm]
START_S = 60.0
STOP_S = 10.0


class Refused(Exception):  # noqa: N818 - the request is refused, in a sentence
    """A request that cannot be done; its text is the answer."""


def properties(**values):
    """Return `values` as UNO property values."""
    made = []
    for name, value in values.items():
        item = PropertyValue()
        item.Name, item.Value = name, value
        made.append(item)
    return tuple(made)


def start_office(profile: str):
    """Start LibreOffice on a profile and a pipe of its own; return its process and its desktop."""
    office, context = start_process(profile)
    return office, context.ServiceManager.createInstanceWithContext("com.sun.star.frame.Desktop", context)


def start_process(profile: str):
    """Start LibreOffice on a profile and a pipe of its own; return its process and its component context."""
    pipe = f"live{uuid.uuid4().hex}"
    office = subprocess.Popen(
        [
            "soffice",
            "--headless",
            "--norestore",
            "--nologo",
            "--nodefault",
            f"-env:UserInstallation={Path(profile).resolve().as_uri()}",
            f"--accept=pipe,name={pipe};urp;",
        ],
        stdin=subprocess.DEVNULL,
        stdout=sys.stderr,
    )
    resolver = uno.getComponentContext().ServiceManager.createInstance("com.sun.star.bridge.UnoUrlResolver")
    deadline = time.monotonic() + START_S
    while True:
        try:
            return office, resolver.resolve(f"uno:pipe,name={pipe};urp;StarOffice.ComponentContext")
        except NoConnectException:
            if office.poll() is not None:
                raise Refused(f"LibreOffice ended at once with status {office.returncode}") from None
            if time.monotonic() > deadline:
                raise Refused(f"LibreOffice did not open its pipe within {START_S:.0f} s") from None
            time.sleep(0.02)


def load(desktop, path: str):
    """Open a workbook as a person's double click would: cached values trusted, no macros, no outside links."""
    chosen = FILTERS.get(Path(path).suffix.lower())
    options = {"Hidden": True, "MacroExecutionMode": NEVER, "UpdateDocMode": NEVER}
    if chosen:
        options["FilterName"] = chosen
    try:
        book = desktop.loadComponentFromURL(uno.systemPathToFileUrl(path), "_blank", 0, properties(**options))
    except UnoError as error:
        raise Refused(f"LibreOffice could not open {path}: {error.Message}") from error
    if book is None:
        raise Refused(f"LibreOffice could not open {path}: not a workbook it can read")
    if not book.supportsService("com.sun.star.sheet.SpreadsheetDocument"):
        book.close(True)
        raise Refused(f"LibreOffice opened {path}, but it is no workbook")
    return book


class Driver:
    """The requests. Cells are kept once found: finding one costs ten times what setting it does."""

    def __init__(self, desktop):
        self.desktop = desktop
        self.book = None
        self.found = {}

    def open(self, path):
        self.close()
        self.book = load(self.desktop, path)

    def close(self):
        self.found = {}
        if self.book is not None:
            book, self.book = self.book, None
            book.close(True)

    def _sheets(self):
        if self.book is None:
            raise Refused("no workbook is open")
        return self.book.Sheets

    def _range(self, sheet, address):
        sheets = self._sheets()
        if (sheet, address) not in self.found:
            try:
                self.found[sheet, address] = sheets.getByName(sheet).getCellRangeByName(address)
            except NoSuchElementException:
                names = ", ".join(sheets.ElementNames)
                raise Refused(f'the workbook has no sheet "{sheet}"; its sheets are: {names}') from None
            except RuntimeException:
                raise Refused(f'"{address}" is not a cell or range of sheet "{sheet}"') from None
        return self.found[sheet, address]

    def set_many(self, cells):
        for sheet, address, value in cells:
            cell = self._range(sheet, address)
            if not hasattr(cell, "setValue"):
                raise Refused(f'"{address}" is a range; a value is set in one cell')
            if value is None:
                cell.clearContents(CONTENT)
            elif isinstance(value, str):
                cell.setString(value)
            else:
                cell.setValue(float(value))

    def set_formula(self, sheet, cell, formula):
        self._range(sheet, cell).setFormula(formula)

    def paint(self, sheet, cells, colour):
        self._range(sheet, cells).CellBackColor = colour

    def note(self, sheet, cell, text):
        address = self._range(sheet, cell).CellAddress
        self._sheets().getByName(sheet).Annotations.insertNew(address, text)

    def add_sheet(self, name):
        self._sheets().insertNewByName(name, self._sheets().Count)

    def rename_sheet(self, sheet, name):
        self._unlocked(sheet).Name = name
        self.found = {}

    def delete_rows(self, sheet, row, count):
        self._unlocked(sheet).Rows.removeByIndex(row - 1, count)
        self.found = {}

    def _unlocked(self, sheet):
        found = self._sheets().getByName(sheet)
        found.unprotect("")
        return found

    def recalculate(self, hard):
        self._sheets()
        if hard:
            self.book.calculateAll()
        else:
            self.book.calculate()

    def read(self, sheet, address):
        return _rows(self._range(sheet, address))

    def read_all(self):
        used = {}
        for sheet in self._sheets():
            cursor = sheet.createCursor()
            cursor.gotoEndOfUsedArea(False)
            end = cursor.RangeAddress
            used[sheet.Name] = _rows(sheet.getCellRangeByPosition(0, 0, end.EndColumn, end.EndRow))
        return used

    def save_as(self, path):
        self._sheets()
        try:
            self.book.storeToURL(uno.systemPathToFileUrl(path), properties(FilterName=XLSX))
        except UnoError as error:
            raise Refused(f"LibreOffice could not save {path}: {error.Message}") from error

    def print_pdf(self, path, target, paper):
        """Print another workbook than the open one to a PDF."""
        book = load(self.desktop, path)
        try:
            if paper is not None:
                _set_paper(book, *PAPER[paper])
            book.storeToURL(uno.systemPathToFileUrl(target), properties(FilterName="calc_pdf_Export"))
        except UnoError as error:
            raise Refused(f"LibreOffice could not print {path}: {error.Message}") from error
        finally:
            book.close(True)


def _rows(cells):
    rows = [list(row) for row in cells.getDataArray()]
    for down, row in enumerate(rows):
        for across, value in enumerate(row):
            if value is None:  # a formula in error has no value at all
                code = cells.getCellByPosition(across, down).getError()
                row[across] = ERRORS.get(code, f"Err:{code}")
            elif value == "":
                row[across] = None
    return rows


def _set_paper(book, width, height):
    styles = book.StyleFamilies.getByName("PageStyles")
    for name in {sheet.PageStyle for sheet in book.Sheets}:
        style = styles.getByName(name)
        style.Width, style.Height = (height, width) if style.IsLandscape else (width, height)


def answer(driver: Driver, line: str) -> dict:
    """Do one request and return its answer."""
    request = json.loads(line)
    try:
        return {"ok": getattr(driver, request.pop("do"))(**request)}
    except Refused as refused:
        return {"error": str(refused)}


def say(message: dict) -> None:
    """Send one answer."""
    sys.stdout.write(json.dumps(message) + "\n")
    sys.stdout.flush()


def stop(office, desktop) -> None:
    """End LibreOffice, politely first; what is left of our own process group after that is killed with us."""
    with contextlib.suppress(UnoError):  # the bridge breaks as the program ends, or it has ended already
        desktop.terminate()
    try:
        office.wait(STOP_S)
    except subprocess.TimeoutExpired:
        if os.getpgrp() == os.getpid():
            os.killpg(0, signal.SIGKILL)


def main() -> None:
    """Serve requests until the input ends."""
    try:
        office, desktop = start_office(sys.argv[1])
    except Refused as refused:
        say({"error": str(refused)})
        return
    try:
        driver = Driver(desktop)
        say({"ok": "ready"})
        for line in sys.stdin:
            say(answer(driver, line))
    finally:
        stop(office, desktop)


if __name__ == "__main__":
    main()
