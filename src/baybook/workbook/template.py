"""Workbooks of one shape through a template that openpyxl made once: only values, and what follows from them, change.

The cells of a workbook made so are those of the same workbook written by openpyxl: the same addresses, formulas, values
and styles, by the one walk over the declared cells. Columns are at least as wide, rows at least as high as needed.
"""

from __future__ import annotations

import datetime as dt
import io
import re
import zipfile
from collections.abc import Iterator, Mapping
from typing import Any
from xml.sax.saxutils import escape

from baybook import __version__
from baybook.estimate import Estimate
from baybook.workbook.build import spec_of, title_of, written
from baybook.workbook.columnwise import Columnwise, Irregular
from baybook.workbook.declare import Block, BookSpec, Column, Layout, Scalar, Sheet, Table, Text, layout
from baybook.workbook.evaluate import evaluate
from baybook.workbook.layouts import declared_keys, with_values
from baybook.workbook.page import Page, styles_of
from baybook.workbook.prove import prove
from baybook.workbook.roomy import roomy
from baybook.workbook.semantics import cell_value
from baybook.workbook.shape import Shape, shape_of
from baybook.workbook.sheets.pictures import WOOD, letters, limits, plot_shares, wood_width
from baybook.workbook.sheets.planpages import plan_pages
from baybook.workbook.xlsx import page_heading, write_xlsx
from baybook.workbook.zipped import Entry, packed, zip_of

__all__ = ["Templates", "wanted"]

MOST = 12  # templates kept: each takes some 30 MB
_TITLE = "THEJOBANDITSCUSTOMER"
_SAMPLE = 100.0  # stands in every formula cell of the specimen, so that no column is too narrow for a usual number
_LONG = "a line as long as the sheet is wide " * 8
_LIMIT = re.compile(r'<(max|min|majorUnit) val="[^"]*" ?/>')
_SHARE = re.compile(r'<([xywh]) val="[^"]*" ?/>')
_SIZE = re.compile(r'<ext cx="\d+" cy="\d+" ?/>')
_NUMBER = re.compile(r'<a:bodyPr rot="-?\d+" vert="horz" />(.*?</txPr>)', re.DOTALL)  # of a bay
_LETTERS = re.compile(r'sz="\d+"')
_MEMBER = re.compile(rf'<a:ln w="\d+">(?=<a:solidFill><a:srgbClr val="{WOOD}" ?/>)')
_EMU_PER_CM = 360_000
_PLAN_CHART, _CORE = "<scatterChart>", "docProps/core.xml"


def wanted(estimate: Estimate) -> Shape:
    """Return the shape that a job's workbook is given here."""
    return roomy(shape_of(estimate))


class Templates:
    """Makes workbooks through templates, which it keeps: one for each shape, currency and set of units.

    Parameters
    ----------
    most : int
        Templates kept at a time; the one that was not used for longest is let go.
    """

    def __init__(self, most: int = MOST) -> None:
        self._most = most
        self._kept: dict[tuple[Any, ...], Template] = {}

    def workbook(self, estimate: Estimate, when: dt.datetime) -> bytes:
        """Return a job's workbook; its formulas are held against the engine.

        Parameters
        ----------
        estimate : Estimate
            The job.
        when : datetime
            The moment of the run, for the log and the file's properties.

        Returns
        -------
        bytes
            The file: the same for the same job and moment, whatever was made before.

        Raises
        ------
        BookError
            If a table would be larger than a workbook holds.
        Disagreement
            If formulas and engine differ.
        """
        shape = wanted(estimate)
        spec = spec_of(estimate, when, shape)
        panes = plan_pages(estimate, shape).panes
        try:
            if len(panes) == 1:  # else the pictures of its plan are its own
                template = self._template(spec, estimate, shape)
                if template.fits(spec):
                    return template.filled(spec, estimate, when)
        except Irregular:
            pass
        placed = layout(spec)
        values = evaluate(spec, placed)
        prove(estimate, placed, values, shape)
        return written(spec, placed, values, estimate, when)

    def _template(self, spec: BookSpec, estimate: Estimate, shape: Shape) -> Template:
        key = (shape, estimate.inputs.job.currency, estimate.inputs.rates.units)
        made = self._kept.pop(key, None) or Template(spec, shape, estimate.inputs.rates.units)
        self._kept[key] = made
        while len(self._kept) > self._most:
            del self._kept[next(iter(self._kept))]
        return made


