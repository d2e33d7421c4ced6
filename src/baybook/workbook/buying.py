"""The workbooks of buying: an order to print, and the reconciliation."""

from __future__ import annotations

import datetime as dt
import io
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from baybook import __version__
from baybook.buying.model import KINDS
from baybook.buying.orders import Order, jobs_text
from baybook.buying.report import EXCEPTION_COLUMNS, LINE_COLUMNS, SupplierSum
from baybook.buying.settle import Settled, claim_text
from baybook.buying.used import ENOUGH, HOURS_COLUMNS, MATERIAL_COLUMNS, Proposal
from baybook.workbook.declare import Block, BookSpec, Column, Part, Scalar, Sheet, Table, Text, layout

if TYPE_CHECKING:
    import pandas as pd

__all__ = [
    "MOST_ROWS",
    "Reconciliation",
    "file_of",
    "order_spec",
    "order_workbook",
    "reconciliation_spec",
    "reconciliation_workbook",
    "told",
]

MOST_ROWS = 19_000  # a sheet of our own stays within what is read back
CENTS = "=ROUND(ROUND({},8),2)"
MONEY = "#,##0.00"
WORDS = {"said": 60.0, "status": 34.0, "description": 30.0, "by": 24.0}
FORMATS = dict.fromkeys(("money", "credited", "claim", "amount"), MONEY) | dict.fromkeys(
    ("pack_price", "billed_price"), "#,##0.00##"
)
ELSEWHERE = "wording"  # of claims: the sheet of claims has it


def file_of(spec: BookSpec, title: str, when: dt.datetime, *, paper: str = "Letter") -> bytes:
    """Return a declared workbook, its formulas worked out, as a file."""
    from baybook.workbook.evaluate import evaluate
    from baybook.workbook.xlsx import write_xlsx

    made = layout(spec)
    stream = io.BytesIO()
    properties = {"title": title, "creator": f"baybook {__version__}"}
    write_xlsx(spec, made, evaluate(spec, made), stream, properties=properties, modified=when, paper=paper)
    return stream.getvalue()


def _values(rows: Sequence[Sequence[Any]], at: int) -> tuple[Any, ...]:
    """Return a column of rows; what is no number is a blank."""
    found = (row[at] for row in rows)
    return tuple(None if isinstance(value, float) and math.isnan(value) else value for value in found)


# ---------------------------------------------------------------------------------------------- an order


def told(key: str, label: str, value: Any) -> Scalar:
    """Return a line of a head: what it is, and the value that stands beside it."""
    return Scalar(key=key, label=label, role="label", value=value)


def order_workbook(order: Order, when: dt.datetime) -> bytes:
    """Return an order as a sheet to print and send.

    Parameters
    ----------
    order : Order
        What was issued.
    when : datetime
        The moment of the run, for the file's properties.

    Returns
    -------
    bytes
        An xlsx file; amounts and their sum are formulas.
    """
    return file_of(order_spec(order), f"Order {order.name} {order.supplier}", when)


def order_spec(order: Order) -> BookSpec:
    """Declare the sheet of an order."""
    head = [
        told("order_number", "order", order.number),
        *([told("order_revision", "revision", order.revision)] if order.revision else []),
        told("order_date", "date", order.issued_on.isoformat()),
        told("order_buyer", "from", "\n".join((order.buyer, *order.buyer_address))),
        told("order_supplier", "to", "\n".join((order.supplier, *order.supplier_address))),
        told("order_account", "our account with you", order.account or None),
        told("order_ship_to", "deliver to", order.ship_to or None),
        told("order_wanted", "wanted there by", order.wanted_on.isoformat() if order.wanted_on else None),
        told("order_currency", "currency", order.currency),
    ]
    parts: list[Part] = [
        Block(title=f"Order {order.name}", scalars=tuple(head)),
        Table(key="order_lines", title="Lines", rows=len(order.lines), columns=_order_columns(order)),
        Block(
            title="Sum",
            scalars=(
                Scalar(key="order_total", label="total without tax", unit=order.currency, role="money", fmt=MONEY,
                       formula=CENTS.format("SUM(ol_amount)")),
            ),
        ),
    ]  # fmt: skip
    if order.notes:
        changes = Column(key="oc_said", header="changed", role="label", values=order.notes, width=60)
        title = f"What changed since revision {order.revision - 1}"
        parts.append(Table(key="order_changes", title=title, rows=len(order.notes), columns=(changes,)))
    parts.append(Text(lines=("Please name the order's number on the delivery note and on the invoice.",)))
    sheet = Sheet(title="Order", purpose="Goods ordered, in whole packs.", parts=tuple(parts), landscape=True)
    return BookSpec(sheets=(sheet,), lists={})


