"""An estimate as plain data for scripts: the JSON of ``takeoff --json`` and the rows of summary.csv."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from baybook.estimate import Estimate
from baybook.job.records import ITEMS, PriceRow
from baybook.numbers import r6
from baybook.pricing.cutgoods import CutLine
from baybook.takeoff.model import AreaTake, Part
from baybook.units import show_length
from baybook.watercheck.model import CheckRow

__all__ = [
    "CUT_COLUMNS",
    "OFFCUT_COLUMNS",
    "SUMMARY_COLUMNS",
    "as_data",
    "cut_rows",
    "offcut_rows",
    "order_rows",
    "summary_row",
]

TOTALS = ("materials", "labour", "other", "overhead", "contingency", "profit", "tax", "price")
SUMMARY_COLUMNS = ("job", "customer", "status", "quoted_on", "currency", "bays", *TOTALS, "warnings", "workbook")


def money(value: Decimal) -> str:
    """Return money as text with two decimals."""
    return f"{value:.2f}"


def number(value: float) -> float | int:
    """Return a quantity rounded to six places, whole ones as whole numbers."""
    rounded = r6(value)
    return int(rounded) if rounded == int(rounded) else rounded


def _part(take: AreaTake, part: Part) -> dict[str, Any]:
    return {
        "members": len(take.members),
        "bays": len(part.bays),
        "outlets": part.outlets,
        "clear_widths_in": [number(bay.clear_in) for bay in part.bays],
        "cut_lengths_in": [number(bay.cut_length_in) for bay in part.bays],
        "clear_run_in": number(part.clear_run_in),
        "fall_in_per_ft": number(part.fall_in_per_ft),
        "outlet_trim_in": number(take.outlet_trim_in),
        "plan_area_sq_ft": number(part.plan_area_sq_ft),
    }


def _items(estimate: Estimate) -> dict[str, Any]:
    """Lines by item; those of several liners add up."""
    items: dict[str, dict[str, Any]] = {}

    def add(item: str, unit: str, net: float, order: float, packs: int, cost: Decimal) -> None:
        row = items.setdefault(item, {"net": 0, "order": 0, "unit": unit, "packs": 0, "cost": Decimal(0)})
        row["net"], row["order"] = row["net"] + net, row["order"] + order
        row["packs"], row["cost"] = row["packs"] + packs, row["cost"] + cost

    for cut in estimate.cuts:
        add(cut.cut.item, "piece", len(cut.cut.pieces), cut.pieces, cut.pieces, cut.cost)
    for line in estimate.lines:
        add(line.need.item, line.unit, line.net, line.order, line.packs, line.cost)
    return {
        item: {**row, "net": number(row["net"]), "order": number(row["order"]), "cost": money(row["cost"])}
        for item, row in items.items()
        if r6(row["net"]) != 0
    }


def _plan(cut: CutLine) -> dict[str, Any]:
    data: dict[str, Any] = {
        "cost": money(Decimal(cut.plan.cost) / 100),
        "lower_bound": money(Decimal(cut.plan.lower_bound) / 100),
        "proven": cut.plan.proven,
        "stock": {f"{number(one.length / 16)}": one.planned for one in cut.bought if one.planned},
    }
    used = [one for one in cut.offcuts if one.used]
    if used:
        data["offcuts"] = [
            {"length_in": number(o.length / 16), "used": o.used, "location": o.row.location} for o in used
        ]
    return data


def _plan_key(cut: CutLine, estimate: Estimate) -> str:
    if cut.cut.item == "liner" and len(estimate.inputs.liners) > 1:
        return f"liner: {estimate.inputs.liners[cut.cut.liner].liner}"
    return cut.cut.item


def _water_row(row: CheckRow) -> dict[str, Any]:
    return {
        "where": row.where,
        "method": row.method,
        "edition": row.edition,
        "flow_gpm": number(row.flow_gpm),
        "capacity_gpm": number(row.capacity_gpm),
        "decides": row.governs,
        "passes": row.passes,
        "least_size": row.least_size,
        "leaders": row.leaders,
    }


def as_data(estimate: Estimate) -> dict[str, Any]:
    """Return an estimate as the JSON of one job.

    Parameters
    ----------
    estimate : Estimate
        The estimate.

    Returns
    -------
    dict
        Money as text with two decimals, quantities rounded to six places; keys as the README lists them.
    """
    takeoff = estimate.takeoff
    return {
        "bays": takeoff.bays,
        "flow_gpm": number(takeoff.flow_gpm),
        "labour_hours": float(sum((line.hours for line in estimate.labour), Decimal(0))),
        "bead_ft": number(takeoff.bead_ft),
        "areas": {part.name: _part(take, part) for take in takeoff.areas for part in take.parts if part.bays},
        "gutter_lines": {
            line.name: {
                "length_ft": number(line.length_ft),
                "flow_gpm": number(line.flow_gpm),
                "leaders": line.leaders,
                "leader_length_in": number(line.leader_length_in),
                "joist_bottom_in": number(line.joist_bottom_in),
                "corners_outside": line.corners_out,
                "corners_inside": line.corners_in,
            }
            for line in takeoff.lines
        },
        "items": _items(estimate),
        "hours": {line.task: float(line.hours) for line in estimate.labour},
        "totals": {name: money(getattr(estimate.totals, name)) for name in TOTALS},
        "cut_plan": {_plan_key(cut, estimate): _plan(cut) for cut in estimate.cuts},
        "warnings": [str(finding) for finding in estimate.findings],
        "rain": {"in_per_h": number(estimate.inputs.job.rain_in_per_h), "from": estimate.inputs.rain.text},
        "water_checks": [_water_row(row) for row in estimate.water.rows],
    }


def summary_row(estimate: Estimate, workbook: str) -> Sequence[Any]:
    """Return the row of summary.csv for one job."""
    job, totals = estimate.inputs.job, estimate.totals
    return (
        job.job,
        job.customer,
        job.status,
        estimate.inputs.on.isoformat(),
        job.currency,
        estimate.takeoff.bays,
        *(getattr(totals, name) for name in TOTALS),
        len(estimate.findings),
        workbook,
    )


def order_rows(estimate: Estimate) -> list[Sequence[Any]]:
    """Return the draft order of a job, by supplier in whole packs, as rows of CSV."""
    rows: list[Sequence[Any]] = []

    def add(row: PriceRow, packs: int, amount: Decimal) -> None:
        unit = row.unit or ITEMS[row.item].unit
        rows.append(
            (
                row.supplier,
                row.sku,
                row.item,
                row.description,
                packs,
                row.pack_qty,
                unit,
                row.pack_price,
                amount,
                row.currency,
            )
        )

    for cut in estimate.cuts:
        for one in cut.bought:
            if one.pieces:
                add(one.offer, one.pieces, one.cost)
    for line in estimate.lines:
        if line.taken and line.packs:
            add(line.taken.offer, line.packs, line.cost)
    return sorted(rows, key=lambda row: (str(row[0]).casefold(), str(row[1]).casefold()))


CUT_COLUMNS = (
    "item", "liner", "label", "length_in", "length", "stock_piece", "stock_length_in", "offcut_at", "left_over_in",
)  # fmt: skip
OFFCUT_COLUMNS = ("item", "length", "quantity", "location")


def cut_rows(estimate: Estimate) -> list[Sequence[Any]]:
    """Return the cut list in the order of work, each piece with its stock piece and what is left of that."""
    units = estimate.inputs.rates.units
    return [
        (
            cut.cut.item,
            estimate.inputs.liners[cut.cut.liner].liner if cut.cut.liner else "",
            label,
            number(length / 16),
            show_length(length / 16, units),
            piece.number,
            number(piece.length / 16),
            piece.location,
            number(piece.remainder / 16),
        )
        for cut in estimate.cuts
        for label, length, piece in cut.in_order_of_work()
    ]


def offcut_rows(estimates: Sequence[Estimate]) -> list[Sequence[Any]]:
    """P7. Return the reusable remainders of the plans, and offcuts they leave alone, as rows of the next stock.csv."""
    rows: list[Sequence[Any]] = []
    used: dict[Any, int] = {}
    for estimate in estimates:
        least = estimate.inputs.rates.offcut_min_in
        for cut in estimate.cuts:
            name = f"liner: {estimate.inputs.liners[cut.cut.liner].liner}" if cut.cut.liner else cut.cut.item
            left = [pattern for pattern in cut.plan.patterns if r6(pattern.remainder / 16) >= r6(least)]
            rows += [
                (name, f"{number(pattern.remainder / 16)} in", pattern.times, f"from job {estimate.inputs.job.job}")
                for pattern in left
            ]
            for one in cut.offcuts:
                used[one.row] = used.get(one.row, 0) + one.used
    for row in estimates[0].inputs.stock if estimates else ():
        rest = row.quantity - used.get(row, 0)
        if rest > 0:
            rows.append((row.item, f"{number(row.length_in)} in", rest, row.location))
    return rows
