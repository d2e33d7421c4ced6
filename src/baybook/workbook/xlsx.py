"""A declared workbook as an xlsx file: cells, styles by role, validation, printing, protection."""
# ruff: noqa: SLF001  openpyxl has no public way for cells to share a style

from __future__ import annotations

import datetime as dt
import textwrap
from typing import TYPE_CHECKING, Any, BinaryIO

from baybook.workbook.declare import Block, Place, Sheet, Table, Text, column_letter

if TYPE_CHECKING:
    from collections.abc import Mapping

    from baybook.workbook.declare import BookSpec, Cell, Column, Layout, Scalar

__all__ = ["line_height", "page_heading", "write_xlsx"]

TEXT_WIDTH = 100.0
WIDEST_TEXT = 44.0
WIDEST_NOTE = 70.0
NARROWEST = 7.0
LINE_HEIGHT = 15.0
PLAIN_POINTS = 11
PROPERTIES = ("title", "subject", "creator", "keywords", "description", "category", "version", "lastModifiedBy")
PAPERS = {"Letter": 1, "A4": 9}  # ECMA-376, ST_PaperSize numbers of pageSetup
RISKY_STARTS = ("=", "+", "-", "@", "\t", "\r", "'")
Style = tuple[str, str, bool]


def write_xlsx(
    spec: BookSpec,
    layout: Layout,
    values: Mapping[tuple[str, int, int], Any],
    stream: BinaryIO,
    *,
    properties: dict[str, str],
    modified: dt.datetime,
    paper: str = "Letter",
    styles: dict[Style, int] | None = None,
) -> list[str]:
    """Write a declared workbook.

    The same arguments give the same bytes. Cells that hold words from outside hold them as text, whatever they begin
    with.

    Parameters
    ----------
    spec : BookSpec
        The declared workbook.
    layout : Layout
        Its layout.
    values : mapping
        (sheet, row, column) of each formula cell to its value, as `evaluate` gives them.
    stream : binary file
        Where to write.
    properties : dict of str
        Document properties: title, subject, creator, keywords, description, category, version, lastModifiedBy. The
        title also stands at the head of every printed page.
    modified : datetime
        Date of creation and change to put in the file.
    paper : str
        ``Letter`` or ``A4``.
    styles : dict, optional
        Looks, number formats and whether quoted, that the file lists first, used or not; their numbers are put in.

    Returns
    -------
    list of str
        One sentence for each text that held characters no workbook can hold; they were left out.

    Raises
    ------
    ValueError
        If a formula has no value, or a property is unknown.
    """
    from openpyxl import Workbook
    from openpyxl.workbook.defined_name import DefinedName
    from openpyxl.workbook.properties import CalcProperties

    from baybook.workbook.looks import Palette
    from baybook.workbook.package import save

    del spec  # the layout was made from it and holds all that is needed
    workbook = Workbook()
    workbook.remove(workbook.active)
    workbook.calculation = CalcProperties(fullCalcOnLoad=False)
    _set_properties(workbook.properties, properties, modified)
    pages = {sheet.title: _Page(workbook.create_sheet(sheet.title), sheet, layout) for sheet in layout.sheets}
    palette = Palette(workbook.worksheets[0])
    for look, fmt, quoted in styles or {}:
        styles[look, fmt, quoted] = palette.number(look, fmt, quoted=quoted)  # type: ignore[index]  # not if it is None
    for page in pages.values():
        page.write_headings(values, palette)
    for cell in layout.cells():
        pages[cell.sheet].write_cell(cell, values, palette)
    for page in pages.values():
        page.finish(palette, properties.get("title", ""), PAPERS[paper])
    for name, reference in layout.names.items():
        workbook.defined_names[name] = DefinedName(name, attr_text=reference)
    for sheet in layout.sheets:
        for chart in sheet.charts:
            chart(pages[sheet.title].ws, layout)
    save(workbook, values, stream)
    return [sentence for page in pages.values() for sentence in page.cleaned]


def line_height(points: int) -> float:
    """Return the height of a line of text. [points]."""
    return LINE_HEIGHT * points / PLAIN_POINTS


def page_heading(title: str) -> str:
    """Return what stands at the head of every printed page."""
    from baybook.workbook.package import clean_text

    return " ".join(clean_text(title).split())[:100].replace("&", "&&")


