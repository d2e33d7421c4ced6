"""Somebody's own sheet that calls the functions beside his own formulas, with every value stored.

``python -m baybook.addin.sample FOLDER`` writes it twice: with the functions' names as Excel reads them from a file,
and as Calc does. The workbooks folder of the sources holds both.
"""

from __future__ import annotations

import datetime as dt
import io
import re
import sys
from collections.abc import Callable, Sequence
from decimal import ROUND_HALF_UP, Decimal
from pathlib import Path
from typing import Any

from baybook import __version__
from baybook.addin.calc import qualified
from baybook.addin.declare import Function
from baybook.addin.pages import Page, literal, reference_page
from baybook.addin.registry import FUNCTIONS, answer
from baybook.files.example import ready_folder
from baybook.files.write import write_bytes
from baybook.problems import BookError

__all__ = ["CALC_ID", "SAMPLES", "OwnSheet", "for_excel", "own_sheet", "sample", "write_samples"]

Naming = Callable[[Function], str]
_ADDRESS = re.compile(r"([A-Z])(\d+)(?::([A-Z])(\d+))?")
_MADE = dt.datetime(2026, 11, 25)  # noqa: DTZ001 - a date for the file's properties, the same at every build
MONEY = "#,##0.00"
CALC_ID = 191029
"""As Excel of today writes it (from memory): a lower number would make it recalculate what it opens."""


def for_excel(function: Function) -> str:
    """Name a function as Excel reads it from a file."""
    return function.name


SAMPLES: dict[str, Naming] = {"own sheet.xlsx": for_excel, "own sheet for Calc.xlsx": qualified}
"""File name to how it names the functions."""


class OwnSheet:
    """A sheet by its addresses: what is typed, his own formulas, and calls of the functions, each with its value."""

    def __init__(self, page: Page, naming: Naming) -> None:
        self.page, self.naming = page, naming
        self.cells: dict[tuple[int, int], Any] = {}

    def __getitem__(self, address: str) -> Any:
        """Return the value of a cell, or the rows of a range; a blank is None."""
        left, top, right, bottom = _corners(address)
        rows = [[self.cells.get((row, col)) for col in range(left, right + 1)] for row in range(top, bottom + 1)]
        return rows if ":" in address else rows[0][0]

    def numbers(self, address: str) -> list[float]:
        """Return the numbers in a range, as SUM, MAX and COUNT see them."""
        return [cell for row in self[address] for cell in row if isinstance(cell, int | float)]

    def typed(self, address: str, value: Any, look: str = "input", fmt: str = "") -> None:
        """Write what is typed."""
        col, row, *_ = _corners(address)
        self.cells[row, col] = value
        words = look == "input" and isinstance(value, str)
        self.page.put(row, col, value, "input text" if words else look, fmt)

    def table(self, address: str, rows: Sequence[Sequence[Any]], look: str = "input") -> None:
        """Write typed rows, the first of them a heading."""
        col, row, *_ = _corners(address)
        for down, line in enumerate(rows):
            for across, value in enumerate(line):
                self.cells[row + down, col + across] = value
                words = isinstance(value, str) and value
                self.page.put(
                    row + down,
                    col + across,
                    value,
                    f"{look} text" if words and down else look if down else "header left",
                )

    def own(self, address: str, formula: str, value: Any, fmt: str = "") -> None:
        """Write a formula of his own, with its value."""
        col, row, *_ = _corners(address)
        self.cells[row, col] = value
        self.page.formula(row, col, formula, value, "body", fmt)

    def call(self, address: str, name: str, *given: Any, fmt: str = "") -> None:
        """Write a call; a text that is an address refers to it, anything else stands in the formula as it is."""
        col, row, *_ = _corners(address)
        refers = [isinstance(one, str) and _ADDRESS.fullmatch(one) is not None for one in given]
        values = [self[one] if refer else one for one, refer in zip(given, refers, strict=True)]
        shown = [one if refer else literal(one) for one, refer in zip(given, refers, strict=True)]
        formula = f"={self.naming(FUNCTIONS[name])}({','.join(shown)})"
        found = answer(name, values)
        if not isinstance(found, list):
            self.cells[row, col] = found
            self.page.formula(row, col, formula, found, "result", fmt)
            return
        for down, line in enumerate(found):
            for across, value in enumerate(line):
                self.cells[row + down, col + across] = value
        self.page.array(row, col, formula, found, "result", fmt)


def _corners(address: str) -> tuple[int, int, int, int]:
    match = _ADDRESS.fullmatch(address)
    if match is None:
        raise ValueError(f"{address!r} is no address")
    left, top, right, bottom = match.groups()
    return ord(left) - 64, int(top), ord(right or left) - 64, int(bottom or top)


_INPUTS = (
    ("width", "16 ft", "along the ledger"),
    ("projection", "12 ft", "out from the house"),
    ("joists on centre", 16, "in"),
    ("joists", "2x10", ""),
    ("joist tops above grade", 9, "ft"),
    ("design rain", "5 in/h", ""),
    ("drape", 4, "in"),
    ("side lap", 1.5, "in"),
    ("high lap", 1.5, "in"),
    ("low setback", 3, "in"),
    ("nozzle reach", 3, "in"),
    ("tape width", 4, "in"),
    ("sealant waste", "10%", ""),
)


