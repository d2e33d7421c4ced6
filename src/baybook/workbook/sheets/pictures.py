"""Pictures that stay live: the bay plan and the cut diagram as native charts, true to scale, their data beside them."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any, NamedTuple

from baybook.estimate import Estimate
from baybook.workbook.declare import Block, Column, Layout, Scalar, Sheet, Table, column_letter
from baybook.workbook.shape import Shape
from baybook.workbook.sheets.inputs import Units
from baybook.workbook.sheets.outlines import RING
from baybook.workbook.sheets.stock import block_cuts, blocks_of

__all__ = ["Drawn", "diagram_sheet", "drawn", "plan_sheet"]

APART_IN = 24.0  # between areas drawn side by side
WORDS_OFF_IN = 8.0  # of what is written at a gutter
LABELLED_BAYS = 120
WIDE_CM, HIGH_CM = 24.0, 15.0
PLOT_ACROSS, PLOT_DOWN = 0.92, 0.74  # shares of the plan's chart that the drawing takes
LETTERS = 800  # hundredths of a point
BLUE, TEAL, BROWN, GREY = "1F3864", "00838F", "7F3F00", "D9D9D9"
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

# The path round a bay, from the house wall and back to it, so that the way to the next bay follows a line that is there.
_CORNERS = (("b_x0", "wall"), ("b_x0", "b_y1"), ("b_x1", "b_y1"), ("b_x1", "b_y0"), ("b_x0", "b_y0"), ("b_x0", "wall"))


def _r(key: str, header: str, unit: str, formula: str | tuple[str, ...], opening: float = 0) -> Column:
    return Column(key=key, header=header, unit=unit, formula=formula, role="work", fmt="0.00", opening=opening)


def plan_sheet(estimate: Estimate, shape: Shape) -> Sheet:
    """Return the bay plan: every bay drawn where it lies, areas side by side, gutters at their low ends."""
    unit = Units(estimate.inputs.rates.units == "metric").big
    areas = (
        _r("off_x", "area begins at", "in", "=[off_x-]+[off_wide-]"),
        _r("off_wide", "and takes", "in", "=([w_width@]+apart_in)*[w_use@]"),
    )

    def either(plain: str, drawn: str) -> tuple[str, ...]:
        return (plain,) * shape.bays + (drawn,) * shape.segments

    bays = (
        Column(key="b_x0", header="left", unit=unit, fmt="0.00",
               formula="=(INDEX(off_x,[b_aix@])+[b_left@])/big_in*[b_use@]"),
        Column(key="b_x1", header="right", unit=unit, fmt="0.00", formula="=[b_x0]+[b_clear@]/big_in"),
        Column(key="b_y0", header="near end", unit=unit, fmt="0.00", formula="=INDEX(p_far,[b_pix@])/big_in*[b_use@]"),
        Column(key="b_y1", header="far end", unit=unit, fmt="0.00", formula="=INDEX(p_end,[b_pix@])/big_in*[b_use@]"),
        Column(key="b_xm", header="middle", unit=unit, fmt="0.00",
               formula="=IF([b_use@]=1,([b_x0]+[b_x1])*half,0-apart_in)"),
        Column(key="b_ym", header="middle", unit=unit, fmt="0.00", formula="=([b_y0]+[b_y1])*half"),
        Column(key="b_sign", header="number", role="label",
               formula=either('=IF([b_use@]=1,[b_number@],"")', '=IF([b_use@]=1,INDEX(sg_label,[b_seg@])&"","")')),
    )  # fmt: skip

    def point(key: str, of: str) -> str:
        value = "0" if of == "wall" else f"INDEX({of},[path_bay])"
        return f"=IF(INDEX(b_use,[path_bay])=1,{value},[{key}-])"

    path = (
        Column(
            key="path_bay", header="bay", unit="no", values=tuple(b for b in range(1, shape.bays + 1) for _ in _CORNERS)
        ),
        _r(
            "path_x",
            "along the ledger",
            unit,
            tuple(point("path_x", x) for _ in range(shape.bays) for x, _ in _CORNERS),
        ),
        _r("path_y", "out from it", unit, tuple(point("path_y", y) for _ in range(shape.bays) for _, y in _CORNERS)),
    )
    return Sheet(
        title="Plan",
        purpose="Seen from above, house at the top: bays by number, gutters at their low ends, beams, openings, posts. True "
        "to scale; it follows the inputs.",
        parts=(
            Block(title="Drawing", scalars=(
                Scalar(key="apart_in", label="areas are drawn apart by", unit="in", value=APART_IN),
                Scalar(key="words_off_in", label="words stand below a gutter by", unit="in", value=WORDS_OFF_IN),
            )),
            Table(key="plan_gutters", title="Gutters", rows=shape.parts, columns=_gutters(unit)),
            Table(key="plan_areas", title="Areas", rows=shape.areas, columns=areas),
            Table(key="plan_bays", title="Bays", rows=shape.bay_rows, columns=bays),
            Table(key="plan_posts", title="Posts", rows=shape.posts, columns=_posts(unit)),
            Table(key="plan_path", title="The path that draws them", rows=shape.bays * len(_CORNERS), columns=path),
        ),
        charts=(_plan_chart(estimate, shape, unit),),
        one_page=True,
    )  # fmt: skip


def _gutters(unit: str) -> tuple[Column, ...]:
    """Return the gutters of rectangles, and what is written at each line: how many leaders, and where they stand."""
    low = "CHOOSE(1+[p_ledger@],[p_end@],[p_far@])/big_in*[p_use@]*(1-[p_drawn@])"
    first = "IFERROR(INDEX(gs_at_{axis}0,MATCH([g_code@],gs_code,0)),0)"
    return (
        _r("gut_x0", "gutter from", unit, "=INDEX(off_x,[p_ix@])/big_in*[p_use@]*(1-[p_drawn@])"),
        _r("gut_x1", "to", unit, "=[gut_x0]+INDEX(w_width,[p_ix@])/big_in*[p_use@]*(1-[p_drawn@])"),
        _r("gut_y0", "at", unit, "=" + low),
        _r("gut_y1", "and", unit, "=[gut_y0]"),
        _r("gut_xm", "words at", unit,
           f"=IF([g_lead@]=1,CHOOSE(1+[p_drawn@],[gut_x0],{first.format(axis='x')}),0-apart_in)"),
        _r("gut_below", "under the deck's edge", "0/1", "=[g_low@]*(1-[g_ledger@])*[p_drawn@]"),
        _r("gut_edge", "gutter's own end", unit, f"=CHOOSE(1+[p_drawn@],[gut_y0],{first.format(axis='y')})"),
        _r("gut_ym", "out from the ledger", unit,
           "=(CHOOSE(1+[gut_below],[gut_edge],INDEX(w_projection,[p_ix@])/big_in)+words_off_in/big_in)*[g_lead@]"),
        Column(key="gut_words", header="words", role="label",
               formula='=IF([g_lead@]=1,"falls to "&[g_leaders@]&CHOOSE(MIN(2,MAX(1,[g_leaders@]))," leader "," leaders ")'
               '&CHOOSE(1+[g_mid@],"at the end","in the middle"),"")'),
    )  # fmt: skip


def _posts(unit: str) -> tuple[Column, ...]:
    at = "(INDEX(off_x,MAX(1,[pw_at@]))+[pw_x@])/big_in"
    return (
        _r("post_x", "post at", unit, f"=IF([pw_named@]=1,{at},0-apart_in)"),
        _r("post_y", "out from the ledger", unit, "=[pw_y@]/big_in*[pw_named@]"),
    )


class Drawn(NamedTuple):
    """The size of the plan: what its axes span, in feet or metres, and how wide and high it is drawn. [cm]."""

    wide: float
    deep: float
    width_cm: float
    height_cm: float


def drawn(estimate: Estimate) -> Drawn:
    """Return the size of a job's plan, with room for the deck to grow by a fifth, true to scale."""
    big_in = Units(estimate.inputs.rates.units == "metric").big_in
    widths = [area.width_in + APART_IN for area in estimate.inputs.areas]
    depth = max(area.projection_in for area in estimate.inputs.areas)
    wide, deep = math.ceil(1.2 * sum(widths) / big_in), math.ceil(1.2 * depth / big_in)
    scale = min(WIDE_CM * PLOT_ACROSS / wide, HIGH_CM * PLOT_DOWN / deep)
    return Drawn(wide, deep, wide * scale / PLOT_ACROSS, deep * scale / PLOT_DOWN)


