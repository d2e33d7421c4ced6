"""How the cells look: one style a role, made once; and how wide a value is when it is shown."""
# ruff: noqa: SLF001  openpyxl has no public way for cells to share a style

from __future__ import annotations

import re
from copy import copy
from functools import lru_cache
from typing import Any

from openpyxl.cell import Cell
from openpyxl.styles import Alignment, Border, Font, PatternFill, Protection, Side

from baybook.workbook.semantics import cell_value, number_text

__all__ = ["MONEY", "PLAIN", "RUNNING", "Palette", "number_format", "shown", "sized", "text_width"]

MONEY = "#,##0.00"
FONT = "Calibri"
_LINE = Side(style="thin", color="BFBFBF")
_BOX = Border(left=_LINE, right=_LINE, top=_LINE, bottom=_LINE)
_PALE_YELLOW = PatternFill("solid", fgColor="FFF9E5")
_PALE_GREY = PatternFill("solid", fgColor="EEF1F4")
_PALE_AMBER = PatternFill("solid", fgColor="FDF0D5")
_TOP = Alignment(vertical="top")
_WRAPPED = Alignment(vertical="top", wrap_text=True)
_SET_IN = Alignment(
    vertical="top", horizontal="left", wrap_text=True, indent=1
)  # text beside a number keeps its distance
_RIGHT = Alignment(vertical="top", horizontal="right")
_OPEN = Protection(locked=False)

_HEADER: dict[str, Any] = {"font": Font(name=FONT, size=10, bold=True), "fill": _PALE_GREY}
_UNIT: dict[str, Any] = {
    "font": Font(name=FONT, size=9, italic=True, color="595959"),
    "fill": _PALE_GREY,
    "border": Border(bottom=_LINE),
}

LOOKS: dict[str, dict[str, Any]] = {
    "title": {"font": Font(name=FONT, size=14, bold=True)},
    "master": {"font": Font(name=FONT, size=10, italic=True)},
    "purpose": {"font": Font(name=FONT, size=10, italic=True, color="595959")},
    "long purpose": {"font": Font(name=FONT, size=10, italic=True, color="595959"), "alignment": _WRAPPED},
    "part": {"font": Font(name=FONT, size=12, bold=True)},
    "header left": _HEADER | {"alignment": Alignment(vertical="bottom", horizontal="left", wrap_text=True, indent=1)},
    "header right": _HEADER | {"alignment": Alignment(vertical="bottom", wrap_text=True, horizontal="right")},
    "unit left": _UNIT | {"alignment": Alignment(horizontal="left", indent=1)},
    "unit right": _UNIT | {"alignment": Alignment(horizontal="right")},
    "unit beside": {"font": _UNIT["font"], "alignment": Alignment(vertical="top", horizontal="left", indent=1)},
    "opening": {"font": Font(name=FONT, size=9, italic=True, color="808080")},
    "note": {"font": Font(name=FONT, size=9, italic=True, color="595959"), "alignment": _TOP},
    "long note": {"font": Font(name=FONT, size=9, italic=True, color="595959"), "alignment": _WRAPPED},
    "body": {"font": Font(name=FONT, size=11), "alignment": _TOP},
    "caution": {"font": Font(name=FONT, size=11, bold=True), "fill": _PALE_AMBER, "alignment": _TOP},
    "long body": {"font": Font(name=FONT, size=11), "alignment": _WRAPPED},
    "long caution": {"font": Font(name=FONT, size=11, bold=True), "fill": _PALE_AMBER, "alignment": _WRAPPED},
    "input": {
        "font": Font(name=FONT, size=11),
        "fill": _PALE_YELLOW,
        "border": _BOX,
        "protection": _OPEN,
        "alignment": _TOP,
    },
    "input text": {
        "font": Font(name=FONT, size=11),
        "fill": _PALE_YELLOW,
        "border": _BOX,
        "protection": _OPEN,
        "alignment": Alignment(vertical="top", horizontal="left", indent=1),
    },
    "work": {"font": Font(name=FONT, size=11, color="7F7F7F"), "alignment": _TOP},
    "result": {"font": Font(name=FONT, size=11, bold=True), "alignment": _TOP},
    "money": {"font": Font(name=FONT, size=11), "alignment": _RIGHT},
    "check": {"font": Font(name=FONT, size=11), "alignment": _TOP},
    "check text": {"font": Font(name=FONT, size=11), "alignment": _SET_IN},
    "label": {"font": Font(name=FONT, size=11), "alignment": _RIGHT},
    "label text": {"font": Font(name=FONT, size=11), "alignment": _SET_IN},
}


