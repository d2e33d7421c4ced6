"""The report of a re-pricing as a workbook: one page in front, jobs, items with a waterfall, offers, problems."""

from __future__ import annotations

import datetime as dt
import io
from collections.abc import Callable, Iterable, Sequence
from decimal import Decimal
from itertools import accumulate
from typing import Any

from baybook import __version__
from baybook.reprice.report import (
    ITEM_COLUMNS,
    OFFER_COLUMNS,
    PROBLEM_COLUMNS,
    SHEET_COLUMNS,
    Repriced,
    Sum,
    in_order,
    item_rows,
    most_because_of,
    offer_rows,
    problem_rows,
    sheet_rows,
    sums,
)
from baybook.workbook.declare import Block, BookSpec, Column, Layout, Part, Scalar, Sheet, Table, Text, layout

__all__ = ["MOST_ROWS", "report_spec", "report_workbook"]

MOST_ROWS = 1_000  # of jobs and of problems on a sheet: more is no reading matter, and stands in the CSV files
MOST_STEPS = 24  # of the waterfall
MOST_SHOWN = 15  # jobs on the first page
CENTS = "=ROUND(ROUND({},8),2)"
MONEY = "#,##0.00"
MOVED = "+#,##0.00;-#,##0.00;0.00"
SHARE = "0.0%"
FORMATS = {
    "old_price": MONEY, "new_price": MONEY, "more": MOVED, "old_cost": MONEY, "new_cost": MONEY, "effect": MOVED,
    "margin_stated": SHARE, "margin_at_old_price": SHARE, "change": "+0.0%;-0.0%;0.0%",
}  # fmt: skip
WIDTHS = {
    "most_because_of": 40.0, "besides": 60.0, "message": 90.0, "why": 40.0, "description": 24.0,
}  # fmt: skip


def report_workbook(result: Repriced, when: dt.datetime) -> bytes:
    """Return the report as a workbook.

    Parameters
    ----------
    result : Repriced
        What was done.
    when : datetime
        The moment of the run.

    Returns
    -------
    bytes
        An xlsx file.
    """
    from baybook.workbook.evaluate import evaluate
    from baybook.workbook.xlsx import write_xlsx

    spec = report_spec(result, when)
    made = layout(spec)
    stream = io.BytesIO()
    properties = {"title": f"Re-pricing {result.new.on}", "creator": f"baybook {__version__}"}
    write_xlsx(spec, made, evaluate(spec, made), stream, properties=properties, modified=when)
    return stream.getvalue()


def report_spec(result: Repriced, when: dt.datetime) -> BookSpec:
    """Declare the sheets of the report."""
    jobs, problems = sheet_rows(result), problem_rows(result)
    sheets = (
        _summary(result, when, whole=len(jobs) <= MOST_ROWS),
        _rows("Jobs", "Jobs under the floor first, then those that moved most.", "j", SHEET_COLUMNS, jobs,
              "re-pricing jobs.csv"),
        _items(result),
        _rows("Offers", "The new price list against the old ones: what is held back first.", "o", OFFER_COLUMNS,
              offer_rows(result), "re-pricing offers.csv"),
        _rows("Left", "What was left as it is, and why: first what needs a cure.", "p", PROBLEM_COLUMNS, problems,
              "re-pricing left.csv"),
    )  # fmt: skip
    return BookSpec(sheets=sheets, lists={})


# ----------------------------------------------------------------------------------------------------------- summary


def _summary(result: Repriced, when: dt.datetime, *, whole: bool) -> Sheet:
    found = sums(result)

    def told(key: str, label: str, value: Any, unit: str = "", fmt: str = "") -> Scalar:
        return Scalar(key=key, label=label, unit=unit, role="label", value=value, fmt=fmt)

    state = (
        told("r_when", "made", f"{when:%Y-%m-%d %H:%M}"),
        told("r_on", "prices of", result.new.on, "date", "yyyy-mm-dd"),
        told("r_suppliers", "suppliers in the new list", ", ".join(sorted({row.supplier for row in result.new.rows}))),
        told("r_floor", "least margin", result.floor if result.floor is not None else "each job's own", "", SHARE),
        told("r_jobs", "jobs priced again", len(result.jobs), "no"),
        told("r_missed", "left out, to be cured", len(result.missed), "no"),
        told("r_settled", "won, lost or done, as they were", len(result.left) - len(result.missed), "no"),
        told("r_held", "offers held back", len(result.held), "no"),
    )
    parts: list[Part] = [Block(title="Run", scalars=state)]
    charts: tuple[Callable[[Any, Layout], None], ...] = ()
    if found:
        table = Table(key="sums", title="All jobs together", rows=len(found), columns=_sum_columns(found, whole),
                      note="jobs with a price before and after, each currency by itself")  # fmt: skip
        top = Table(key="top", title="The jobs that matter most", rows=min(MOST_SHOWN, len(result.jobs)),
                    columns=_top_columns(result), note="under the floor first, then those that moved most; all stand "
                    "on the sheet Jobs")  # fmt: skip
        parts += [table, top]
        if found[0].jobs:
            charts = (_waterfall(found[0], _steps(result, found[0])),)
    parts.append(
        Text(
            lines=(
                "Margin at the old price: what is left of the price as quoted if all is bought at the new prices.",
                "An offer held back is priced as before until its SKU is named with --accept.",
                "In the chart red makes all jobs together dearer, green cheaper; its figures stand on the sheet Items.",
            )
        )
    )
    purpose = "A new price list: which bids moved, by how much, because of what, and which no longer earn their margin."
    return Sheet(title="Summary", purpose=purpose, parts=tuple(parts), charts=charts, landscape=False, one_page=True)