def _plan_chart(estimate: Estimate, shape: Shape, unit: str) -> Callable[[Any, Layout], None]:
    def draw(worksheet: Any, layout: Layout) -> None:
        from openpyxl.chart import ScatterChart

        size = drawn(estimate)
        chart = ScatterChart()
        chart.scatterStyle, chart.style = "lineMarker", 13
        chart.title, chart.legend, chart.display_blanks = f"Bays, in {unit}", None, "gap"
        chart.series.append(_line(worksheet, layout, "path_x", "path_y", shape.bays * len(_CORNERS), BLUE, 9525))
        for row in range(shape.segments):
            chart.series.append(_across(worksheet, layout, ("sg_at_x1", "sg_at_y1"), row, RING, BLUE, 9525))
        for row in range(shape.framing):
            chart.series.append(_across(worksheet, layout, ("fd_x1", "fd_y1"), row, 6, BROWN, 15875))
        for row in range(shape.parts):
            chart.series.append(_across(worksheet, layout, ("gut_x0", "gut_y0"), row, 2, TEAL, 38100))
        for row in range(shape.stretches):
            chart.series.append(_across(worksheet, layout, ("gs_at_x0", "gs_at_y0"), row, 2, TEAL, 38100))
        chart.series.append(_marks(worksheet, layout, "post_x", "post_y", shape.posts))
        if shape.bay_rows <= LABELLED_BAYS:
            for row in range(shape.bay_rows):
                chart.series.append(_label(worksheet, layout, ("b_xm", "b_ym", "b_sign"), row, "ctr"))
        for row in range(shape.parts):
            chart.series.append(_label(worksheet, layout, ("gut_xm", "gut_ym", "gut_words"), row, "r"))
        for row in range(shape.framing):
            chart.series.append(_label(worksheet, layout, ("fd_xm", "fd_ym", "fd_words"), row, "ctr"))
        _axes(chart, size.wide, size.deep)
        _true_to_scale(chart, size)
        worksheet.add_chart(chart, "J5")
        worksheet.print_area = "J1:Y42"

    return draw


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