def _inputs(sheet: OwnSheet) -> None:
    sheet.typed("A1", "Deck at 7 Quarry Rise", "title")
    sheet.typed(
        "A2", "Somebody's own sheet, all invented: bold cells call baybook's functions, the rest is his.", "purpose"
    )
    sheet.typed("A4", "what he measured", "part")
    for row, (label, value, unit) in enumerate(_INPUTS, 5):
        sheet.typed(f"A{row}", label, "body")
        sheet.typed(f"B{row}", value)
        sheet.typed(f"C{row}", unit, "unit beside")


def _bays(sheet: OwnSheet) -> None:
    calls = (
        ("bays", "BAY_COUNT", ("B5", "B7"), ""),
        ("clear run", "BAY_CLEAR_RUN", ("B6",), "in"),
        ("fall", "BAY_FALL", ("B11", "B21"), "in/ft"),
        ("outlet trim", "BAY_OUTLET_TRIM", ("B8", 9.25), "in"),
        ("height left at mid-span", "BAY_BLOCKING_HEIGHT", ("B8", "B11", "B28", "B21"), "in"),
        ("tape", "BAY_TAPE_LENGTH", ("B5", "B6", "B7", "B16"), "ft"),
        ("gutter may run", "BAY_GUTTER_RUN", ("B15",), "ft"),
    )
    sheet.typed("A19", "what the functions say", "part")
    sheet.typed("A28", "his own: half the clear run", "body")
    sheet.call("B21", "BAY_CLEAR_RUN", "B6")
    sheet.own("B28", "=B21/2", sheet["B21"] / 2)
    for row, (label, name, given, unit) in enumerate(calls, 20):
        sheet.typed(f"A{row}", label, "body")
        sheet.call(f"B{row}", name, *given, fmt="0.0000" if name == "BAY_FALL" else "")
        sheet.typed(f"C{row}", unit, "unit beside")
    sheet.typed("E4", "every bay", "part")
    sheet.typed("E5", "clear width", "header left")
    sheet.typed("F5", "clear run", "header left")
    sheet.call("E6", "BAY_WIDTHS", "B5", "B7")
    for row in range(6, 18):
        sheet.own(f"F{row}", "=$B$21", sheet["B21"])
    sheet.call("H5", "BAY_PANELS", "E6:F17", "B11", "B12", "B13", "B14", fmt="0.00")
    sheet.typed("E19", "widest panel", "body")
    sheet.own("F19", "=MAX(J6:J17)", max(sheet.numbers("J6:J17")), "0.00")
    sheet.typed("E20", "liner to cut, ft", "body")
    counted, length = len(sheet.numbers("K6:K17")), sum(sheet.numbers("K6:K17")) / 12
    sheet.own(
        "F20",
        '=IF(COUNT(K6:K17)=B20,SUM(K6:K17)/12,"a panel has no length")',
        length if counted == sheet["B20"] else "a panel has no length",
    )
    sheet.typed("E21", "bead, ft", "body")
    sheet.own("F21", "=SUM(J6:J17)/12", sum(sheet.numbers("J6:J17")) / 12, "0.00")
    sheet.typed("E22", "cartridges", "body")
    sheet.call("F22", "BAY_CARTRIDGES", "F21", 0.25, 10.1, "B17")


def _water(sheet: OwnSheet) -> None:
    sheet.typed("A31", "rain", "part")
    sheet.typed("A32", "plan area, sq ft", "body")
    sheet.call("B33", "BAY_INCHES", "B5")
    sheet.call("B34", "BAY_INCHES", "B6")
    sheet.typed("A33", "width, in", "body")
    sheet.typed("A34", "projection, in", "body")
    sheet.own("B32", "=B33*B34/144", sheet["B33"] * sheet["B34"] / 144)
    sheet.typed("A35", "flow, gpm", "body")
    sheet.call("B35", "BAY_FLOW", "B10", "B32", fmt="0.00")
    sheet.typed("A36", "a 2x3 leader carries", "body")
    sheet.call("B36", "BAY_LEADER_CAPACITY", "2x3", fmt="0.00")
    sheet.typed("A37", "share of it", "body")
    sheet.own("B37", "=B35/B36", sheet["B35"] / sheet["B36"], "0%")
    sheet.typed("H19", "gutter and leader", "part")
    sheet.call("H20", "BAY_GUTTER_PARTS", "B5", "B6", "B7", "B8", "B9", "B10", "B15")