def _order_columns(order: Order) -> tuple[Column, ...]:
    lines = order.lines
    return (
        Column(key="ol_line", header="line", unit="no", role="label", values=tuple(one.line for one in lines)),
        Column(key="ol_sku", header="SKU", role="label", values=tuple(one.sku for one in lines)),
        Column(key="ol_item", header="item", role="label", values=tuple(one.item for one in lines)),
        Column(key="ol_text", header="description", role="label", values=tuple(one.description for one in lines)),
        Column(key="ol_packs", header="packs", unit="no", role="result", fmt="#,##0.###",
               values=tuple(one.packs for one in lines)),
        Column(key="ol_pack", header="in a pack", role="label", fmt="#,##0.######",
               values=tuple(one.pack_qty for one in lines)),
        Column(key="ol_unit", header="unit", role="label", values=tuple(one.unit for one in lines)),
        Column(key="ol_price", header="pack price", unit=order.currency, role="label", fmt="#,##0.00##",
               values=tuple(one.pack_price for one in lines)),
        Column(key="ol_amount", header="amount", unit=order.currency, role="money", fmt=MONEY,
               formula=CENTS.format("[ol_packs]*[ol_price]")),
        Column(key="ol_jobs", header="jobs", role="label", values=tuple(jobs_text(one.jobs) for one in lines)),
    )  # fmt: skip


# ---------------------------------------------------------------------------------------------- the reconciliation


@dataclass(frozen=True, slots=True, kw_only=True)
class Reconciliation:
    """What the reconciliation workbook shows.

    Parameters
    ----------
    sums : sequence of SupplierSum
        One a supplier and currency.
    settled : sequence of Settled
        The findings, open ones first.
    exceptions, lines : sequence of rows
        As `exception_rows` and `line_rows` give them.
    materials, hours : DataFrame
        As `materials_used` and `hours_used` give them.
    proposed : sequence of Proposal
        Rates that the jobs bear out.
    tolerance : str
        The setting in force, in words.
    """

    sums: Sequence[SupplierSum]
    settled: Sequence[Settled]
    exceptions: Sequence[Sequence[Any]]
    lines: Sequence[Sequence[Any]]
    materials: pd.DataFrame
    hours: pd.DataFrame
    proposed: Sequence[Proposal]
    tolerance: str


def reconciliation_workbook(found: Reconciliation, when: dt.datetime) -> bytes:
    """Return the reconciliation as a workbook.

    Parameters
    ----------
    found : Reconciliation
        What was found.
    when : datetime
        The moment of the run.

    Returns
    -------
    bytes
        An xlsx file: summary by supplier, exceptions first, claims with their wording, all lines, what the jobs used.
    """
    return file_of(reconciliation_spec(found, when), "Reconciliation", when)