def _marks(worksheet: Any, layout: Layout, x: str, y: str, rows: int) -> Any:
    """Return points without a line between them."""
    series = _series(worksheet, layout, x, y, 0, rows)
    series.marker.symbol, series.marker.size = "square", 5
    series.marker.graphicalProperties.solidFill = series.marker.graphicalProperties.line.solidFill = "000000"
    series.graphicalProperties.line.noFill = True
    return series


def _label(worksheet: Any, layout: Layout, keys: tuple[str, str, str], row: int, where: str) -> Any:
    """Return a point that shows a text: keys of its x, its y and the text."""
    from openpyxl.chart.data_source import StrRef
    from openpyxl.chart.label import DataLabelList
    from openpyxl.chart.series import SeriesLabel

    series = _series(worksheet, layout, keys[0], keys[1], row, 1)
    sheet, at, col = layout.address(keys[2], row)
    series.tx = SeriesLabel(strRef=StrRef(f"'{sheet}'!${column_letter(col)}${at}"))
    series.graphicalProperties.line.noFill = True
    series.dLbls = DataLabelList()
    series.dLbls.showSerName, series.dLbls.position = True, where
    series.dLbls.showVal = series.dLbls.showCatName = series.dLbls.showLegendKey = series.dLbls.showPercent = False
    series.dLbls.txPr = _small()
    return series


def _small() -> Any:
    from openpyxl.chart.text import RichText
    from openpyxl.drawing.text import CharacterProperties, Paragraph, ParagraphProperties

    letters = CharacterProperties(sz=LETTERS)
    return RichText(p=[Paragraph(pPr=ParagraphProperties(defRPr=letters), endParaRPr=letters)])


def _axes(chart: Any, wide: float, deep: float) -> None:
    chart.x_axis.delete = chart.y_axis.delete = False
    chart.x_axis.majorGridlines = chart.y_axis.majorGridlines = None
    chart.x_axis.number_format = chart.y_axis.number_format = "0"
    chart.x_axis.scaling.min = chart.y_axis.scaling.min = 0
    chart.x_axis.scaling.max, chart.y_axis.scaling.max = wide, deep
    chart.y_axis.scaling.orientation = "maxMin"
    chart.y_axis.crosses, chart.x_axis.crosses = "min", "min"


def _true_to_scale(chart: Any, size: Drawn) -> None:
    """Make the plot area as wide to high as the drawing."""
    from openpyxl.chart.layout import Layout as Placing
    from openpyxl.chart.layout import ManualLayout

    chart.width, chart.height = size.width_cm, size.height_cm
    chart.layout = Placing(
        ManualLayout(layoutTarget="inner", xMode="edge", yMode="edge", x=0.05, y=0.22, w=PLOT_ACROSS, h=PLOT_DOWN)
    )


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