def _top_columns(result: Repriced) -> tuple[Column, ...]:
    shown = in_order(result.jobs)[:MOST_SHOWN]

    def column(key: str, header: str, values: Iterable[Any], fmt: str = "", width: float = 0) -> Column:
        return Column(key=key, header=header, role="label", values=tuple(values), fmt=fmt, width=width)

    return (
        column("t_job", "job", (f"{one.job}  {one.customer}" for one in shown)),
        column("t_because", "most because of", map(most_because_of, shown), width=52),
        column("t_days", "days left", (one.days_left for one in shown)),
        column("t_floor", "under the floor", ("yes" if one.below_floor else "" for one in shown)),
        column("t_margin", "margin at old price", (one.margin_left for one in shown), SHARE),
        column("t_old", "price before", (one.old_price for one in shown), MONEY),
        column("t_new", "price now", (one.new_price for one in shown), MONEY),
        column("t_more", "more", (one.moved if one.old_price is not None else None for one in shown), MOVED),
        column("t_old_cost", "cost before", (one.old_cost for one in shown), MONEY),
        column("t_new_cost", "cost now", (one.new_cost for one in shown), MONEY),
    )


def _sum_columns(found: Sequence[Sum], whole: bool) -> tuple[Column, ...]:
    def money(key: str, header: str, name: str, of: str) -> Column:
        if whole and of:
            formula = CENTS.format(f'SUMIFS({of},j_currency,[s_currency],j_old_price,">=0")')
            return Column(key=key, header=header, role="money", fmt=MONEY, formula=formula)
        values = tuple(getattr(one, name) for one in found)
        return Column(key=key, header=header, role="money", fmt=MONEY, values=values)

    def count(key: str, header: str, name: str) -> Column:
        return Column(
            key=key, header=header, unit="no", role="label", values=tuple(getattr(one, name) for one in found)
        )

    return (
        Column(key="s_currency", header="currency", role="label", values=tuple(one.currency for one in found)),
        count("s_jobs", "jobs", "jobs"),
        count("s_up", "dearer", "up"),
        count("s_down", "cheaper", "down"),
        count("s_floor", "under the floor", "below_floor"),
        money("s_old", "prices before", "old", "j_old_price"),
        money("s_new", "prices now", "new", "j_new_price"),
        Column(key="s_more", header="more", role="money", fmt=MOVED, formula=CENTS.format("[s_new]-[s_old]")),
        money("s_old_cost", "cost before", "old_cost", "j_old_cost"),
        money("s_new_cost", "cost now", "new_cost", "j_new_cost"),
    )


# -------------------------------------------------------------------------------------------------------------- rows


def _columns(prefix: str, names: Sequence[str], rows: Sequence[Sequence[Any]]) -> tuple[Column, ...]:
    return tuple(
        Column(
            key=f"{prefix}_{name}",
            header=name.replace("_", " "),
            role="label",
            values=tuple(row[at] for row in rows),
            fmt=FORMATS.get(name, ""),
            width=WIDTHS.get(name, 0),
        )
        for at, name in enumerate(names)
        if name != "more"
    )


def _rows(
    title: str, purpose: str, prefix: str, names: Sequence[str], rows: Sequence[Sequence[Any]], file: str
) -> Sheet:
    shown = rows[:MOST_ROWS]
    columns = list(_columns(prefix, names, shown))
    if prefix == "j":
        formula = '=IF(COUNT([j_old_price])=1,ROUND(ROUND([j_new_price]-[j_old_price],8),2),"")'
        more = Column(key="j_more", header="more", role="money", fmt=MOVED, formula=formula)
        columns = [*columns[:6], more, *columns[6:]]
    parts: list[Part] = [
        Table(key=f"{prefix}_table", title=title, rows=max(1, len(shown)), columns=tuple(columns)),
    ]
    if len(rows) > len(shown):
        parts.append(Text(lines=(f"{len(rows) - len(shown):,} more stand in {file} beside this workbook.",)))
    return Sheet(title=title, purpose=purpose, parts=tuple(parts))