class Template:
    """A workbook of one shape, written once without values and taken apart."""

    def __init__(self, spec: BookSpec, shape: Shape, units: str) -> None:
        blank = {one.key: (None,) if isinstance(one, Scalar) else () for one in _given(spec)}
        self.spec, self.shape = with_values(spec, blank), shape
        self.placed = layout(self.spec)
        self.formulas = Columnwise(self.placed)
        styles = dict.fromkeys(styles_of(self.placed), 0)
        parts = _specimen(self.spec, self.placed, styles, "A4" if units == "metric" else "Letter")
        titles = {f"xl/worksheets/sheet{n}.xml": sheet.title for n, sheet in enumerate(self.placed.sheets, start=1)}
        self.pages = {
            title: Page(name, parts[name], title, self.placed, styles, _TITLE) for name, title in titles.items()
        }
        self.core = parts[_CORE]
        chart = next(name for name, xml in parts.items() if _PLAN_CHART in xml)
        links = next(name for name, xml in parts.items() if "/drawings/_rels/" in name and f"/{chart}" in xml)
        drawing = links.replace("/_rels/", "/").removesuffix(".rels")
        self.plan = {name: parts[name] for name in (chart, drawing)}
        moving = {*titles, *self.plan, _CORE}
        self.fixed = [packed(name, xml.encode(), level=9) for name, xml in parts.items() if name not in moving]
        self.lists = {
            one.key: [cell_value(value) for value in one.values or ()]
            for one in _given(BookSpec(sheets=self.placed.sheets[-1:], lists={}))
        }
        self._values: dict[str, tuple[tuple[Any, ...], list[Any], list[Any]]] = {}
        self._page_of = {key: page for page in self.pages.values() for key in page.slots}

    def fits(self, spec: BookSpec) -> bool:
        """Return whether a workbook differs from the template in values alone."""
        mine, other = self.spec.sheets, spec.sheets
        return len(mine) == len(other) and all(map(_same_made, mine, other)) and self.spec.lists == spec.lists

    def filled(self, spec: BookSpec, estimate: Estimate, when: dt.datetime) -> bytes:
        """Return the file with the values of a job; errors as for `Templates.workbook`, and `Irregular`."""
        given = {}
        for one in _given(spec):
            held, shown = self._held(one)
            given[one.key] = held
            self._page_of[one.key].put(one.key, shown)
        columns, lines = self.formulas.work_out(given | self.lists)
        prove(estimate, _Keys(), _Columns(columns), self.shape)
        for key, column in columns.items():
            if key not in given and key not in self.lists:
                self._page_of[key].put(key, column)
        for at, value in lines.items():
            self.pages[at[0]].put(at, [value])
        return zip_of(self._entries(estimate, when))

    def _held(self, one: Column | Scalar) -> tuple[list[Any], list[Any]]:
        """Return values as formulas read them, and as cells hold them: a text without letters is another blank."""
        values = (one.value,) if isinstance(one, Scalar) else one.values or ()
        before = self._values.get(one.key)
        if before is None or before[0] != values or list(map(type, before[0])) != list(map(type, values)):
            blanks = [None] * (self.placed.count(one.key) - len(values))
            held = [*map(cell_value, values), *blanks]
            shown = ["" if value == "" else of for value, of in zip(values, held, strict=False)]
            self._values[one.key] = before = values, held, shown + blanks
        return before[1:]

    def _entries(self, estimate: Estimate, when: dt.datetime) -> Iterator[Entry]:
        title = title_of(estimate)
        heading = page_heading(title)
        yield from self.fixed
        core = self.core.replace(_TITLE, escape(title))
        yield packed(_CORE, core.replace(_stamp(_NO_TIME), _stamp(when)).encode())
        (pane,) = plan_pages(estimate, self.shape).panes
        ends = iter(limits(pane))
        chart, drawing = self.plan
        plan = _LIMIT.sub(lambda found: f'<{found[1]} val="{next(ends)}" />', self.plan[chart])
        shares = iter(plot_shares(pane))
        plan = _SHARE.sub(lambda found: f'<{found[1]} val="{next(shares)}" />', plan)
        size, turn = letters(pane)
        number = f'<a:bodyPr rot="{turn}" vert="horz" />'
        plan = _NUMBER.sub(lambda found: number + _LETTERS.sub(f'sz="{size}"', found[1]), plan)
        plan = _MEMBER.sub(f'<a:ln w="{wood_width(pane)}">', plan)
        yield packed(chart, plan.encode())
        across, down = (int(size * _EMU_PER_CM) for size in pane.size_cm)
        extent = f'<ext cx="{across}" cy="{down}" />'
        yield packed(drawing, _SIZE.sub(extent, self.plan[drawing]).encode())
        for page in self.pages.values():
            yield page.entry(heading)


