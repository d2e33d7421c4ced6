"""Pictures that stay live: the bay plan and the cut diagram as native charts, true to scale, their data beside them."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import Any

from baybook.estimate import Estimate
from baybook.workbook.declare import Column, Layout, Sheet, Table, column_letter
from baybook.workbook.shape import Shape
from baybook.workbook.sheets.inputs import Units
from baybook.workbook.sheets.outlines import RING
from baybook.workbook.sheets.planpages import LEFT_CM, READ_CM, TOP_CM, WIDE_CM, Pane, PlanPages, plan_pages
from baybook.workbook.sheets.planwork import ARROW_POINTS, CORNERS, MEMBER_POINTS, arrows
from baybook.workbook.sheets.stock import block_cuts, blocks_of

__all__ = ["diagram_sheet", "letters", "limits", "plan_sheet", "plot_shares"]

PURPOSE_ROW, FIRST_ROW = 3, 5  # of the plan's pictures
COLUMNS, COLUMN_LETTERS = 11, 11.5  # of what is printed of it: as wide as a sheet of Letter
WIDE_PITCH_CM = 0.62  # from bay to bay: from here on numbers lie
LETTERS, SMALL, TITLE_LETTERS = 800, 600, 1100  # hundredths of a point
THIN, THICK = 9525, 19050  # EMU
UPRIGHT = -5_400_000  # sixty-thousandths of a degree
BLUE, TEAL, BROWN, WOOD, GREY, BLACK = "1F3864", "00838F", "7F3F00", "C8A27A", "D9D9D9", "000000"
SHADES = (
    "9DBAD5",
    "C3D5E6",
    "A9C9C0",
    "CFE3DD",
    "E3D3B5",
    "F0E6D2",
    "C9C3DE",
    "E1DDEE",
    "D5DBB8",
)  # light: figures stand on them


def plan_sheet(estimate: Estimate, shape: Shape) -> Sheet:
    """Return the plan: every bay drawn where it lies, areas side by side, gutters at their low ends."""
    unit = Units(estimate.inputs.rates.units == "metric").big
    pages = plan_pages(estimate, shape)
    return Sheet(
        title="Plan",
        purpose="Seen from above, house at the top, true to scale; it follows the inputs. Brown: members and beams. Blue: "
        "bays, by number. Green: gutters, arrows the way they fall; a dot is a leader, a square a post.",
        parts=(),
        charts=tuple(_plan_chart(pages, at, shape, unit) for at in range(len(pages.panes))),
    )


def _plan_chart(pages: PlanPages, at: int, shape: Shape, unit: str) -> Callable[[Any, Layout], None]:
    """Return what draws one of the plan's pictures; the first also sets the pages on which they are printed."""
    pane = pages.panes[at]
    first, rows = _placed_rows(pages)

    def draw(worksheet: Any, layout: Layout) -> None:
        from openpyxl.chart import ScatterChart

        chart = ScatterChart()
        chart.scatterStyle, chart.style = "lineMarker", 13
        chart.title, chart.legend, chart.display_blanks = _title(unit), None, "gap"
        chart.series.extend(_lines_of(worksheet, layout, shape, pane))
        chart.series.extend(_words_of(worksheet, layout, shape, pane))
        _axes(chart, pane)
        _true_to_scale(chart, pane)
        worksheet.add_chart(chart, f"A{first[at]}")
        if not at:
            _print_on_pages(worksheet, rows)

    return draw


def _placed_rows(pages: PlanPages) -> tuple[list[int], list[int]]:
    """Return the row at which each picture begins, and the last row of each page."""
    first, last, row = [], [], FIRST_ROW
    for at, pane in enumerate(pages.panes):
        if at and pane.page != pages.panes[at - 1].page:
            last.append(row - 2)  # the last one is free
        first.append(row)
        row += pane.rows
    return first, [*last, row - 2]


def _print_on_pages(worksheet: Any, rows: Sequence[int]) -> None:
    """Print the pictures at their own size: a sheet fitted to a page knows no breaks."""
    from openpyxl.worksheet.pagebreak import Break

    worksheet.sheet_properties.pageSetUpPr = None
    worksheet.page_setup.fitToWidth = worksheet.page_setup.fitToHeight = None
    for col in range(1, COLUMNS + 1):
        worksheet.column_dimensions[column_letter(col)].width = COLUMN_LETTERS
    if not worksheet.merged_cells:
        worksheet.merge_cells(start_row=PURPOSE_ROW, end_row=PURPOSE_ROW, start_column=1, end_column=COLUMNS)
    worksheet.print_area = f"A1:{column_letter(COLUMNS)}{rows[-1]}"
    for row in rows[:-1]:
        worksheet.row_breaks.append(Break(id=row))


