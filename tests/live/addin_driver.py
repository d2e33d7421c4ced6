"""Ask functions of an extension in a running LibreOffice: one JSON request on standard input, one JSON answer.

Started as ``addin_driver.py PROFILE_DIRECTORY``, with uno_driver.py beside it; the profile has the extension.
"""

# ruff: noqa: FBT003 - UNO takes its arguments by position only

from __future__ import annotations

import json
import sys

from uno_driver import _rows, load, properties, start_process, stop


def text_of(value) -> str:
    """A literal in a formula, as a person types it with semicolons between arguments."""
    if value is None:
        return ""
    if isinstance(value, str):
        return '"' + value.replace('"', '""') + '"'
    return repr(value)


class Asker:
    """One workbook: a sheet for what is given, one for what is answered."""

    def __init__(self, desktop):
        self.book = desktop.loadComponentFromURL("private:factory/scalc", "_blank", 0, properties(Hidden=True))
        self.given = self.book.Sheets.getByIndex(0)
        self.given.Name = "Given"
        self.book.Sheets.insertNewByName("Answers", 1)
        self.answers = self.book.Sheets.getByName("Answers")
        self.row = 0

    def place(self, rows) -> str:
        """Write cells one below the other and return where they stand."""
        for down, row in enumerate(rows):
            for across, value in enumerate(row):
                cell = self.given.getCellByPosition(across, self.row + down)
                if isinstance(value, str):
                    cell.setString(value)
                elif value is not None:
                    cell.setValue(float(value))
        cells = self.given.getCellRangeByPosition(0, self.row, len(rows[0]) - 1, self.row + len(rows) - 1)
        self.row += len(rows)
        return cells.AbsoluteName

    def ask(self, name, given, height, width):
        """Put the call into a range of this size and return its rows and the error of its first cell."""
        arguments = []
        for number, value in enumerate(given):
            if isinstance(value, list):
                arguments.append(self.place(value))
            elif value is None or number % 2:
                arguments.append(text_of(value))
            else:
                arguments.append(self.place([[value]]))
        cells = self.answers.getCellRangeByPosition(0, 0, width - 1, height - 1)
        cells.setArrayFormula(f"={name}({';'.join(arguments)})")
        found = [_rows(cells), self.answers.getCellByPosition(0, 0).getError()]
        cells.setArrayFormula("")
        return found

    def change(self, name, before, after):
        """Return the answer to a call of one cell before and after that cell is changed."""
        where = self.place([[before]])
        cell = self.answers.getCellByPosition(0, 0)
        cell.setFormula(f"={name}({where};16)")
        first = cell.getValue()
        self.given.getCellByPosition(0, self.row - 1).setValue(float(after))
        return [first, cell.getValue()]


def sheet_values(desktop, path, sheet, changes):
    """Open a workbook, recalculate everything, and return a sheet's rows before and after inputs are changed."""
    book = load(desktop, path)
    page = book.Sheets.getByName(sheet)
    found = []
    for cells in ({}, changes):
        for address, value in cells.items():
            page.getCellRangeByName(address).setValue(float(value))
        if not cells:
            book.calculateAll()
        cursor = page.createCursor()
        cursor.gotoEndOfUsedArea(False)
        end = cursor.RangeAddress
        found.append(_rows(page.getCellRangeByPosition(0, 0, end.EndColumn, end.EndRow)))
    book.close(True)
    return found


def wizard(context, names):
    """Return what the function wizard shows of each function: its help, and name and help of its arguments."""
    described = context.ServiceManager.createInstanceWithContext("com.sun.star.sheet.FunctionDescriptions", context)
    found = {}
    for number in range(described.Count):
        told = {one.Name: one.Value for one in described.getByIndex(number)}
        if told["Name"] in names:
            found[told["Name"]] = [told["Description"], [[one.Name, one.Description] for one in told["Arguments"]]]
    return found


def main() -> None:
    """Answer one request."""
    request = json.load(sys.stdin)
    office, context = start_process(sys.argv[1])
    desktop = context.ServiceManager.createInstanceWithContext("com.sun.star.frame.Desktop", context)
    try:
        asker = Asker(desktop)
        answer = {
            "calls": [asker.ask(*call) for call in request["calls"]],
            "change": [asker.change(*change) for change in request["change"]],
            "sheets": [sheet_values(desktop, *one) for one in request["sheets"]],
            "wizard": wizard(context, request["names"]),
        }
        asker.book.close(True)
        sys.stdout.write(json.dumps(answer) + "\n")
        sys.stdout.flush()
    finally:
        stop(office, desktop)


if __name__ == "__main__":
    main()
