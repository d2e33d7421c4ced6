"""Sheets about the functions: a writer of cells with their values, and the reference made from the registry."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from baybook.addin.declare import Function
from baybook.addin.registry import FUNCTIONS, answer

__all__ = [
    "REFERENCE_HEAD",
    "REFERENCE_ROW",
    "Page",
    "example_result",
    "example_text",
    "literal",
    "reference_page",
    "reference_rows",
]

REFERENCE_HEAD = ("argument", "unit", "left out", "what it is")
REFERENCE_ROW = 7
_ABOUT = (
    'An argument with a unit takes a number in it, or text with a unit: 16, "16 ft", "14\' 3-1/2""", "4.35 m".',
    "What counts where an argument is left out stands beside it. In Calc an empty cell is 0, not left out.",
    'Where a result has a unit, "metric" as the last argument gives it in millimetres, metres, litres a second.',
)
_LONGEST_RESULT = 240


class Page:
    """A worksheet being written, and the value of each of its formulas."""

    def __init__(self, ws: Any, palette: Any, values: dict[tuple[str, int, int], Any]) -> None:
        self.ws, self.palette, self.values = ws, palette, values

    def put(self, row: int, col: int, value: Any, look: str = "body", fmt: str = "") -> None:
        """Write a number, or a text that stays text whatever it begins with."""
        cell = self.ws.cell(row, col, None if value == "" else value)
        text = isinstance(value, str)
        if text and value:
            cell.data_type = "s"
        cell._style = self.palette.style(look, fmt, quoted=text and value.startswith("="))  # noqa: SLF001 - openpyxl has no other way to share a style

    def formula(self, row: int, col: int, text: str, value: Any, look: str = "body", fmt: str = "") -> None:
        """Write a formula with its value."""
        cell = self.ws.cell(row, col, text)
        cell._style = self.palette.style(look, fmt)  # noqa: SLF001 - as above
        self.values[self.ws.title, row, col] = value

    def array(
        self, row: int, col: int, text: str, rows: Sequence[Sequence[Any]], look: str = "body", fmt: str = ""
    ) -> None:
        """Write an array formula over a range with all its values."""
        from openpyxl.utils import get_column_letter
        from openpyxl.worksheet.formula import ArrayFormula

        for down, line in enumerate(rows):
            for across, value in enumerate(line):
                self.put(row + down, col + across, value, look, fmt)
        last = f"{get_column_letter(col + len(rows[0]) - 1)}{row + len(rows) - 1}"
        cell = self.ws.cell(row, col, ArrayFormula(f"{get_column_letter(col)}{row}:{last}", text))
        cell.data_type = "f"
        self.values[self.ws.title, row, col] = rows[0][0]

    def widths(self, *widths: float) -> None:
        """Set the widths of the first columns, in characters, and print all columns on one page across."""
        from openpyxl.utils import get_column_letter
        from openpyxl.worksheet.properties import PageSetupProperties

        for col, width in enumerate(widths, 1):
            self.ws.column_dimensions[get_column_letter(col)].width = width
        self.ws.sheet_properties.pageSetUpPr = PageSetupProperties(fitToPage=True)
        self.ws.page_setup.orientation = "landscape"
        self.ws.page_setup.fitToWidth, self.ws.page_setup.fitToHeight = 1, 0


def literal(value: Any) -> str:
    """Return a value as a formula holds it; rows as an array constant."""
    if value is None:
        return ""
    if isinstance(value, str):
        return '"' + value.replace('"', '""') + '"'
    if isinstance(value, list):
        return "{" + ";".join(",".join(map(literal, row)) for row in value) + "}"
    return _shown(value)


def example_text(function: Function) -> str:
    """Return the worked example as a formula."""
    return f"={function.name}({','.join(map(literal, function.example))})"


def example_result(function: Function) -> str:
    """Return what the worked example gives, as text; rows in the manner of an array constant."""
    found = answer(function.name, function.example)
    text = literal(found) if isinstance(found, list) else _shown(found)
    return text if len(text) <= _LONGEST_RESULT else text[: _LONGEST_RESULT - 1] + "…"


def _shown(value: Any) -> str:
    return f"{value:.10g}" if isinstance(value, int | float) else str(value)


def reference_rows() -> list[tuple[str, tuple[str, str, str, str]]]:
    """Return the reference: the look and the four cells of each row, a block of rows a function."""
    rows: list[tuple[str, tuple[str, str, str, str]]] = []
    for function in FUNCTIONS.values():
        rule = f" Rule {function.rule}." if function.rule else ""
        metric = f", metric {function.gives.metric}" if function.takes_units else ""
        unit = f" [{function.gives.unit}{metric}]" if function.gives.unit else ""
        rows.append(("part", (function.signature, "", "", "")))
        rows.append(("body", (f"{function.help} Gives {function.gives.text}{unit}.{rule}", "", "", "")))
        for one in function.args:
            words = f": {', '.join(one.field.choices)}" if one.field.choices else ""
            rows.append(("body", (one.name, one.unit, one.default, one.field.help + words)))
        rows.append(("note", ("example", "", "", example_text(function))))
        rows.append(("note", ("gives", "", "", example_result(function))))
    return rows


def reference_page(page: Page) -> None:
    """Write the reference of all functions."""
    page.put(1, 1, "Functions", "title")
    for row, text in enumerate(_ABOUT, 2):
        page.put(row, 1, text, "purpose")
    for col, head in enumerate(REFERENCE_HEAD, 1):
        page.put(REFERENCE_ROW - 1, col, head, "header left")
    for row, (look, texts) in enumerate(reference_rows(), REFERENCE_ROW):
        for col, text in enumerate(texts, 1):
            page.put(row, col, text, look)
    page.widths(24, 10, 14, 110)
    page.ws.freeze_panes = f"A{REFERENCE_ROW}"
