"""One sheet of a compiled workbook: its XML in pieces, of which those with values are put in anew for each job."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Any
from xml.sax.saxutils import escape

from baybook.workbook.coded import NUMBERS, TEXTS, kind_of
from baybook.workbook.declare import Block, Column, Layout, Place, Scalar, Table, Text, column_letter
from baybook.workbook.looks import PLAIN, RUNNING, number_format, shown, sized, text_width
from baybook.workbook.package import number_xml, text_xml
from baybook.workbook.semantics import ErrorValue
from baybook.workbook.xlsx import NARROWEST, RISKY_STARTS, WIDEST_TEXT, Style, line_height
from baybook.workbook.zipped import Entry, entry, piece

__all__ = ["Page", "styles_of"]

_ROW = re.compile(r"<row r=\"(\d+)\"([^>]*)>(.*?)</row>", re.DOTALL)
_CELL = re.compile(r"<c r=\"([A-Z]+)\d+\"[^>]*?(?:/>|>.*?</c>)", re.DOTALL)
_FORMULA = re.compile(r"<f[ >].*?</f>", re.DOTALL)
_STYLE = re.compile(r' s="\d+"')
_HEIGHT = re.compile(r'ht="([\d.]+)"')
_COL = re.compile(r'<col width="([\d.]+)" customWidth="1" min="(\d+)" max="(\d+)" ?/>')
_SIDED = ("header", "unit")
_LONGEST_GENERAL = 12  # characters of a number shown without a format
_MOST_NUMBERS = 100_000
_FIRST_BODY_ROW = 5  # above it: title, state of the checks, purpose
Styles = Mapping[Style, int]


def styles_of(placed: Layout) -> Iterator[Style]:
    """Yield every look, number format and quoting that a cell of a layout may have."""
    points = {sheet.title: sheet.points for sheet in placed.sheets}
    for name in _SIDED:
        yield f"{name} left", "", False
        yield f"{name} right", "", False
    for place in placed.places:
        if not isinstance(place.part, Text):
            for one in _declared(place):
                fmt = number_format(one.role, one.fmt, None)
                for look in _looks(one.role, points[place.sheet]):
                    yield from ((look, fmt, False), (look, fmt, True))


def _looks(role: str, points: int) -> tuple[str, str]:
    """Return the looks of a number and of a text."""
    return sized(role, points), sized(f"{role} text" if role in {"input", "label", "check"} else role, points)


def _declared(place: Place) -> tuple[Column, ...] | tuple[Scalar, ...]:
    if isinstance(place.part, Block):
        return place.part.scalars
    return place.part.columns if isinstance(place.part, Table) else ()


class _Numbers(dict[float, str]):
    """Numbers as the file holds them, each written once."""

    def __missing__(self, value: float) -> str:
        if len(self) > _MOST_NUMBERS:
            self.clear()
        self[value] = text = number_xml(value)
        return text


_NUMBERS = _Numbers()


@lru_cache(maxsize=20_000)
def _text(value: str) -> str:
    return text_xml(value)


@lru_cache(maxsize=20_000)
def _lines(words: str, width: int) -> int:
    return sum(len(textwrap.wrap(line, width)) or 1 for line in words.splitlines())


@dataclass(slots=True)
class _Slot:
    """The cells of a column, of a scalar or of a line of text, and where they stand among the pieces."""

    at: slice
    col: int
    row: int
    count: int
    formulas: tuple[str, ...]  # as XML; empty where values stand
    look: tuple[int, int, int]  # numbers of the styles of a number, of a text, of a text that is quoted
    fmt: str = ""
    wide: bool = True  # its values widen the column
    wrapped: bool = False  # its texts make rows higher
    working: bool = False  # on a sheet of workings, where a column may be wider than it must
    heads: list[tuple[str, str]] | None = None  # what stands before a number and before a text
    side: str = ""
    sided: tuple[int, ...] = ()  # pieces of its head and unit, which stand left of texts and right of numbers
    seen: list[Any] = field(default_factory=lambda: [object()])  # what stands in the pieces now
    kind: str = ""
    width: float = 0.0
    long: list[tuple[int, str]] = field(default_factory=list)

    def head(self, row: int, style: int) -> str:
        return f'<c r="{column_letter(self.col)}{self.row + row}" s="{style}"'

    def texts(self, values: Sequence[Any], kind: str) -> list[str]:
        """Return the cells as XML."""
        if self.heads is None:
            formulas = self.formulas or ("",) * self.count
            number, text, _ = self.look
            self.heads = [
                (f"{self.head(row, number)}>{one}<v>", f'{self.head(row, text)} t="str">{one}<v>')
                for row, one in enumerate(formulas)
            ]
        written = _NUMBERS
        if kind == NUMBERS:
            return [f"{head}{written[value]}</v></c>" for (head, _), value in zip(self.heads, values, strict=True)]
        if self.formulas:
            return [
                f"{heads[0]}{written[value]}</v></c>"
                if type(value) is float
                else f"{heads[1]}{_text(value)}</v></c>"
                if type(value) is str
                else self.odd(row, value)
                for row, (heads, value) in enumerate(zip(self.heads, values, strict=True))
            ]
        return [self.given(row, value) for row, value in enumerate(values)]

    def odd(self, row: int, value: Any) -> str:
        """Return a formula that gives an error or a truth value."""
        kind, written = ("e", escape(value)) if isinstance(value, ErrorValue) else ("b", int(value))
        return f'{self.head(row, self.look[0])} t="{kind}">{self.formulas[row]}<v>{written}</v></c>'

    def given(self, row: int, value: Any) -> str:
        """Return a value that stands by itself."""
        if value is None:
            return self.head(row, self.look[0]) + "/>"
        if isinstance(value, bool):
            return f'{self.head(row, self.look[0])} t="b"><v>{int(value)}</v></c>'
        if not isinstance(value, str):
            return f"{self.head(row, self.look[0])}><v>{_NUMBERS[value]}</v></c>"
        if not value:
            return self.head(row, self.look[1]) + "/>"
        head = self.head(row, self.look[2 if value.startswith(RISKY_STARTS) else 1])
        return f'{head} t="inlineStr"><is><t xml:space="preserve">{_text(value)}</t></is></c>'

    def measure(self, values: Sequence[Any], kind: str) -> None:
        """Note how wide the values are, and which of them may need several lines."""
        if self.wide:
            self.width = max(_widths(values, kind, self.fmt, self.working), default=0.0)
        if self.wrapped and kind != NUMBERS:
            self.long = [(row, value) for row, value in enumerate(values) if isinstance(value, str) and value]
        else:
            self.long = []


def _widths(values: Sequence[Any], kind: str, fmt: str, working: bool) -> Iterator[float]:
    """Yield column widths that together are enough for all values."""
    if kind == NUMBERS:
        if fmt and "General" not in fmt:
            yield from (text_width(shown(value, fmt)) for value in (min(values), max(values)))
        else:
            longest = _LONGEST_GENERAL if working else max(map(len, map(_NUMBERS.__getitem__, set(values))))
            yield text_width("0" * min(_LONGEST_GENERAL, longest))
    elif kind == TEXTS:
        longest = max(values, key=len)
        yield min(WIDEST_TEXT, text_width(longest if "\n" not in longest else shown(longest, "")))
    else:
        for value in values:
            if value is not None:
                width = text_width(shown(value, fmt))
                yield min(width, WIDEST_TEXT) if isinstance(value, str) else width


class Page:
    """A sheet written once by openpyxl, taken apart.

    Parameters
    ----------
    name : str
        The part of the zip.
    xml : str
        The sheet.
    title : str
        Its tab.
    placed : Layout
        Where everything stands.
    styles : mapping
        The number of each style in the file.
    heading : str
        What stands in place of the job's name at the head of the printed page.
    """

    def __init__(self, name: str, xml: str, title: str, placed: Layout, styles: Styles, heading: str) -> None:
        self.name, self.title = name, title
        (sheet,) = (sheet for sheet in placed.sheets if sheet.title == title)
        self.working, self.points, self.fixed_rows = sheet.working, sheet.points, bool(sheet.row_heights)
        start, end = xml.index("<sheetData>"), xml.index("</sheetData>")
        self.before, self.after = self._columns(xml[:start]), xml[end:].split(heading)
        self.pieces: list[str] = []
        self.rows: dict[int, tuple[int, str, float]] = {}  # row to its piece, tag and height
        self.body = 0  # the first piece of the body
        self.groups = -1  # number of the last shared formula
        where = self._take_apart(xml[start + len("<sheetData>") : end])
        self.slots = dict(self._slots(placed, styles, where))
        self.styles = styles
        self.raised: dict[int, float] = {}
        self.text, self.packed = "", piece(b"")  # the body as it was packed last

    def _columns(self, before: str) -> tuple[str, str]:
        """Take the column widths out of what stands before the rows."""
        found = list(_COL.finditer(before))
        self.widths = {int(one[2]): float(one[1]) for one in found}
        if not found or any(one[2] != one[3] for one in found):
            self.widths = {}
            return before, ""
        return before[: found[0].start()], before[found[-1].end() :]

    def _take_apart(self, rows: str) -> dict[tuple[int, int], int]:
        where = {}
        closing = ""
        for row in _ROW.finditer(rows):
            number = int(row[1])
            if number >= _FIRST_BODY_ROW and not self.body:
                self.pieces.append(closing)
                closing, self.body = "", len(self.pieces)
            height = _HEIGHT.search(row[2])
            self.rows[number] = (len(self.pieces), closing, float(height[1]) if height else 0.0)
            self.pieces.append(f'{closing}<row r="{number}"{row[2]}>')
            for cell in _CELL.finditer(row[3]):
                where[number, _col(cell[1])] = len(self.pieces)
                self.pieces.append(cell[0])
            closing = "</row>"
        self.pieces.append(closing)
        self.body = self.body or len(self.pieces)
        return where

    # --------------------------------------------------------------------------------------------------------- slots

    def _slots(
        self, placed: Layout, styles: Styles, where: Mapping[tuple[int, int], int]
    ) -> Iterator[tuple[str | tuple[str, int, int], _Slot]]:
        """Yield the key of a column or scalar, or the address of a line that is a formula, with its slot."""
        for place in placed.places:
            if place.sheet == self.title and isinstance(place.part, Text):
                for row, line in enumerate(place.part.lines, start=place.first):
                    if line.startswith("="):
                        yield (self.title, row, 1), self._line(where[row, 1], row, place.part.style != "title")
            elif place.sheet == self.title and self.title != "Lists":
                for one in _declared(place):
                    yield one.key, self._slot(one, place, placed, styles, where)
        if (self.title, 2, 1) in set(placed.masters()):
            yield (self.title, 2, 1), self._line(where[2, 1], 2, wrapped=False)

    def _line(self, at: int, row: int, wrapped: bool) -> _Slot:
        formula = _FORMULA.search(self.pieces[at])
        style = int(self.pieces[at].split(' s="', 1)[1].split('"', 1)[0])
        number, tag, _ = self.rows[row]
        self.rows[row] = (number, tag, 0.0)
        self.pieces[number] = f'{tag}<row r="{row}">'
        formulas = (formula[0],) if formula else ()
        return _Slot(slice(at, at + 1), 1, row, 1, formulas, (style,) * 3, wide=False, wrapped=wrapped)

    def _slot(
        self, one: Column | Scalar, place: Place, placed: Layout, styles: Styles, where: Mapping[tuple[int, int], int]
    ) -> _Slot:
        _, first, col = placed.address(one.key)
        count = placed.count(one.key)
        places = [where[first + row, col] for row in range(count)]
        step = places[1] - places[0] if count > 1 else 1
        if places != list(range(places[0], places[0] + step * count, step)):
            raise ValueError(f"{one.key}: its rows are not alike.")
        formulas: list[str] = []
        if one.formula is not None:
            formulas = [found[0] for at in places if (found := _FORMULA.search(self.pieces[at]))]
            if isinstance(one.formula, str) and count > 1:
                formulas = self._shared(
                    formulas, f"{column_letter(col)}{first}:{column_letter(col)}{first + count - 1}"
                )
        fmt, (number, text) = number_format(one.role, one.fmt, None), _looks(one.role, self.points)
        return _Slot(
            slice(places[0], places[-1] + 1, step),
            col,
            first,
            count,
            tuple(formulas),
            (styles[number, fmt, False], styles[text, fmt, False], styles[text, fmt, True]),
            fmt,
            wide=not getattr(one, "width", 0),
            wrapped=one.role == "label",
            working=self.working,
            sided=tuple(where[place.top + n, col] for n in (1, 2)) if isinstance(one, Column) else (),
        )

    def _shared(self, formulas: Sequence[str], where: str) -> list[str]:
        """Write a formula that goes down a column once: the other rows refer to it."""
        self.groups += 1
        first = formulas[0].replace("<f>", f'<f t="shared" ref="{where}" si="{self.groups}">')
        return [first, *[f'<f t="shared" si="{self.groups}"/>'] * (len(formulas) - 1)]

    # --------------------------------------------------------------------------------------------------------- values

    def put(self, key: str | tuple[str, int, int], values: list[Any]) -> None:
        """Put values into the cells of a column, a scalar or a line; numbers are floats, a blank is None."""
        slot = self.slots[key]
        if slot.seen is values:
            return
        kind = kind_of(values)
        if slot.seen == values and slot.kind == kind:
            return
        self.pieces[slot.at] = slot.texts(values, kind)
        slot.measure(values, kind)
        slot.seen, slot.kind = values, kind
        if slot.sided:
            self._turn(slot, values)

    def _turn(self, slot: _Slot, values: Sequence[Any]) -> None:
        """Set head and unit of a column left or right, as its first value asks."""
        sample = values[0] if slot.formulas else next((one for one in values if one not in {None, ""}), None)
        side = "left" if sample is None or isinstance(sample, str | bool) else "right"
        if side == slot.side:
            return
        slot.side = side
        for name, at in zip(_SIDED, slot.sided, strict=True):
            style = f' s="{self.styles[f"{name} {side}", "", False]}"'
            self.pieces[at] = _STYLE.sub(style, self.pieces[at], count=1)

    def entry(self, heading: str) -> Entry:
        """Return the sheet as a part of the zip, with a job's name at the head of the page."""
        widths = dict(self.widths)
        if widths:
            for slot in self.slots.values():
                if slot.width:
                    widths[slot.col] = max(widths.get(slot.col, NARROWEST), min(255.0, round(slot.width, 1)))
        self._raise(widths)
        text = "".join(self.pieces[self.body :])
        if text != self.text:
            self.text, self.packed = text, piece(text.encode())
        cols = "".join(
            f'<col width="{width:.16g}" customWidth="1" min="{col}" max="{col}" />' for col, width in widths.items()
        )
        head = f"{cols.join(self.before)}<sheetData>{''.join(self.pieces[: self.body])}"
        tail = escape(heading).join(self.after)
        return entry(self.name, (piece(head.encode()), self.packed, piece(tail.encode(), last=True)))

    def _raise(self, widths: Mapping[int, float]) -> None:
        """Give rows of long texts their height."""
        total, size = sum(widths.values()), RUNNING * PLAIN / self.points
        heights: dict[int, float] = {}
        for slot in self.slots.values() if not self.fixed_rows else ():
            for row, words in slot.long:
                width = total if slot.count == 1 and not slot.sided and not slot.wide else widths.get(slot.col, total)
                width *= size if slot.sided else 1.0
                if len(words) > width - 2 or "\n" in words:
                    height = _lines(words, max(4, int(width - 1))) * line_height(self.points)
                    number = slot.row + row
                    if height > max(line_height(self.points), self.rows[number][2], heights.get(number, 0.0)):
                        heights[number] = height
        if heights == self.raised:
            return
        for row in self.raised.keys() | heights.keys():
            at, closing, own = self.rows[row]
            height = heights.get(row, own)
            tall = f' ht="{height:g}" customHeight="1"' if height else ""
            self.pieces[at] = f'{closing}<row r="{row}"{tall}>'
        self.raised = heights


def _col(letters: str) -> int:
    number = 0
    for letter in letters:
        number = number * 26 + ord(letter) - 64
    return number