def _lines_of(worksheet: Any, layout: Layout, shape: Shape, pane: Pane) -> Iterator[Any]:
    """Yield members, bays, beams and openings, gutters, arrows along their fall, leaders and posts."""
    wood = wood_width(pane)
    yield _line(worksheet, layout, "pm_x", "pm_y", shape.members * MEMBER_POINTS, WOOD, wood)
    for row in range(shape.ribs):
        yield _across(worksheet, layout, ("rib_x0", "rib_y0"), row, 2, WOOD, wood)
    yield _line(worksheet, layout, "path_x", "path_y", shape.bays * len(CORNERS), BLUE, THIN)
    for row in (one - shape.bays for one in pane.bays if one >= shape.bays):
        yield _across(worksheet, layout, ("sg_at_x1", "sg_at_y1"), row, RING, BLUE, THIN)
    for row in range(shape.framing):
        yield _across(worksheet, layout, ("fd_x1", "fd_y1"), row, 6, BROWN, 15875)
    for row in range(shape.parts):
        yield _across(worksheet, layout, ("gut_x0", "gut_y0"), row, 2, TEAL, 38100)
    for row in range(shape.stretches):
        yield _across(worksheet, layout, ("gs_at_x0", "gs_at_y0"), row, 2, TEAL, 38100)
    for row in range(arrows(shape)):
        yield _across(worksheet, layout, ("ar_x1", "ar_y1"), row, ARROW_POINTS, BLACK, 12700)
    yield _marks(worksheet, layout, ("ld_x", "ld_y"), shape.leaders, "circle", 9)
    yield _marks(worksheet, layout, ("post_x", "post_y"), shape.posts, "square", 5)


def _words_of(worksheet: Any, layout: Layout, shape: Shape, pane: Pane) -> Iterator[Any]:
    """Yield numbers of bays, upright where they stand close, and words at areas, gutters and framing."""
    for row in pane.bays:
        yield _label(worksheet, layout, ("b_xm", "b_ym", "b_sign"), row, "ctr", _small(*letters(pane)))
    for row in range(shape.areas):
        yield _label(worksheet, layout, ("name_x", "name_y", "w_name"), row, "ctr", _small(LETTERS, bold=True))
    for row in range(shape.parts):
        yield _label(worksheet, layout, ("gut_xm", "gut_ym", "gut_words"), row, "r", _small(), filled=True)
    for row in range(shape.framing):
        yield _label(worksheet, layout, ("fd_xm", "fd_ym", "fd_words"), row, "ctr", _small(), filled=True)


def _reference(worksheet: Any, layout: Layout, key: str, row: int, rows: int) -> Any:
    from openpyxl.chart import Reference

    sheet, first, col = layout.address(key, row)
    return Reference(worksheet.parent[sheet], min_col=col, min_row=first, max_row=first + rows - 1)


def _series(worksheet: Any, layout: Layout, x: str, y: str, row: int, rows: int) -> Any:
    from openpyxl.chart import Series

    series = Series(_reference(worksheet, layout, y, row, rows), _reference(worksheet, layout, x, row, rows))
    series.marker.symbol, series.smooth = "none", False
    return series


def _line(worksheet: Any, layout: Layout, x: str, y: str, rows: int, colour: str, width: int) -> Any:
    series = _series(worksheet, layout, x, y, 0, rows)
    series.graphicalProperties.line.solidFill, series.graphicalProperties.line.width = colour, width
    return series


def _across(
    worksheet: Any, layout: Layout, keys: tuple[str, str], row: int, points: int, colour: str, width: int
) -> Any:
    """Return a line whose points stand side by side in one row: first all x, then all y."""
    from openpyxl.chart import Reference, Series

    def beside(key: str) -> Any:
        sheet, at, col = layout.address(key, row)
        return Reference(worksheet.parent[sheet], min_col=col, max_col=col + points - 1, min_row=at, max_row=at)

    series = Series(beside(keys[1]), beside(keys[0]))
    series.marker.symbol, series.smooth = "none", False
    series.graphicalProperties.line.solidFill, series.graphicalProperties.line.width = colour, width
    return series


