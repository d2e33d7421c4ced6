"""Functions on bays, panels, outlets, tape and sealant."""

from __future__ import annotations

from typing import Any

from baybook.addin.declare import (
    UNITS,
    Argument,
    Function,
    Head,
    arg,
    cells,
    many_values,
    one_value,
    rows_of,
    table,
)
from baybook.addin.onedeck import tape_ft
from baybook.addin.reading import Refusal, is_heading, read_cell
from baybook.job.fields import Kind
from baybook.job.rates import WASTE_DEFAULTS, Rates
from baybook.job.records import Area, Framing, Liner
from baybook.numbers import sixteenths_down, sixteenths_up, up
from baybook.pricing.offers import order_quantity
from baybook.takeoff.members import clear_widths_in, members_of
from baybook.takeoff.outlets import height_left_in, outlet_trim_in
from baybook.takeoff.panels import clear_run_in, cut_length_in, fall_in_per_ft, pieces_of_panel, width_needed_in
from baybook.takeoff.take import bead_of_cartridge_ft

__all__ = ["FUNCTIONS"]


def _inches(name: str, text: str, **more: Any) -> Argument:
    return arg(Kind.LENGTH, name, bare_unit="in", unit="in", high=9999, help=text, **({"above": 0} | more))


WIDTH = arg(Area, "width", "width_in")
PROJECTION = arg(Area, "projection", "projection_in")
SPACING = arg(Area, "spacing", "spacing_in")
LAYOUT = arg(Area, "layout", "layout")
THICKNESS = arg(Area, "thickness", "joist_thickness_in")
PACK_GAP = arg(Rates, "pack_gap", "pack_gap_in")
JOIST = arg(Area, "joist", "joist_depth_in")
CLEAR_RUN = _inches("clear_run", "of the bay, from the ledger to the rim's inner face")
CLEAR_WIDTH = _inches("clear_width", "of the bay, between two members")
DRAPE = arg(Liner, "drape", "drape_in")
SIDE_LAP = arg(Liner, "side_lap", "side_lap_in")
HIGH_LAP = arg(Liner, "high_lap", "high_lap_in")
LOW_SETBACK = arg(Liner, "low_setback", "low_setback_in")
TRIM = arg(Rates, "trim_allowance", "trim_allowance_in")
CUT_STEP = arg(Rates, "cut_step", "cut_step_in")


def clear_widths(
    width_in: float, spacing_in: float, layout: str, thickness_in: float, pack_gap_in: float
) -> tuple[float, ...]:
    """G1 to G4. Clear widths of a plain area's bays. [in]."""
    area = Area(
        job="",
        area="",
        width_in=width_in,
        projection_in=1.0,
        spacing_in=spacing_in,
        layout=layout,
        joist_depth_in=1.0,
        joist_thickness_in=thickness_in,
        height_in=1.0,
    )
    no_framing: list[Framing] = []
    return clear_widths_in(members_of(area, no_framing, Rates(pack_gap_in=pack_gap_in)))


def _bay_count(*plain_area: Any) -> int:
    return len(clear_widths(*plain_area))


def _bay_widths(*plain_area: Any) -> list[list[float]]:
    widths = clear_widths(*plain_area)
    if not widths:
        raise Refusal(f"a width of {plain_area[0]:g} in leaves no bay between the end joists")
    return [[width] for width in widths]


def _cut_lengths(runs: list[list[Any]], *liner: float) -> list[list[Any]]:
    return [[run if isinstance(run, str) else cut_length_in(run, *liner) for run in row] for row in runs]


def _pieces(cut_in: float, stock_in: float, lap_in: float, least_in: float) -> list[list[float]]:
    pieces = pieces_of_panel(sixteenths_up(cut_in), sixteenths_down(stock_in), lap_in, least_in)
    return [[piece / 16] for piece in pieces]


def _panels(
    bays: list[list[Any]],
    drape_in: float,
    side_lap_in: float,
    high_lap_in: float,
    low_setback_in: float,
    trim_in: float,
    step_in: float,
) -> list[list[Any]]:
    """P2 to P4. One row a bay; a heading in the table given is passed over."""
    found = []
    for number, row in enumerate(bays, 1):
        if number == 1 and is_heading(row):
            continue
        if len(row) < 2:
            raise Refusal("bays has one column; it takes two: clear width and clear run")
        width = read_cell(CLEAR_WIDTH.field, row[0], f"bays, row {number}, clear width")
        run = read_cell(CLEAR_RUN.field, row[1], f"bays, row {number}, clear run")
        cut = cut_length_in(run, high_lap_in, low_setback_in, trim_in, step_in)
        found.append([width, run, width_needed_in(width, drape_in, side_lap_in), cut, fall_in_per_ft(drape_in, run)])
    return found


def _cartridges(bead_ft: float, diameter_in: float, fl_oz: float, waste: Any) -> int:
    return up(order_quantity(bead_ft / bead_of_cartridge_ft(fl_oz, diameter_in), waste))


_PLAIN_AREA = (WIDTH, SPACING, LAYOUT, THICKNESS, PACK_GAP)
_PANEL = (DRAPE, SIDE_LAP, HIGH_LAP, LOW_SETBACK, TRIM, CUT_STEP)

