"""A change order as a page to sign: what was measured, what the contract comes to; no cost and no margin."""

from __future__ import annotations

import datetime as dt
from typing import Any

from baybook.changes import ChangeOrder
from baybook.units import show_length
from baybook.workbook.buying import file_of, told
from baybook.workbook.declare import Block, BookSpec, Column, Part, Scalar, Sheet, Table, Text

__all__ = ["change_spec", "change_workbook"]

MONEY = "#,##0.00"


def change_workbook(change: ChangeOrder, when: dt.datetime) -> bytes:
    """Return a change order as a sheet to print and sign.

    Parameters
    ----------
    change : ChangeOrder
        What was issued.
    when : datetime
        The moment of the run, for the file's properties.

    Returns
    -------
    bytes
        An xlsx file; the contract sum is a formula.
    """
    paper = "A4" if change.units == "metric" else "Letter"
    return file_of(change_spec(change), f"Change order {change.name} {change.customer}", when, paper=paper)


def change_spec(change: ChangeOrder) -> BookSpec:
    """Declare the sheet of a change order."""

    def money(key: str, label: str, value: Any = None, formula: str | None = None) -> Scalar:
        return Scalar(key=key, label=label, unit=change.currency, role="money", fmt=MONEY, value=value, formula=formula)

    parts: list[Part] = [
        Block(
            title=f"Change order {change.number} of job {change.job}",
            scalars=(
                told("co_date", "date", change.issued_on.isoformat()),
                told("co_customer", "customer", change.customer),
                told("co_site", "site", change.site or None),
                told("co_reason", "why", change.reason or "the deck as framed was measured again"),
            ),
        )
    ]
    if change.bays:
        parts.append(Table(key="co_bays", title="Bays as measured", rows=len(change.bays), columns=_bays(change)))
    parts += [
        Block(
            title="Price",
            scalars=(
                money("co_bid", "contract as first agreed", float(change.contract.bid)),
                money("co_signed", "changes signed before", float(change.contract.total - change.contract.bid)),
                money("co_change", "this change", float(change.amount)),
                money("co_total", "contract with this change", formula="=ROUND(ROUND(co_bid+co_signed+co_change,8),2)"),
            ),
        ),
        Block(
            title="Agreed",
            scalars=(
                told("co_signed_by", "customer: name, date", None),
                told("co_builder", "builder: name, date", None),
            ),
        ),
        Text(lines=("Work on this change begins when it is signed. All else of the contract stands.",)),
    ]
    purpose = "A change of the contract, worked out from the deck as it stands."
    return BookSpec(
        sheets=(Sheet(title="Change order", purpose=purpose, parts=tuple(parts), landscape=False),), lists={}
    )


def _bays(change: ChangeOrder) -> tuple[Column, ...]:
    def length(key: str, header: str, values: list[float]) -> Column:
        shown = tuple(show_length(value, change.units) for value in values)
        return Column(key=key, header=header, role="label", values=shown, width=18)

    rows = change.bays
    return (
        Column(key="cb_bay", header="bay", role="label", values=tuple(row.bay for row in rows), width=18),
        length("cb_width_0", "width, as drawn", [row.width_before_in for row in rows]),
        length("cb_width_1", "as measured", [row.width_after_in for row in rows]),
        length("cb_run_0", "length, as drawn", [row.run_before_in for row in rows]),
        length("cb_run_1", "as measured", [row.run_after_in for row in rows]),
    )
