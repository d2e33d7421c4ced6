"""Constants and rates in the units the workings use; named, so that no formula holds a number of its own."""

from __future__ import annotations

from baybook.data import dressed_depths
from baybook.estimate import Estimate
from baybook.takeoff.findings import HANGERS_APART_IN
from baybook.takeoff.gutters import MOST_LEADERS
from baybook.takeoff.panels import MOST_PIECES
from baybook.units import GPM_PER_IN_H_SQ_FT
from baybook.water.leaders import leader_side_in
from baybook.workbook.declare import Block, Column, Scalar, Sheet, Table
from baybook.workbook.shape import Shape
from baybook.workbook.sheets.inputs import Units

__all__ = ["constants_sheet"]

FRACTIONS = ("", *(f"-{n}/{d}" for n, d in [
    (1, 16), (1, 8), (3, 16), (1, 4), (5, 16), (3, 8), (7, 16), (1, 2), (9, 16), (5, 8), (11, 16), (3, 4), (13, 16), (7, 8), (15, 16),
]))  # fmt: skip


def _fixed(key: str, value: float, label: str, unit: str = "", note: str = "") -> Scalar:
    return Scalar(key=key, label=label, unit=unit, value=value, note=note, fmt="General")


def constants_sheet(estimate: Estimate, shape: Shape) -> Sheet:
    """Return the sheet of constants, small tables and derived rates."""
    units = Units(estimate.inputs.rates.units == "metric")
    constants = (
        Scalar(key="layout_id", label="layout of this workbook", note="where what stands; refresh keeps to it"),
        Scalar(key="inputs_id", label="mark of the inputs it was made from", origin="plan"),
        _fixed("metric", int(units.metric), "shown in metric", "0/1"),
        _fixed("big_in", units.big_in, f"inches in one {units.big}", "in"),
        _fixed("small_in", units.small_in, f"inches in one {units.small}", "in"),
        _fixed("mm_per_in", 25.4, "millimetres in one inch", "mm", "exact, international inch"),
        _fixed("half", 0.5, "one half"),
        _fixed("tight_plies", 1.5, "plies to the centre of a joist set tight against the end joist", "plies", "G2"),
        _fixed("default_thickness_in", 1.5, "thickness of a ply where none is given", "in", "DOC PS 20"),
        _fixed("per_inch", 16, "sixteenths in an inch"),
        _fixed("per_foot", 192, "sixteenths in a foot"),
        _fixed("eighths", 8, "eighths in an inch"),
        _fixed("gpm_per_unit", GPM_PER_IN_H_SQ_FT, "flow of 1 in/h on 1 sq ft", "gpm", "W1: 7.480519/720"),
        _fixed("leader_coefficient", 27.8, "Wyly-Eaton coefficient", "", "NSPC 2006 Table 13.6.1"),
        _fixed("leader_filled", 7 / 24, "share of the leader filled", "", "NSPC 2006 Table 13.6.1"),
        _fixed("filled_power", 5 / 3, "power of the share"),
        _fixed("size_power", 8 / 3, "power of the size"),
        _fixed("cu_in_per_fl_oz", 231 / 128, "cubic inches in a fluid ounce", "cu in", "exact, US gallon of 231 cu in"),
        _fixed("most_leaders", MOST_LEADERS, "most leaders of a line", "no", "more is a slip of the pen"),
        _fixed(
            "most_pieces", MOST_PIECES, "most pieces of a panel, gutter or leader", "no", "more is a slip of the pen"
        ),
        _fixed("no_fit", 1e12, "larger than any price or key that counts"),
        _fixed(
            "hangers_apart_in",
            HANGERS_APART_IN,
            "hangers at most apart",
            "in",
            "Missouri Extension WQ322; 18 where ice lasts",
        ),
        _fixed("lane_step", 1e10, "step from lane to lane in a sort key"),
        _fixed("far_away", 1e6, "longer than any gutter", "ft"),
        _fixed("spare_lane", 50, "lane of rows that do not count"),
    )
    derived = (
        Scalar(
            key="price_date",
            label="prices in force on",
            unit="date",
            rule="M6",
            formula='=IF(job_quoted_on="",job_prices_on,job_quoted_on)',
            fmt="yyyy-mm-dd",
        ),
        Scalar(
            key="leader_side_in",
            label="smaller side of the leader",
            unit="in",
            rule="W3",
            formula="=INDEX(size_side,MATCH(leader_size,size_code,0))",
        ),
        Scalar(
            key="leader_gpm",
            label="capacity of one leader",
            unit="gpm",
            rule="W3",
            formula='=IF(leader_capacity_gpm="",leader_coefficient*leader_filled^filled_power*leader_side_in^size_power,'
            "leader_capacity_gpm)",
            fmt="0.0000",
        ),
        Scalar(
            key="cartridge_ft",
            label="bead a cartridge yields",
            unit="ft",
            rule="T2",
            formula="=cartridge_fl_oz*cu_in_per_fl_oz/(PI()*bead_diameter_in*bead_diameter_in*half*half)/12",
            fmt="0.00",
        ),
        Scalar(key="pitch_in", label="board and gap", unit="in", rule="G3", formula="=board_width_in+board_gap_in"),
        Scalar(
            key="min_piece_cut_in",
            label="shortest piece, to the sixteenth",
            unit="in",
            rule="P6",
            formula="=ROUNDUP(ROUND(min_piece_in*per_inch,6),0)/per_inch",
        ),
        Scalar(
            key="min_rest_cut_in",
            label="shortest rest, to the sixteenth",
            unit="in",
            rule="T4",
            formula="=ROUNDUP(ROUND(min_rest_in*per_inch,6),0)/per_inch",
        ),
        Scalar(
            key="kerf_cut",
            label="kerf",
            unit="1/16 in",
            rule="P7",
            formula="=ROUNDUP(ROUND(kerf_in*per_inch,6),0)",
        ),
        Scalar(
            key="end_trim_cut",
            label="end trim",
            unit="1/16 in",
            rule="P7",
            formula="=ROUNDUP(ROUND(end_trim_in*per_inch,6),0)",
        ),
    )
    codes = shape.sizes
    depths = dressed_depths()
    tables = (
        Table(
            key="sizes",
            title="Leader sizes",
            rows=len(codes),
            columns=(
                Column(key="size_code", header="size", role="label", values=codes),
                Column(
                    key="size_side", header="smaller side", unit="in", values=tuple(leader_side_in(c) for c in codes)
                ),
            ),
        ),
        Table(
            key="lumber",
            title="Dressed lumber",
            rows=len(depths),
            note="DOC PS 20",
            columns=(
                Column(key="lumber_code", header="size", role="label", values=tuple(depths)),
                Column(key="lumber_depth", header="depth", unit="in", values=tuple(depths.values())),
            ),
        ),
        Table(
            key="fractions",
            title="Fractions of an inch",
            rows=16,
            columns=(
                Column(key="fraction_no", header="sixteenths", values=tuple(range(16))),
                Column(key="fraction_text", header="as written", role="label", values=FRACTIONS),
            ),
        ),
    )
    return Sheet(
        title="Constants",
        purpose="Numbers with a name, small tables, and rates brought to the units the workings use.",
        parts=(Block(title="Constants", scalars=constants), Block(title="Derived", scalars=derived), *tables),
        landscape=False,
        working=True,
    )