# ------------------------------------------------------------------------------------------------------------- items


def _items(result: Repriced) -> Sheet:
    rows, found = item_rows(result), sums(result)
    parts: list[Part] = []
    if found and found[0].jobs:
        first, steps = found[0], _steps(result, found[0])
        words = f"from all prices before to all prices now, in {first.currency}: what the chart in front shows"
        columns = _step_columns(first, steps)
        parts.append(Table(key="steps", title="By item", rows=len(steps) + 2, note=words, columns=columns))
    shown = rows[:MOST_ROWS]
    items = Table(key="i_table", title="Items", rows=max(1, len(shown)), columns=_columns("i", ITEM_COLUMNS, shown))
    return Sheet(
        title="Items",
        purpose="What each item adds to all prices together, the most first.",
        parts=(*parts, items),
    )


def _steps(result: Repriced, first: Sum) -> list[tuple[str, Decimal]]:
    """Return the steps of the waterfall; what does not fit is one step."""
    steps = [(str(row[1]), row[2]) for row in item_rows(result) if row[0] == first.currency]
    if len(steps) > MOST_STEPS:
        rest = sum((money for _, money in steps[MOST_STEPS - 1 :]), Decimal(0))
        steps = [*steps[: MOST_STEPS - 1], ("all others", rest)]
    return steps


def _step_columns(first: Sum, steps: Sequence[tuple[str, Decimal]]) -> tuple[Column, ...]:
    count = len(steps)
    inner = "=MIN([wf_to-],[wf_to])"
    return (
        Column(key="wf_name", header="step", role="label",
               values=("before", *(name for name, _ in steps), "now"), width=34),
        Column(key="wf_amount", header="adds", role="label", fmt=MOVED,
               values=(first.old, *(money for _, money in steps), None)),
        Column(key="wf_to", header="up to", role="money", fmt=MONEY, formula=CENTS.format("[wf_to-]+[wf_amount]")),
        Column(key="wf_base", header="from", fmt=MONEY, formula=("=0", *(inner,) * count, "=0")),
        Column(key="wf_total", header="all", fmt=MONEY, formula=("=[wf_to]", *("=0",) * count, "=[wf_to]")),
        Column(key="wf_up", header="dearer", fmt=MONEY, formula=("=0", *("=MAX(0,[wf_amount])",) * count, "=0")),
        Column(key="wf_down", header="cheaper", fmt=MONEY, formula=("=0", *("=MAX(0,0-[wf_amount])",) * count, "=0")),
    )  # fmt: skip


def _waterfall(first: Sum, steps: Sequence[tuple[str, Decimal]]) -> Callable[[Any, Layout], None]:
    bars = len(steps) + 2

    def draw(worksheet: Any, placed: Layout) -> None:
        from openpyxl.chart import BarChart, Reference

        items, chart = worksheet.parent["Items"], BarChart()
        chart.type, chart.grouping, chart.overlap, chart.gapWidth, chart.style = "col", "stacked", 100, 40, 10
        chart.title, chart.legend = f"From all prices before to all prices now, {first.currency}", None
        chart.width, chart.height = 30.0, 12.0
        for key, colour in (("wf_base", None), ("wf_total", "8C9BAA"), ("wf_up", "C0504D"), ("wf_down", "4F9D69")):
            _, top, col = placed.address(key)
            chart.add_data(Reference(items, min_col=col, min_row=top, max_row=top + bars - 1))
            shape = chart.series[-1].graphicalProperties
            if colour:
                shape.solidFill = colour
            else:
                shape.noFill = True
            shape.line.noFill = True
        _, top, col = placed.address("wf_name")
        chart.set_categories(Reference(items, min_col=col, min_row=top, max_row=top + bars - 1))
        chart.x_axis.delete = chart.y_axis.delete = False
        chart.y_axis.number_format, chart.y_axis.majorGridlines = "#,##0", None
        chart.y_axis.scaling.min = _foot(first, steps)
        _, last, _ = placed.address("t_job", placed.count("t_job") - 1)
        worksheet.add_chart(chart, f"A{last + 6}")

    return draw


def _foot(first: Sum, steps: Sequence[tuple[str, Decimal]]) -> float:
    """Return where the axis begins: far enough below all steps that they can be seen."""
    ends = list(accumulate((money for _, money in steps), initial=first.old))
    low, high = float(min(ends)), float(max(ends))
    return max(0.0, round(low - max(high - low, 0.01 * low), -2))