_NO_TIME = dt.datetime(2000, 1, 1)  # noqa: DTZ001  the file holds no zone


def _stamp(when: dt.datetime) -> str:
    return when.strftime("%Y-%m-%dT%H:%M:%SZ")


def _specimen(spec: BookSpec, placed: Layout, styles: dict[Any, int], paper: str) -> dict[str, str]:
    """Return the parts of a workbook without values, written by openpyxl."""
    values = {
        (cell.sheet, cell.row, cell.col): _LONG if isinstance(cell.declaration, Text) else _SAMPLE
        for cell in placed.formulas()
    }
    stream = io.BytesIO()
    properties = {"title": _TITLE, "creator": f"baybook {__version__}"}
    write_xlsx(spec, placed, values, stream, properties=properties, modified=_NO_TIME, paper=paper, styles=styles)
    with zipfile.ZipFile(stream) as package:
        return {name: package.read(name).decode() for name in package.namelist()}


def _given(spec: BookSpec) -> Iterator[Any]:
    return (one for one in declared_keys(spec) if one.formula is None)


def _same_made(mine: Sheet, other: Sheet) -> bool:
    """Return whether two sheets are alike but for their values."""
    if (mine.title, mine.purpose, len(mine.parts)) != (other.title, other.purpose, len(other.parts)):
        return False
    for one, two in zip(mine.parts, other.parts, strict=True):
        if isinstance(one, Text) or isinstance(two, Text):
            if one != two:
                return False
        elif (one.title, one.note) != (two.title, two.note) or list(map(_look, _rows(one))) != list(
            map(_look, _rows(two))
        ):
            return False
    return True


def _rows(part: Block | Table) -> tuple[Any, ...]:
    return part.scalars if isinstance(part, Block) else part.columns


def _look(one: Any) -> tuple[Any, ...]:
    return one.key, getattr(one, "header", "") or one.label, one.unit, one.role, one.formula, one.fmt, one.choices


class _Keys:
    """Places of values by key, for the proof."""

    def address(self, key: str, row: int = 0) -> tuple[str, int, int]:
        """Return the key itself."""
        return key, row, 0


class _Columns(Mapping[tuple[str, int, int], Any]):
    """The values of columns by key and row."""

    def __init__(self, columns: Mapping[str, list[Any]]) -> None:
        self._columns = columns

    def __getitem__(self, at: tuple[str, int, int]) -> Any:
        try:
            return self._columns[at[0]][at[1]]
        except IndexError:
            raise KeyError(at) from None

    def __iter__(self) -> Iterator[tuple[str, int, int]]:
        return ((key, row, 0) for key, column in self._columns.items() for row in range(len(column)))

    def __len__(self) -> int:
        return sum(map(len, self._columns.values()))