PLAIN = 11
RUNNING = 1.08  # characters of running text in a unit of width, which is a digit's: looked at in Carlito, no source


def sized(look: str, points: int) -> str:
    """Return the name of a look in type of another size."""
    return look if points == PLAIN else f"{look} @{points}"


def _look(name: str) -> dict[str, Any]:
    look, _, points = name.partition(" @")
    if not points:
        return LOOKS[look]
    font = copy(LOOKS[look]["font"])
    font.sz += int(points) - PLAIN
    return LOOKS[look] | {"font": font}


class Palette:
    """Hands out the styles of one workbook; cells share them."""

    def __init__(self, worksheet: Any) -> None:
        self._worksheet = worksheet
        self._made: dict[tuple[str, str, bool], Any] = {}

    def style(self, look: str, fmt: str = "", *, quoted: bool = False) -> Any:
        """Return the style of a look with a number format; `quoted`: a text that must not be read as a formula."""
        key = (look, fmt, quoted)
        if key not in self._made:
            cell = Cell(self._worksheet, row=1, column=1)
            for attribute, value in _look(look).items():
                setattr(cell, attribute, value)
            if fmt:
                cell.number_format = fmt
            if quoted:
                cell.quotePrefix = True
            self._made[key] = cell._style
        return self._made[key]

    def number(self, look: str, fmt: str = "", *, quoted: bool = False) -> int:
        """Return the number under which the file will list a style."""
        cell = Cell(self._worksheet, row=1, column=1)
        cell._style = self.style(look, fmt, quoted=quoted)
        return int(cell.style_id)


def number_format(role: str, fmt: str, value: Any) -> str:
    """Return the number format of a cell: its own, or what its role or a date asks for."""
    if fmt or role != "money":
        return fmt or ("yyyy-mm-dd" if hasattr(value, "year") else "")
    return MONEY


def shown(value: Any, fmt: str) -> str:
    """Return about what a cell shows: near enough for its width."""
    if value is None or isinstance(value, str):
        return max((value or "").splitlines(), key=len, default="")
    if isinstance(value, bool):
        return str(value).upper()
    number = float(cell_value(value))
    kind, spec, extra = _parsed(fmt)
    if kind == "general":
        plain = number_text(number)
        return plain if len(plain) <= 11 else f"{number:.6g}"
    if kind == "date":
        return fmt
    return f"{number * 100 if kind == 'percent' else number:{spec}}" + "%" * (kind == "percent") + extra


@lru_cache(maxsize=256)
def _parsed(fmt: str) -> tuple[str, str, str]:
    """Return what kind of number format it is, its figures as Python writes them, and room for words in it."""
    bare = re.sub(r'"[^"]*"|\\.|\[[^\]]*\]', "", fmt.split(";", maxsplit=1)[0])
    if not fmt or "General" in bare:
        return "general", "", ""
    if re.search(r"[ymdhs/]", bare, re.IGNORECASE):
        return "date", "", ""
    decimals = len(re.search(r"\.([0#?]*)", bare + ".")[1])  # type: ignore[index]  # the point is always there
    grouped = "," if re.search(r"[0#],[0#]", bare) else ""
    room = " " * sum(len(words) - 2 for words in re.findall(r'"[^"]*"', fmt))
    return "percent" if "%" in bare else "number", f"{grouped}.{decimals}f", room


def text_width(text: str, *, bold: bool = False) -> float:
    """Return the column width, in characters, that a text needs."""
    return len(text) * (1.12 if bold else 1.02) + 2.4