def reconciliation_spec(found: Reconciliation, when: dt.datetime) -> BookSpec:
    """Declare the sheets of a reconciliation."""
    sheets = (
        _summary(found, when),
        _rows_sheet("Exceptions", "What is not as it should be: open first.", "x", EXCEPTION_COLUMNS, found.exceptions,
                    more=(_numbers(found),)),
        _claims(found),
        _rows_sheet("All lines", "Every line of every order and invoice: those with something open first.", "l",
                    LINE_COLUMNS, found.lines),
        _frame_sheet("Materials used", "What came, less sent back and left over, against the take-off.", "m",
                     MATERIAL_COLUMNS, found.materials),
        _frame_sheet("Hours worked", "Person-hours on each task, as estimated too.", "h", HOURS_COLUMNS, found.hours),
        _proposed(found.proposed),
    )  # fmt: skip
    return BookSpec(sheets=sheets, lists={})


def _numbers(found: Reconciliation) -> Column:
    """Return the column of suppliers as numbers, which sums can go by without comparing words."""
    known = {(one.supplier, one.currency): number for number, one in enumerate(found.sums, 1)}
    fallback = {one.supplier: number for number, one in enumerate(found.sums, 1)}
    values = [known.get((row[3], row[11]), fallback.get(row[3], 0)) for row in found.exceptions[:MOST_ROWS]]
    return Column(key="x_no", header="supplier no", unit="no", role="label", values=tuple(values))


def _summary(found: Reconciliation, when: dt.datetime) -> Sheet:
    sums, whole = found.sums, len(found.exceptions) <= MOST_ROWS
    rows = max(1, len(sums))

    def money(key: str, header: str, name: str) -> Column:
        values = tuple(getattr(one, name) for one in sums)
        return Column(key=key, header=header, role="label", fmt=MONEY, values=values)

    live = (
        Column(key="s_claims", header="to claim", role="money", fmt=MONEY,
               formula=CENTS.format("SUMIFS(x_claim,x_no,[s_no])")),
        Column(key="s_open", header="open", unit="no", role="result", formula='=COUNTIFS(x_no,[s_no],x_state,"open")'),
    ) if whole else (
        money("s_claims", "to claim", "claims"),
        Column(key="s_open", header="open", unit="no", role="result", values=tuple(one.open for one in sums)),
    )  # fmt: skip
    columns = (
        Column(key="s_no", header="no", role="label", values=tuple(range(1, rows + 1))),
        Column(key="s_supplier", header="supplier", role="label", values=tuple(one.supplier for one in sums)),
        Column(key="s_currency", header="currency", role="label", values=tuple(one.currency for one in sums)),
        money("s_ordered", "ordered", "ordered"),
        money("s_billed", "billed", "billed"),
        money("s_credited", "credited", "credited"),
        *live,
    )
    state = (
        Scalar(key="r_when", label="made", role="label", value=f"{when:%Y-%m-%d %H:%M}"),
        Scalar(key="r_tolerance", label="let pass", role="label", value=found.tolerance),
        Scalar(key="r_open", label="open in all", unit="no", role="result", formula="=SUM(s_open)"),
    )
    legend = Table(
        key="kinds",
        title="What the kinds mean",
        rows=len(KINDS),
        columns=(
            Column(key="k_kind", header="kind", role="label", values=tuple(KINDS)),
            Column(key="k_words", header="meaning", role="label", values=tuple(KINDS.values())),
        ),
    )
    return Sheet(
        title="Summary",
        purpose="Orders, goods and invoices put together, by supplier.",
        parts=(
            Block(title="State", scalars=state),
            Table(key="suppliers", title="By supplier", rows=rows, columns=columns, note="each in its own currency"),
            legend,
        ),
    )