def _set_properties(target: Any, properties: dict[str, str], modified: dt.datetime) -> None:
    for name, value in properties.items():
        if name not in PROPERTIES:
            raise ValueError(f"Property {name!r} is unknown; use one of {', '.join(PROPERTIES)}.")
        setattr(target, name, value)
    if modified.tzinfo is not None:
        modified = modified.astimezone(dt.UTC).replace(tzinfo=None)
    target.created = target.modified = modified


class _Page:
    """One sheet being written."""

    def __init__(self, ws: Any, sheet: Sheet, layout: Layout) -> None:
        self.ws, self.sheet, self.layout = ws, sheet, layout
        self.places = [place for place in layout.places if place.sheet == sheet.title]
        self.has_table = any(isinstance(place.part, Table) for place in self.places)
        self.has_block = any(isinstance(place.part, Block) for place in self.places)
        self.widths: dict[int, float] = {}
        self.wrapped: list[tuple[int, int, str, float]] = []  # row, column (0: all), text, characters a unit of width
        self.lines: list[tuple[int, str, str]] = []  # row, text, look
        self.cleaned: list[str] = []

    @property
    def body(self) -> Place | None:
        """The place of its first table."""
        return next((place for place in self.places if isinstance(place.part, Table)), None)

    def put(self, row: int, col: int, value: str, style: Any) -> None:
        """Write a heading, label or note, always as text."""
        from baybook.workbook.package import clean_text

        cell = self.ws.cell(row, col, clean_text(value) or None)
        cell.data_type = "s"
        cell._style = style

    def need(self, col: int, width: float, most: float = 255.0) -> None:
        """Make a column at least so wide."""
        self.widths[col] = max(self.widths.get(col, NARROWEST), min(width, most))

    # ------------------------------------------------------------------------------------------------------- headings

    def write_headings(self, values: Mapping[tuple[str, int, int], Any], palette: Any) -> None:
        """Write titles, purposes, heads, units, labels and notes."""
        self.put(1, 1, self.sheet.title, palette.style("title"))
        self.put(3, 1, self.sheet.purpose, palette.style("purpose"))
        self.lines.append((3, self.sheet.purpose, "purpose"))
        for place in self.places:
            if isinstance(place.part, Table):
                self._table_heads(place, place.part, values, palette)
            elif isinstance(place.part, Block):
                self._block_heads(place, place.part, palette)

    def _part_title(self, place: Place, title: str, note: str, palette: Any) -> None:
        self.put(place.top, 1, f"{title} – {note}" if note else title, palette.style("part"))

    def _table_heads(
        self, place: Place, table: Table, values: Mapping[tuple[str, int, int], Any], palette: Any
    ) -> None:
        from baybook.workbook.looks import text_width

        self._part_title(place, table.title, table.note, palette)
        for col, column in enumerate(table.columns, start=1):
            sample = next((value for value in column.values or () if value not in {None, ""}), None)
            if column.values is None:
                sample = values.get((place.sheet, place.first, col))
            side = " left" if sample is None or isinstance(sample, (str, bool)) else " right"
            self.put(place.top + 1, col, column.header, palette.style("header" + side))
            self.put(place.top + 2, col, column.unit, palette.style("unit" + side))
            self.wrapped.append((place.top + 1, col, column.header, 1.0))
            words = [*column.header.split(), column.unit]
            self.need(col, column.width or max(text_width(word, bold=True) for word in words))
            self._checks(column.role, place.first, place.last, col)
            self._validation(column, place.first, place.last, col, column.header)

    def _block_heads(self, place: Place, block: Block, palette: Any) -> None:
        from baybook.workbook.looks import text_width

        self._part_title(place, block.title, block.note, palette)
        note_look = "note" if self.has_table else "long note"
        for row, scalar in enumerate(block.scalars, start=place.first):
            self.put(row, 1, scalar.label, palette.style("label text"))
            self.put(row, 3, scalar.unit, palette.style("unit beside"))
            note = scalar.note or scalar.help
            if note:
                self.put(row, 4, note, palette.style(note_look))
                if not self.has_table:
                    self.need(4, text_width(note), WIDEST_NOTE)
                    self.wrapped.append((row, 4, note, 1.2))
            self.need(1, text_width(scalar.label), WIDEST_TEXT)
            self.wrapped.append((row, 1, scalar.label, 1.0))
            self.need(3, text_width(scalar.unit))
            self._checks(scalar.role, row, row, 2)
            self._validation(scalar, row, row, 2, scalar.label)

    def _checks(self, role: str, first: int, last: int, col: int) -> None:
        """Colour a check that is not passed."""
        if role != "check":
            return
        from openpyxl.formatting.rule import FormulaRule
        from openpyxl.styles import Font, PatternFill

        top = f"{column_letter(col)}{first}"
        self.ws.conditional_formatting.add(
            f"{top}:{column_letter(col)}{last}",
            FormulaRule(
                formula=[f'OR(AND(ISNUMBER({top}),{top}<>0),{top}="REFUSED",{top}="FAILED")'],
                font=Font(color="9C0006", bold=True),
                fill=PatternFill(bgColor="FFD9D9", fill_type="solid"),
            ),
        )

    def _validation(self, declared: Column | Scalar, first: int, last: int, col: int, title: str) -> None:
        """Offer the words of a list, and say what is asked."""
        if declared.role != "input" or not (declared.choices or declared.help):
            return
        from openpyxl.worksheet.datavalidation import DataValidation

        rule = DataValidation(type="list" if declared.choices else None, formula1=declared.choices or None)
        rule.allow_blank = True
        if declared.choices:
            rule.showErrorMessage, rule.errorTitle = True, "Not in the list"
            rule.error = "Choose one of the words in the list of this cell."
        if declared.help:
            rule.showInputMessage, rule.promptTitle, rule.prompt = True, title[:32], declared.help[:255]
        rule.add(f"{column_letter(col)}{first}:{column_letter(col)}{last}")
        self.ws.add_data_validation(rule)

    # ---------------------------------------------------------------------------------------------------------- cells

    def write_cell(self, cell: Cell, values: Mapping[tuple[str, int, int], Any], palette: Any) -> None:
        """Write one declared cell and note how wide it is."""
        value = cell.formula if cell.formula is not None else self._clean(cell)
        seen = values.get((cell.sheet, cell.row, cell.col)) if cell.formula is not None else value
        if isinstance(cell.declaration, Text):
            self._write_line(cell, value, seen, palette)
            return
        from baybook.workbook.looks import PLAIN, RUNNING, number_format, shown, sized, text_width

        declared = cell.declaration
        fmt = number_format(declared.role, declared.fmt, value)
        is_text = cell.formula is None and isinstance(value, str)
        look = "opening" if cell.row_index < 0 else declared.role
        if look in {"input", "label", "check"} and isinstance(seen, str):
            look += " text"
        quoted = is_text and value.startswith(RISKY_STARTS)
        written = self.ws.cell(cell.row, cell.col, None if value == "" else value)
        if is_text:
            written.data_type = "s"
        written._style = palette.style(sized(look, self.sheet.points), fmt, quoted=quoted)
        if not getattr(declared, "width", 0):
            words = shown(seen, fmt)
            self.need(cell.col, text_width(words), WIDEST_TEXT if isinstance(seen, str) else 255.0)
        if declared.role == "label" and isinstance(seen, str):
            self.wrapped.append((cell.row, cell.col, seen, RUNNING * PLAIN / self.sheet.points))

    def _clean(self, cell: Cell) -> Any:
        from baybook.workbook.package import clean_text

        value = cell.value
        if not isinstance(value, str):
            return value
        kept = clean_text(value)
        if kept != value:
            place = f"{cell.sheet}!{column_letter(cell.col)}{cell.row}"
            self.cleaned.append(f"{place}: characters that a workbook cannot hold were left out of {kept!r}.")
        return kept

    def _write_line(self, cell: Cell, value: Any, seen: Any, palette: Any) -> None:
        from baybook.workbook.looks import shown

        is_master = cell.row == 2
        look = "master" if is_master else str(cell.declaration.style)  # type: ignore[union-attr]  # a Text
        if look in {"body", "caution"}:
            self.lines.append((cell.row, shown(seen, ""), look))
        written = self.ws.cell(cell.row, cell.col, value or None)
        if cell.formula is None and value:
            written.data_type = "s"
        written._style = palette.style(look)

    # ------------------------------------------------------------------------------------------------ sheet as a whole

    def finish(self, palette: Any, title: str, paper: int) -> None:
        """Set widths, panes, printing and protection."""
        if not self.widths:
            self.widths[1] = TEXT_WIDTH
        for col, width in self.widths.items():
            self.ws.column_dimensions[column_letter(col)].width = round(width, 1)
        self._spread_lines(palette)
        self._set_heights()
        single = self._single_table()
        if self.sheet.freeze or single:
            self.ws.freeze_panes = self.sheet.freeze or f"A{single.top + 3}"  # type: ignore[union-attr]  # one of the two
        if single and not self.sheet.pages:
            self.ws.print_title_rows = f"{single.top + 1}:{single.top + 2}"
        self._colour_master()
        self.ws.sheet_view.showGridLines = self.has_table
        if self.sheet.working:
            self.ws.sheet_properties.tabColor = "BFBFBF"
        self._page_setup(title, paper)
        self._protect()

    def _colour_master(self) -> None:
        """Colour the state of the checks at the head of the sheet while something is refused or failed."""
        if "errors_found" not in self.layout.names:
            return
        from openpyxl.formatting.rule import FormulaRule
        from openpyxl.styles import Font

        rule = FormulaRule(formula=["errors_found+failed_found>0"], font=Font(color="9C0006", bold=True))
        self.ws.conditional_formatting.add("A2", rule)

    def _single_table(self) -> Place | None:
        """Return the table of a sheet that holds nothing else but words after it."""
        found = [place for place in self.places if not isinstance(place.part, Text)]
        alone = len(found) == 1 and isinstance(found[0].part, Table) and found[0] is self.places[0]
        return found[0] if alone else None

    def _spread_lines(self, palette: Any) -> None:
        """Let a caution, and any line longer than the sheet is wide, have the whole width."""
        last, total = max(self.widths), sum(self.widths.values())
        for row, words, look in self.lines:
            self.wrapped.append((row, 0, words, 1.0))
            if look == "caution" or len(words) > total:
                self.ws.cell(row, 1)._style = palette.style(f"long {look}")
                if last > 1:
                    self.ws.merge_cells(start_row=row, end_row=row, start_column=1, end_column=last)

    def _set_heights(self) -> None:
        """Give rows of wrapped text their height: not every program does so by itself."""
        total = sum(self.widths.values())
        for row, col, words, density in self.wrapped:
            width = density * (self.widths[col] if col else total)
            lines = sum(len(textwrap.wrap(line, max(4, int(width - 1)))) or 1 for line in words.splitlines())
            if lines > 1:
                height = self.ws.row_dimensions[row].height or 0
                self.ws.row_dimensions[row].height = max(height, lines * line_height(self.sheet.points))
        if self.body:
            for row, fixed in enumerate(self.sheet.row_heights, start=self.body.first):
                self.ws.row_dimensions[row].height = fixed

    def _page_breaks(self) -> None:
        """Print the rows of the table alone, each page of them on a page of its own, at their own size."""
        from openpyxl.worksheet.pagebreak import Break

        place, ws = self.body, self.ws
        assert place is not None  # noqa: S101  asked for by sheets with one table only
        ws.sheet_properties.pageSetUpPr = None
        ws.page_setup.fitToWidth = ws.page_setup.fitToHeight = None
        ws.print_area = f"A{place.first}:{column_letter(max(self.widths))}{place.last}"
        ws.sheet_format.defaultRowHeight, ws.sheet_format.customHeight = line_height(self.sheet.points), True
        row = place.first - 1
        for rows in self.sheet.pages[:-1]:
            row += rows
            ws.row_breaks.append(Break(id=row))

    def _page_setup(self, title: str, paper: int) -> None:
        from openpyxl.worksheet.page import PageMargins
        from openpyxl.worksheet.properties import PageSetupProperties

        ws = self.ws
        ws.sheet_properties.pageSetUpPr = PageSetupProperties(fitToPage=True)
        ws.page_setup.orientation = "landscape" if self.sheet.landscape else "portrait"
        ws.page_setup.paperSize, ws.page_setup.fitToWidth = paper, 1
        ws.page_setup.fitToHeight = int(self.sheet.one_page)
        ws.page_margins = PageMargins(left=0.5, right=0.5, top=0.75, bottom=0.7, header=0.35, footer=0.35)
        ws.oddHeader.left.text = page_heading(title) or None
        ws.oddHeader.right.text = "&A"
        ws.oddFooter.center.text = "page &P of &N"
        if self.sheet.pages:
            self._page_breaks()
        elif self.sheet.printed_from > 1:
            ws.print_area = f"A{self.sheet.printed_from}:{column_letter(max(self.widths))}{self.places[-1].last}"

    def _protect(self) -> None:
        protection = self.ws.protection
        protection.sheet = True
        protection.formatColumns = protection.formatRows = False  # False leaves it allowed