FUNCTIONS = (
    Function(
        name="BAY_COUNT",
        help="Bays of a deck area: the clear gaps between its joists.",
        rule="G2",
        args=_PLAIN_AREA,
        gives=one_value("bays"),
        core=_bay_count,
        engine="takeoff.members.clear_widths_in",
        example=("16 ft", 16),
    ),
    Function(
        name="BAY_WIDTHS",
        help="Clear width of every bay, from the left end, one below the other.",
        rule="G4",
        args=(*_PLAIN_AREA, UNITS),
        gives=many_values("clear width", "in"),
        core=_bay_widths,
        engine="takeoff.members.clear_widths_in",
        example=("4 ft", 16),
    ),
    Function(
        name="BAY_CLEAR_RUN",
        help="Clear run of a bay, from the ledger's face to the rim's inner face.",
        rule="P1",
        args=(
            PROJECTION,
            arg(Rates, "ledger_thickness", "ledger_thickness_in"),
            arg(Area, "rim_plies", "rim_plies"),
            THICKNESS,
            UNITS,
        ),
        gives=one_value("clear run", "in"),
        core=clear_run_in,
        engine="takeoff.panels.clear_run_in",
        example=("12 ft",),
    ),
    Function(
        name="BAY_CUT_LENGTHS",
        help="Cut length of a panel for each clear run given.",
        rule="P2",
        args=(cells(_inches("clear_runs", "of the bays")), HIGH_LAP, LOW_SETBACK, TRIM, CUT_STEP, UNITS),
        gives=many_values("cut length", "in"),
        core=_cut_lengths,
        engine="takeoff.panels.cut_length_in",
        example=([[141], [93.25]], 1.5, 3),
    ),
    Function(
        name="BAY_PIECES",
        help="Pieces of one panel that is longer than the stock, upper first, one below the other.",
        rule="P6",
        args=(
            _inches("cut_length", "of the panel"),
            _inches("stock_length", "longest stock on offer"),
            arg(Rates, "splice_lap", "splice_lap_in"),
            arg(Rates, "min_piece", "min_piece_in"),
            UNITS,
        ),
        gives=many_values("piece", "in"),
        core=_pieces,
        engine="takeoff.panels.pieces_of_panel",
        example=(273, "16 ft"),
    ),
    Function(
        name="BAY_FALL",
        help="Fall of a bay's bottom: the drape over the clear run, and the frame's own fall.",
        rule="P3",
        args=(DRAPE, CLEAR_RUN, arg(Area, "frame_fall", "frame_fall_in_per_ft"), UNITS),
        gives=one_value("fall", "in/ft"),
        core=fall_in_per_ft,
        engine="takeoff.panels.fall_in_per_ft",
        example=(4, 141),
    ),
    Function(
        name="BAY_PANEL_WIDTH",
        help="Width of liner that a bay needs: its V at the low end and a lap on each joist.",
        rule="P4",
        args=(CLEAR_WIDTH, DRAPE, SIDE_LAP, UNITS),
        gives=one_value("width needed", "in"),
        core=width_needed_in,
        engine="takeoff.panels.width_needed_in",
        example=(14.5, 4, 1.5),
    ),
    Function(
        name="BAY_PANELS",
        help="A table of bays in, their panels out: width needed, cut length and fall of each.",
        rule="P4",
        args=(table("bays", "two columns: clear width and clear run [in, or text with a unit]"), *_PANEL, UNITS),
        gives=rows_of(
            "a row a bay",
            Head("clear width", "in"),
            Head("clear run", "in"),
            Head("width needed", "in"),
            Head("cut length", "in"),
            Head("fall", "in/ft"),
        ),
        core=_panels,
        engine="takeoff.panels",
        example=([[14.5, 141], [13.75, 141]], 4, 1.5, 1.5, 3),
    ),
    Function(
        name="BAY_OUTLET_TRIM",
        help="What is cut off a bay outlet that is made for a deeper joist; 0 if nothing.",
        rule="O1",
        args=(JOIST, arg(Liner, "made_for", "outlet_made_for_in"), UNITS),
        gives=one_value("trim", "in"),
        core=outlet_trim_in,
        engine="takeoff.outlets.outlet_trim_in",
        example=("2x8", 9.25),
    ),
    Function(
        name="BAY_BLOCKING_HEIGHT",
        help="Height left for blocking over the draped liner.",
        rule="O2",
        args=(
            JOIST,
            DRAPE,
            _inches("from_high_end", "of the bay to the block's centre", above=None, low=0),
            CLEAR_RUN,
            UNITS,
        ),
        gives=one_value("height", "in"),
        core=height_left_in,
        engine="takeoff.outlets.height_left_in",
        example=("2x10", 4, 70.5, 141),
    ),
    Function(
        name="BAY_TAPE_LENGTH",
        help="Seam tape along every member of a deck area, before waste.",
        rule="T1",
        args=(
            WIDTH,
            PROJECTION,
            SPACING,
            arg(Liner, "tape_width", "tape_width_in"),
            LAYOUT,
            THICKNESS,
            arg(Area, "gutter_side", "gutter_side"),
            UNITS,
        ),
        gives=one_value("tape", "ft"),
        core=tape_ft,
        engine="takeoff.take_off",
        example=("16 ft", "12 ft", 16, 4),
    ),
    Function(
        name="BAY_CARTRIDGES",
        help="Whole cartridges of sealant for a bead.",
        rule="T2",
        args=(
            arg(Kind.LENGTH, "bead_length", bare_unit="ft", unit="ft", low=0, high=99_999, help="of all bead"),
            arg(Rates, "bead_diameter", "bead_diameter_in"),
            arg(Rates, "cartridge_fl_oz", "cartridge_fl_oz"),
            arg(Kind.PERCENT, "waste", default=WASTE_DEFAULTS["sealant"], low=0, high=10, help="of sealant"),
        ),
        gives=one_value("cartridges"),
        core=_cartridges,
        engine="takeoff.take.bead_of_cartridge_ft",
        example=(19.452,),
    ),
)
