"""Sheets about the functions: a writer of cells with their values, and the reference made from the registry."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from baybook.addin.declare import Function
from baybook.addin.registry import FUNCTIONS, answer

__all__ = ["REFERENCE_HEAD", "Page", "example_result", "example_text", "literal", "reference_page", "reference_rows"]

REFERENCE_HEAD = ("function", "what it is for", "argument", "unit", "left out", "what it is", "example", "gives")
_WIDTHS = (26.0, 44.0, 18.0, 9.0, 14.0, 58.0, 58.0, 50.0)
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

    def array(self, row: int, col: int, text: str, rows: Sequence[Sequence[Any]], look: str = "body") -> None:
        """Write an array formula over a range with all its values."""
        from openpyxl.utils import get_column_letter
        from openpyxl.worksheet.formula import ArrayFormula

        for down, line in enumerate(rows):
            for across, value in enumerate(line):
                self.put(row + down, col + across, value, look)
        last = f"{get_column_letter(col + len(rows[0]) - 1)}{row + len(rows) - 1}"
        cell = self.ws.cell(row, col, ArrayFormula(f"{get_column_letter(col)}{row}:{last}", text))
        cell.data_type = "f"
        self.values[self.ws.title, row, col] = rows[0][0]

    def widths(self, *widths: float) -> None:
        """Set the widths of the first columns, in characters."""
        from openpyxl.utils import get_column_letter

        for col, width in enumerate(widths, 1):
            self.ws.column_dimensions[get_column_letter(col)].width = width


def literal(value: Any) -> str:
    """Return a value as a formula holds it; rows as an array constant."""
    if value is None:
        return ""
    if isinstance(value, str):
        return '"' + value.replace('"', '""') + '"'
    if isinstance(value, list):
        return "{" + ";".join(",".join(map(literal, row)) for row in value) + "}"
    return f"{Decimal(repr(value)):f}"


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


def reference_rows() -> list[tuple[str, ...]]:
    """Return the reference: a row an argument, the function's own words in its first."""
    rows: list[tuple[str, ...]] = []
    for function in FUNCTIONS.values():
        rule = f" ({function.rule})" if function.rule else ""
        unit = f" [{function.gives.unit}{f'; metric: {function.gives.metric}' if function.takes_units else ''}]"
        about = f"{function.help}{rule} Gives {function.gives.text}{unit if function.gives.unit else ''}."
        for at, one in enumerate(function.args):
            first = (function.name, about) if at == 0 else ("", "")
            example = (example_text(function), example_result(function)) if at == 0 else ("", "")
            words = f": {', '.join(one.field.choices)}" if one.field.choices else ""
            rows.append((*first, one.name, one.unit, one.default, one.field.help + words, *example))
    return rows


def reference_page(page: Page) -> None:
    """Write the reference of all functions."""
    page.put(1, 1, "Functions", "title")
    page.put(
        2,
        1,
        "Made from the functions themselves. An argument with a unit takes a number in it, or text with a unit.",
        "purpose",
    )
    page.put(
        3,
        1,
        "What counts where an argument is left out stands beside it. In Calc an empty cell is 0, not left out.",
        "purpose",
    )
    for col, head in enumerate(REFERENCE_HEAD, 1):
        page.put(5, col, head, "header left")
    for row, texts in enumerate(reference_rows(), 6):
        for col, text in enumerate(texts, 1):
            page.put(row, col, text, "label")
    page.widths(*_WIDTHS)
    page.ws.freeze_panes = "B6"