def _marks(worksheet: Any, layout: Layout, keys: tuple[str, str], rows: int, symbol: str, size: int) -> Any:
    """Return points without a line between them: the dots of leaders, the squares of posts."""
    series = _series(worksheet, layout, *keys, 0, rows)
    series.marker.symbol, series.marker.size = symbol, size
    colour = TEAL if symbol == "circle" else BLACK
    series.marker.graphicalProperties.solidFill = series.marker.graphicalProperties.line.solidFill = colour
    series.graphicalProperties.line.noFill = True
    return series


def _label(
    worksheet: Any,
    layout: Layout,
    keys: tuple[str, str, str],
    row: int,
    where: str,
    look: Any,
    filled: bool = False,
) -> Any:
    """Return a point that shows a text: keys of its x, its y and the text."""
    from openpyxl.chart.data_source import StrRef
    from openpyxl.chart.label import DataLabelList
    from openpyxl.chart.series import SeriesLabel
    from openpyxl.chart.shapes import GraphicalProperties

    series = _series(worksheet, layout, keys[0], keys[1], row, 1)
    sheet, at, col = layout.address(keys[2], row)
    series.tx = SeriesLabel(strRef=StrRef(f"'{sheet}'!${column_letter(col)}${at}"))
    series.graphicalProperties.line.noFill = True
    series.dLbls = DataLabelList()
    series.dLbls.showSerName, series.dLbls.position = True, where
    series.dLbls.showVal = series.dLbls.showCatName = series.dLbls.showLegendKey = series.dLbls.showPercent = False
    series.dLbls.txPr = look
    if filled:
        series.dLbls.spPr = GraphicalProperties(solidFill="FFFFFF")
    return series


def _small(size: int = LETTERS, turn: int | None = None, *, bold: bool = False) -> Any:
    from openpyxl.chart.text import RichText
    from openpyxl.drawing.text import CharacterProperties, Paragraph, ParagraphProperties, RichTextProperties

    letters = CharacterProperties(sz=size, b=bold)
    turned = RichTextProperties(rot=turn, vert="horz") if turn is not None else None
    return RichText(bodyPr=turned, p=[Paragraph(pPr=ParagraphProperties(defRPr=letters), endParaRPr=letters)])


def _title(unit: str) -> Any:
    from openpyxl.chart.text import RichText, Text
    from openpyxl.chart.title import Title
    from openpyxl.drawing.text import CharacterProperties, Paragraph, ParagraphProperties, RegularTextRun

    letters = CharacterProperties(sz=TITLE_LETTERS, b=True)
    run = RegularTextRun(rPr=letters, t=f"Bays, in {unit}; the house at the top")
    rich = RichText(p=[Paragraph(pPr=ParagraphProperties(defRPr=letters), r=[run])])
    return Title(tx=Text(rich=rich), overlay=True)


def letters(pane: Pane) -> tuple[int, int]:
    """Return the size and the turn of bays' numbers: upright where bays lie close."""
    if pane.pitch_cm >= WIDE_PITCH_CM:
        return LETTERS, 0
    return (LETTERS if pane.pitch_cm >= READ_CM else SMALL), UPRIGHT


def wood_width(pane: Pane) -> int:
    """Return the width of members' lines: thin where bays lie close. [EMU]."""
    return THIN if letters(pane)[1] else THICK


def plot_shares(pane: Pane) -> tuple[float, float, float, float]:
    """Return where the plot stands in a picture, and its size: shares of the picture's, so that it is true to scale."""
    (wide, high), (across, down) = pane.plot_cm, pane.size_cm
    return LEFT_CM / across, TOP_CM / down, wide / across, high / down


def limits(pane: Pane) -> tuple[float, float, float, float, float, float]:
    """Return where each axis of a picture ends, where it begins and its steps, across and out, as a chart's XML does."""
    return pane.left + pane.wide, pane.left, pane.above, pane.deep, -pane.above, pane.above


def _axes(chart: Any, pane: Pane) -> None:
    chart.x_axis.delete = chart.y_axis.delete = False
    chart.x_axis.majorGridlines = chart.y_axis.majorGridlines = None
    chart.x_axis.number_format = chart.y_axis.number_format = "0;;0"  # nothing above the house wall
    across, out = chart.x_axis.scaling, chart.y_axis.scaling
    across.max, across.min, chart.x_axis.majorUnit, out.max, out.min, chart.y_axis.majorUnit = limits(pane)
    out.orientation = "maxMin"
    chart.y_axis.crosses, chart.x_axis.crosses = "min", "min"
    if not pane.counts:
        chart.x_axis.number_format = ";;"