def _rows_sheet(
    title: str, purpose: str, prefix: str, names: Sequence[str], rows: Sequence[Sequence[Any]],
    more: Sequence[Column] = (),
) -> Sheet:  # fmt: skip
    shown = rows[:MOST_ROWS]
    columns = [
        Column(
            key=f"{prefix}_{name}",
            header=name.replace("_", " "),
            role="label",
            values=_values(shown, at),
            fmt=FORMATS.get(name, ""),
            width=WORDS.get(name, 0),
        )
        for at, name in enumerate(names)
        if name != ELSEWHERE
    ]
    parts: list[Part] = [
        Table(key=f"{prefix}_table", title=title, rows=max(1, len(shown)), columns=(*columns, *more)),
    ]
    if len(rows) > len(shown):
        parts.append(
            Text(lines=(f"{len(rows) - len(shown):,} more lines stand in the CSV file beside this workbook.",))
        )
    return Sheet(title=title, purpose=purpose, parts=tuple(parts))


def _claims(found: Reconciliation) -> Sheet:
    claims = [one for one in found.settled if one.claim][:MOST_ROWS]
    columns = (
        Column(key="c_supplier", header="supplier", role="label", values=tuple(one.finding.supplier for one in claims)),
        Column(key="c_invoice", header="invoice", role="label", values=tuple(one.finding.invoice for one in claims)),
        Column(key="c_kind", header="kind", role="label", values=tuple(KINDS[one.finding.kind] for one in claims)),
        Column(key="c_money", header="to credit", role="label", fmt=MONEY, values=tuple(one.claim for one in claims)),
        Column(key="c_currency", header="currency", role="label", values=tuple(one.finding.currency for one in claims)),
        Column(key="c_words", header="wording", role="label", width=110, values=tuple(map(claim_text, claims))),
        Column(key="c_mark", header="finding", role="label", values=tuple(one.finding.mark for one in claims)),
    )
    purpose = "What to claim, with words to send. A credit note closes a claim when it comes."
    return Sheet(
        title="Claims",
        purpose=purpose,
        parts=(Table(key="claims", title="Claims to make", rows=max(1, len(claims)), columns=columns),),
    )


def _frame_sheet(title: str, purpose: str, prefix: str, names: Sequence[str], frame: pd.DataFrame) -> Sheet:
    rows = list(frame.itertuples(index=False, name=None))
    shares = {"waste", "in_use"} if prefix == "m" else set()
    columns = tuple(
        Column(
            key=f"{prefix}_{name}",
            header=name.replace("_", " "),
            role="label",
            values=_values(rows[:MOST_ROWS], at),
            fmt="0.0%" if name in shares else "" if at < 3 + (prefix == "m") else "#,##0.###",
        )
        for at, name in enumerate(names)
    )
    table = Table(key=f"{prefix}_table", title=title, rows=max(1, len(rows[:MOST_ROWS])), columns=columns)
    return Sheet(title=title, purpose=purpose, parts=(table,))


def _proposed(found: Sequence[Proposal]) -> Sheet:
    def figures(key: str, header: str, name: str) -> Column:
        values = tuple(round(getattr(one, name), 6) for one in found)
        return Column(key=key, header=header, role="label", fmt="0.000", values=values)

    says = tuple("" if one.enough else f"too few jobs: at least {ENOUGH} are needed" for one in found)
    columns = (
        Column(key="p_key", header="rate", role="label", values=tuple(one.key for one in found)),
        figures("p_in_use", "in use", "in_use"),
        figures("p_proposed", "borne out", "proposed"),
        Column(key="p_jobs", header="jobs", unit="no", role="label", values=tuple(one.jobs for one in found)),
        figures("p_low", "lowest", "low"),
        figures("p_quartile", "lower quarter", "quartile"),
        figures("p_median", "median", "median"),
        figures("p_upper", "upper quarter", "upper"),
        figures("p_high", "highest", "high"),
        figures("p_deviation", "deviation", "deviation"),
        Column(key="p_says", header="says", role="label", values=says),
    )
    return Sheet(
        title="Proposed rates",
        purpose="Rates that the jobs that are done bear out, and their spread. Nothing is applied by itself.",
        parts=(Table(key="proposed", title="Rates", rows=max(1, len(found)), columns=columns),),
    )