def _buying(sheet: OwnSheet) -> None:
    sheet.typed("A40", "liner he can buy", "part")
    sheet.table(
        "A41",
        (
            ("length, in", "price", "on hand", "name"),
            (144, 41, "", "12 ft"),
            (192, 52, "", "16 ft"),
            (150, 4, 2, "offcut"),
        ),
    )
    sheet.typed("F40", "to cut", "part")
    sheet.typed("F41", "length", "header left")
    sheet.typed("G41", "how many", "header left")
    sheet.own("F42", "=K6", sheet["K6"])
    sheet.own("G42", "=COUNT(K6:K17)", len(sheet.numbers("K6:K17")))
    sheet.call("E42", "BAY_CUT_COUNTS", "F42:G42", "A42:D44")
    sheet.typed("E41", "to take", "header left")
    sheet.typed("H40", "how to cut it", "part")
    sheet.call("H41", "BAY_CUT_PLAN", "F42:G42", "A42:D44")
    sheet.typed("A48", "what else he buys", "part")
    sheet.table("A49", (("item", "quantity"), ("seam_tape", ""), ("sealant", ""), ("strap", "")))
    sheet.own("B50", "=B25*1.05", sheet["B25"] * 1.05)
    sheet.own("B51", "=F22", sheet["F22"])
    sheet.own("B52", "=I29", sheet["I29"])
    offers = (
        ("supplier", "sku", "item", "pack_qty", "pack_price"),
        ("Alder Yard", "AY-T50", "seam_tape", 50, 31),
        ("Birch Supply", "BS-T75", "seam_tape", 75, 45),
        ("Alder Yard", "AY-SEAL", "sealant", 1, 8.4),
        ("Birch Supply", "BS-STRAP", "strap", 10, 12.5),
    )
    sheet.table("D49", offers)
    sheet.typed("A56", "priced", "part")
    sheet.call("A57", "BAY_PRICE_TABLE", "A50:B52", "D49:H53")


def _price(sheet: OwnSheet) -> None:
    def to_cents(value: float) -> float:
        return float(Decimal(repr(value)).quantize(Decimal("0.01"), ROUND_HALF_UP))

    sheet.typed("A64", "price", "part")
    rows = (
        ("liner and the rest", "=M44+H61", sheet["M44"] + sheet["H61"]),
        ("his hours", "", 14.5),
        ("at", "", 62),
        ("cost", "=ROUND(B65+B66*B67,2)", to_cents(sheet["M44"] + sheet["H61"] + 14.5 * 62)),
    )
    for row, (label, formula, value) in enumerate(rows, 65):
        sheet.typed(f"A{row}", label, "body")
        if formula:
            sheet.own(f"B{row}", formula, value, MONEY)
        else:
            sheet.typed(f"B{row}", value)
    sheet.typed("A69", "at 25% markup", "body")
    sheet.call("B69", "BAY_MARKUP_PRICE", "B68", 0.25, fmt=MONEY)
    sheet.typed("A70", "at 20% margin", "body")
    sheet.call("B70", "BAY_MARGIN_PRICE", "B68", 0.2, fmt=MONEY)


def own_sheet(page: Page, naming: Naming) -> OwnSheet:
    """Write the sheet.

    Parameters
    ----------
    page : Page
        An empty worksheet.
    naming : callable
        How a function is named in a formula.

    Returns
    -------
    OwnSheet
        The sheet with all its values.
    """
    sheet = OwnSheet(page, naming)
    for part in (_inputs, _bays, _water, _buying, _price):
        part(sheet)
    page.widths(28, 14, 16, 14, 14, 14, 12, 18, 14, 16, 24, 14, 10)
    return sheet


def sample(naming: Naming) -> bytes:
    """Return the sample workbook: his sheet, and the reference of the functions.

    Parameters
    ----------
    naming : callable
        How a function is named in a formula.

    Returns
    -------
    bytes
        An xlsx file; the same program gives the same bytes.
    """
    from openpyxl import Workbook
    from openpyxl.workbook.properties import CalcProperties

    from baybook.workbook.looks import Palette
    from baybook.workbook.package import save

    book = Workbook()
    book.calculation = CalcProperties(calcId=CALC_ID, fullCalcOnLoad=False)
    book.properties.creator = f"baybook {__version__}"
    book.properties.created = book.properties.modified = _MADE
    values: dict[tuple[str, int, int], Any] = {}
    own = book.active
    own.title = "Own sheet"
    palette = Palette(own)
    own_sheet(Page(own, palette, values), naming)
    reference_page(Page(book.create_sheet("Functions"), palette, values))
    stream = io.BytesIO()
    save(book, values, stream)
    return stream.getvalue()


def write_samples(folder: str) -> list[Path]:
    """Write both samples into a folder.

    Parameters
    ----------
    folder : str
        The folder, made if it is not there.

    Returns
    -------
    list of Path
        The files.

    Raises
    ------
    BookError
        If one cannot be written.
    """
    place = ready_folder(folder)
    for name, naming in SAMPLES.items():
        write_bytes(place / name, sample(naming), inside=place)
    return [place / name for name in SAMPLES]


def main() -> None:
    """Write the samples into the folder named on the command line."""
    if len(sys.argv) != 2:
        sys.stderr.write("usage: python -m baybook.addin.sample FOLDER\n")
        sys.exit(2)
    try:
        write_samples(sys.argv[1])
    except BookError as found:
        sys.exit(str(found))


if __name__ == "__main__":
    main()