def _true_to_scale(chart: Any, pane: Pane) -> None:
    """Make the plot area as wide to high as the drawing."""
    from openpyxl.chart.layout import Layout as Placing
    from openpyxl.chart.layout import ManualLayout

    chart.width, chart.height = pane.size_cm
    x, y, w, h = plot_shares(pane)
    inner = ManualLayout(layoutTarget="inner", xMode="edge", yMode="edge", x=x, y=y, w=w, h=h)
    chart.layout = Placing(inner)


# ---------------------------------------------------------------------------------------------- cut diagram


def _bars(estimate: Estimate, shape: Shape, big_in: float) -> tuple[list[str], list[list[float]], list[float]]:
    """Return label, pieces and remainder of each cutting pattern, pieces in feet or metres."""
    labels, pieces, rests = [], [], []
    for (item, _), cut in zip(blocks_of(shape), block_cuts(estimate, shape), strict=True):
        if cut is None:
            continue
        for pattern in cut.plan.patterns:
            stock = cut.stock[pattern.stock]
            labels.append(f"{pattern.times} x {item} {stock.length / 16 / big_in:.4g}")
            pieces.append([length / 16 / big_in for length, count in pattern.pieces for _ in range(count)])
            rests.append(pattern.remainder / 16 / big_in)
    return labels, pieces, rests


def diagram_sheet(estimate: Estimate, shape: Shape) -> Sheet:
    """Return the cut diagram: one bar a cutting pattern, its pieces and what is left over."""
    units = Units(estimate.inputs.rates.units == "metric")
    labels, pieces, rests = _bars(estimate, shape, units.big_in)
    columns = (
        Column(key="bar_label", header="stock pieces", role="label", values=tuple(labels), origin="plan"),
        *(
            Column(key=f"bar_cut{n}", header=f"piece {n}", unit=units.big, role="label", fmt="0.##;;", origin="plan",
                   values=tuple(row[n - 1] if len(row) >= n else 0.0 for row in pieces))
            for n in range(1, shape.cuts + 1)
        ),
        Column(key="bar_rest", header="left over", unit=units.big, role="label", fmt="0.##;;",
               values=tuple(rests), origin="plan"),
    )  # fmt: skip
    return Sheet(
        title="Cut diagram",
        purpose="The cutting as planned, true to scale: each bar is one way to cut a stock piece; the first number says how "
        "many are cut so.",
        parts=(Table(key="bars", title="Cutting", rows=shape.patterns, columns=columns),),
        charts=(_bar_chart(shape.patterns, shape.cuts, units.big),),
        one_page=True,
    )


def _bar_chart(bars: int, most: int, unit: str) -> Callable[[Any, Layout], None]:
    def draw(worksheet: Any, layout: Layout) -> None:
        from openpyxl.chart import BarChart, Reference

        _, first, label = layout.address("bar_label")
        chart = BarChart()
        chart.type, chart.grouping, chart.overlap, chart.gapWidth, chart.style = "bar", "stacked", 100, 30, 10
        chart.title, chart.legend = f"Cut diagram, in {unit}", None
        chart.width, chart.height = WIDE_CM, min(36.0, 3.5 + 0.9 * bars)
        for n in range(most + 1):
            col = label + 1 + n
            chart.add_data(Reference(worksheet, min_col=col, min_row=first, max_row=first + bars - 1))
        chart.set_categories(Reference(worksheet, min_col=label, min_row=first, max_row=first + bars - 1))
        for n, series in enumerate(chart.series):
            series.graphicalProperties.solidFill = GREY if n == most else SHADES[n % len(SHADES)]
            series.graphicalProperties.line.solidFill = "FFFFFF"
            _show_value(series)
        chart.x_axis.scaling.orientation = "maxMin"
        chart.y_axis.scaling.min = 0
        chart.x_axis.delete = chart.y_axis.delete = False
        chart.y_axis.number_format, chart.y_axis.majorGridlines = "0", None
        worksheet.add_chart(chart, f"A{first + bars + 2}")

    return draw


def _show_value(series: Any) -> None:
    from openpyxl.chart.label import DataLabelList

    series.dLbls = DataLabelList()
    series.dLbls.showVal, series.dLbls.numFmt = True, "0.##;;"
    series.dLbls.showSerName = series.dLbls.showCatName = series.dLbls.showLegendKey = series.dLbls.showPercent = False
