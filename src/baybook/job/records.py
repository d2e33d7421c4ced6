"""The frozen records of a book, every input declared beside the attribute that holds it."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING

from baybook.job.fields import Kind, declare
from baybook.problems import Problem

if TYPE_CHECKING:
    from baybook.job.rates import Rates
    from baybook.outline import Outline

__all__ = [
    "CUT_GOODS",
    "ITEMS",
    "LINER_ITEMS",
    "QUOTE_KINDS",
    "Acceptance",
    "Area",
    "CodeRow",
    "Extra",
    "Framing",
    "Item",
    "Job",
    "JobInputs",
    "Liner",
    "Measured",
    "Override",
    "Place",
    "Post",
    "PriceRow",
    "QuoteRow",
    "RainSource",
    "StockPiece",
    "Supplier",
]

STATUSES = ("pricing", "offered", "won", "lost", "done")
FRAMING_KINDS = ("member", "divider", "flush_beam", "dropped_beam", "blocking", "opening")
CODE_KINDS = ("gutter", "leader")
QUOTE_KINDS = ("payment", "option", "excluded", "term")
CAN_FAIL = ("G9", "O2", "O3", "W2")  # rules with a check that stands in the way of an offer
FAR_IN = 10_000.0  # positions stay under this, so that the workbook can sort by them


@dataclass(frozen=True, slots=True)
class Item:
    """A thing that is bought: its code, its unit, and whether it is cut from lengths or belongs to a liner."""

    code: str
    unit: str
    title: str
    cut: bool = False
    of_liner: bool = False


ITEMS: Mapping[str, Item] = {
    one.code: one
    for one in (
        Item("liner", "piece", "liner", cut=True, of_liner=True),
        Item("bay_outlet", "each", "bay outlet", of_liner=True),
        Item("outlet_extension", "each", "outlet extension", of_liner=True),
        Item("seam_tape", "ft", "seam tape", of_liner=True),
        Item("sealant", "cartridge", "sealant"),
        Item("staples", "each", "staples"),
        Item("gutter", "piece", "gutter", cut=True),
        Item("gutter_joiner", "each", "gutter joiner"),
        Item("gutter_corner_out", "each", "gutter corner, outside"),
        Item("gutter_corner_in", "each", "gutter corner, inside"),
        Item("gutter_end_cap", "each", "gutter end cap"),
        Item("gutter_drop", "each", "gutter drop"),
        Item("hanger", "each", "gutter hanger"),
        Item("leader", "piece", "leader", cut=True),
        Item("elbow", "each", "leader elbow"),
        Item("strap", "each", "leader strap"),
        Item("splash_block", "each", "splash block"),
    )
}
CUT_GOODS = tuple(code for code, one in ITEMS.items() if one.cut)
LINER_ITEMS = tuple(code for code, one in ITEMS.items() if one.of_liner)


@dataclass(frozen=True, slots=True)
class Place:
    """Where a record was read: file (or sheet) and line."""

    source: str = ""
    line: int = 0

    def problem(self, field: str, message: str) -> Problem:
        """Return a problem at this place."""
        return Problem(self.source, self.line, field, message)


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """A row of jobs.csv."""

    job: str = declare("job", Kind.NAME, required=True, help="the job's code, unique in the book", example="HB-014")
    customer: str = declare(
        "customer", Kind.TEXT, required=True, help="who the estimate is for", example="Marlow household"
    )
    site: str = declare("site", Kind.TEXT, default="", help="where the deck stands", example="7 Quarry Rise")
    status: str = declare("status", Kind.WORD, default="pricing", choices=STATUSES, help="where the job stands")
    quoted_on: dt.date | None = declare(
        "quoted_on", Kind.DATE, help="date of the quote; prices in force that day count", example="2026-06-15"
    )
    valid_days: int = declare(
        "valid_days", Kind.COUNT, default=30, low=0, high=3650, unit="days", help="quote is valid"
    )
    rain_in_per_h: float = declare(
        "rainfall",
        Kind.RAIN,
        default=0.0,  # settled by the reading: of rainfall.csv, or a problem
        above=0,
        high=60,
        unit="in/h",
        rule="W1",
        help="design rain, with its unit; empty: from rainfall.csv",
        example="5 in/h",
    )
    tax_rate: Decimal = declare(
        "tax_rate", Kind.PERCENT, default=Decimal(0), low=0, high=1, unit="%", rule="M4", help="sales tax"
    )
    tax_on: str = declare(
        "tax_on", Kind.WORD, default="none", choices=("none", "materials", "total"), rule="M4", help="what tax falls on"
    )
    overhead: Decimal = declare(
        "overhead", Kind.PERCENT, default=Decimal(0), low=0, high=10, unit="%", rule="M3", help="overhead on cost"
    )
    profit: Decimal = declare(
        "profit", Kind.PERCENT, default=Decimal(0), low=0, high=10, unit="%", rule="M3", help="profit on the base"
    )
    profit_basis: str = declare(
        "profit_basis",
        Kind.WORD,
        default="markup",
        choices=("markup", "margin"),
        rule="M3",
        help="profit as a share of cost (markup) or of the price (margin)",
    )
    labour_rate: Decimal = declare(
        "labour_rate",
        Kind.MONEY,
        required=True,
        low=0,
        high=100_000,
        unit="money/h",
        rule="M2",
        help="loaded rate of one person-hour",
        example="62.00",
    )
    currency: str = declare("currency", Kind.CURRENCY, required=True, rule="M6", help="ISO 4217 code", example="USD")
    permit: str = declare("permit", Kind.TEXT, default="", help="number of the building permit, for the site sheet")
    inspected_on: dt.date | None = declare(
        "inspected_on", Kind.DATE, help="day the framing passed its inspection; no liner before", example="2026-06-29"
    )
    notes: str = declare("notes", Kind.TEXT, default="", help="for yourself")
    place: Place = Place()


@dataclass(frozen=True, slots=True, kw_only=True)
class Area:
    """A row of areas.csv: one part of a deck framed in one direction."""

    job: str = declare("job", Kind.NAME, required=True, help="the job it belongs to", example="HB-014")
    area: str = declare("area", Kind.NAME, required=True, help="a short name, unique in the job", example="main")
    width_in: float = declare(
        "width",
        Kind.LENGTH,
        bare_unit="ft",
        above=0,
        high=FAR_IN - 1,
        unit="in",
        rule="G1",
        help="along the ledger",
        example="16 ft",
    )
    projection_in: float = declare(
        "projection",
        Kind.LENGTH,
        bare_unit="ft",
        above=0,
        high=FAR_IN - 1,
        unit="in",
        rule="P1",
        help="from the back of the ledger to the outer face of the rim",
        example="12 ft",
    )
    outline: str = declare(
        "outline",
        Kind.TEXT,
        default="",
        rule="G10",
        help="corners of an area that is no rectangle, x along the ledger, y out from it: 0,0; 16,0; 16,9; 12,14; 0,14",
    )
    joists: str = declare(
        "joists",
        Kind.WORD,
        default="out",
        choices=("out", "along"),
        rule="G10",
        help="of an outline: the joists run out from the house, or along it",
    )
    spacing_in: float = declare(
        "spacing",
        Kind.LENGTH,
        required=True,
        bare_unit="in",
        low=4,
        high=96,
        unit="in",
        rule="G2",
        help="joists on centre",
        example="16 in",
    )
    layout: str = declare(
        "layout",
        Kind.WORD,
        default="left",
        choices=("left", "right", "even"),
        rule="G2",
        help="where the spacing starts",
    )
    joist_depth_in: float = declare(
        "joist",
        Kind.JOIST,
        required=True,
        above=0,
        high=48,
        unit="in",
        rule="O1",
        help="joist size or depth",
        example="2x10",
    )
    joist_thickness_in: float = declare(
        "joist_thickness",
        Kind.LENGTH,
        default=1.5,
        bare_unit="in",
        low=0.5,
        high=12,
        unit="in",
        rule="G1",
        basis="DOC PS 20",
        help="of one ply",
    )
    rim_plies: int = declare("rim_plies", Kind.COUNT, default=1, low=1, high=6, rule="P1", help="boards in the rim")
    gutter_side: str = declare(
        "gutter_side", Kind.WORD, default="rim", choices=("rim", "ledger"), rule="G8", help="the low end"
    )
    gutter_fix: str = declare(
        "gutter_fix",
        Kind.WORD,
        default="joists",
        choices=("joists", "nailer"),
        rule="T4",
        help="hangers on the joist ends or on a nailer",
    )
    leader_at: str = declare(
        "leader_at",
        Kind.WORD,
        default="end",
        choices=("end", "middle"),
        rule="W3",
        help="leaders at ends or in the middle",
    )
    height_in: float = declare(
        "height",
        Kind.LENGTH,
        required=True,
        bare_unit="ft",
        above=0,
        high=FAR_IN - 1,
        unit="in",
        rule="T5",
        help="joist tops above grade",
        example="9 ft",
    )
    liner: str = declare("liner", Kind.NAME, default="", help="its record in liners.csv; empty: the only one")
    borders: int = declare("borders", Kind.COUNT, default=0, low=0, high=12, rule="G3", help="border boards each side")
    posts_through: int = declare(
        "posts_through", Kind.COUNT, default=0, low=0, high=1000, rule="T6", help="posts that pierce the liner"
    )
    gutter_line: str = declare(
        "gutter_line", Kind.NAME, default="", rule="W4", help="same name: one gutter for several areas"
    )
    wall_height_in: float = declare(
        "wall_height",
        Kind.LENGTH,
        default=0.0,
        bare_unit="ft",
        low=0,
        high=FAR_IN - 1,
        unit="in",
        rule="W1",
        help="of the wall that sheds rain on the area",
    )
    wall_length_in: float | None = declare(
        "wall_length",
        Kind.LENGTH,
        bare_unit="ft",
        low=0,
        high=FAR_IN - 1,
        unit="in",
        rule="W1",
        help="of that wall; empty: the width",
    )
    roof_area_sq_ft: float = declare(
        "roof_area",
        Kind.AREA,
        default=0.0,
        bare_unit="sq ft",
        low=0,
        high=1_000_000,
        unit="sq ft",
        rule="W1",
        help="of a roof that drips on the area, without a gutter",
    )
    frame_fall_in_per_ft: float = declare(
        "frame_fall_in_per_ft",
        Kind.FALL,
        default=0.0,
        low=-6,
        high=6,
        unit="in/ft",
        rule="P3",
        help="the frame's own fall toward the low end",
    )
    place: Place = Place()
    shape: Outline | None = None  # G10: settled by the reading from the outline, turned so that its joists run along y

    @property
    def wall_in(self) -> float:
        """W1. Length of the wall that sheds on the area; the width unless given. [in]."""
        return self.width_in if self.wall_length_in is None else self.wall_length_in

    @property
    def joist_bottom_in(self) -> float:
        """Joist bottom above grade. [in]."""
        return self.height_in - self.joist_depth_in


@dataclass(frozen=True, slots=True, kw_only=True)
class Framing:
    """A row of framing.csv: something the framer adds to an area."""

    job: str = declare("job", Kind.NAME, required=True, help="the job", example="HB-014")
    area: str = declare("area", Kind.NAME, required=True, help="the area", example="main")
    kind: str = declare(
        "kind", Kind.WORD, required=True, choices=FRAMING_KINDS, rule="G3", help="what is added", example="member"
    )
    x_in: float | None = declare(
        "x",
        Kind.LENGTH,
        bare_unit="ft",
        low=0,
        high=FAR_IN - 1,
        unit="in",
        rule="G3",
        help="centre, from the left end (member, divider); left side of an opening",
        example="8 ft",
    )
    y_in: float | None = declare(
        "y",
        Kind.LENGTH,
        bare_unit="ft",
        low=0,
        high=FAR_IN - 1,
        unit="in",
        rule="G6",
        help="centre, from the back of the ledger (beams, blocking); near side of an opening",
    )
    plies: int | None = declare(
        "plies",
        Kind.COUNT,
        low=1,
        high=12,
        rule="G3",
        help="boards in all (member, beams; header of an opening, 2 unless given)",
        example="2",
    )
    depth_in: float | None = declare(
        "depth", Kind.LENGTH, bare_unit="in", above=0, high=96, unit="in", rule="G9", help="of a dropped beam"
    )
    width_in: float | None = declare(
        "width",
        Kind.LENGTH,
        bare_unit="ft",
        above=0,
        high=FAR_IN - 1,
        unit="in",
        rule="G11",
        help="of an opening, clear, to the right of x",
    )
    projection_in: float | None = declare(
        "projection",
        Kind.LENGTH,
        bare_unit="ft",
        above=0,
        high=FAR_IN - 1,
        unit="in",
        rule="G11",
        help="of an opening, clear, out from y",
    )
    water: str = declare(
        "water",
        Kind.WORD,
        default="back",
        choices=("back", "header"),
        rule="G11",
        help="before an opening: falls back from it, or to a gutter at its header",
    )
    place: Place = Place()


@dataclass(frozen=True, slots=True, kw_only=True)
class Measured:
    """A row of measured.csv: a bay as the tape measure found it after framing."""

    job: str = declare("job", Kind.NAME, required=True, help="the job", example="HB-014")
    area: str = declare("area", Kind.NAME, required=True, help="the area", example="main")
    bay: str = declare(
        "bay", Kind.NAME, required=True, help="its number from the left; 5b the second part of bay 5", example="5"
    )
    clear_width_in: float | None = declare(
        "clear_width",
        Kind.LENGTH,
        bare_unit="in",
        above=0,
        high=FAR_IN - 1,
        unit="in",
        rule="G10",
        help="between the joists; empty: as drawn",
        example="14.5 in",
    )
    clear_run_in: float | None = declare(
        "clear_run",
        Kind.LENGTH,
        bare_unit="in",
        above=0,
        high=FAR_IN - 1,
        unit="in",
        rule="P1",
        help="along the longest line between its ends; empty: as drawn",
        example="141 in",
    )
    place: Place = Place()


@dataclass(frozen=True, slots=True, kw_only=True)
class Liner:
    """A row of liners.csv: what the maker's sheet says of the liner actually bought."""

    liner: str = declare("liner", Kind.NAME, required=True, help="name of the record", example="fieldsheet")
    made_for_in: float = declare(
        "made_for_in",
        Kind.LENGTH,
        required=True,
        bare_unit="in",
        above=0,
        high=96,
        unit="in",
        rule="P4",
        help="widest joist spacing it is made for",
        example="16",
    )
    drape_in: float = declare(
        "drape_in",
        Kind.LENGTH,
        required=True,
        bare_unit="in",
        low=0,
        high=24,
        unit="in",
        rule="P3",
        help="hang below the joist tops at the low end",
        example="4",
    )
    side_lap_in: float = declare(
        "side_lap_in",
        Kind.LENGTH,
        required=True,
        bare_unit="in",
        low=0,
        high=12,
        unit="in",
        rule="P4",
        help="lap on each joist",
        example="1.5",
    )
    high_lap_in: float = declare(
        "high_lap_in",
        Kind.LENGTH,
        required=True,
        bare_unit="in",
        low=0,
        high=24,
        unit="in",
        rule="P2",
        help="lap up the ledger",
        example="1.5",
    )
    low_setback_in: float = declare(
        "low_setback_in",
        Kind.LENGTH,
        required=True,
        bare_unit="in",
        low=0,
        high=48,
        unit="in",
        rule="P2",
        help="the panel stops short of the low end by this",
        example="3",
    )
    outlet_made_for_in: float = declare(
        "outlet_made_for_in",
        Kind.LENGTH,
        required=True,
        bare_unit="in",
        above=0,
        high=48,
        unit="in",
        rule="O1",
        help="joist depth the bay outlet is made for",
        example="9.25",
    )
    nozzle_reach_in: float = declare(
        "nozzle_reach_in",
        Kind.LENGTH,
        required=True,
        bare_unit="in",
        above=0,
        high=48,
        unit="in",
        rule="O3",
        help="how far the outlet's nozzle reaches below the joist bottom",
        example="3",
    )
    tape_width_in: float = declare(
        "tape_width_in",
        Kind.LENGTH,
        required=True,
        bare_unit="in",
        above=0,
        high=48,
        unit="in",
        rule="T1",
        help="width of the seam tape",
        example="4",
    )
    source: str = declare("source", Kind.TEXT, default="", help="the maker's sheet and its date")
    place: Place = Place()


@dataclass(frozen=True, slots=True, kw_only=True)
class PriceRow:
    """A row of prices.csv: one offer of one supplier."""

    supplier: str = declare("supplier", Kind.NAME, required=True, help="who sells it", example="Alder Yard")
    sku: str = declare("sku", Kind.NAME, required=True, help="the supplier's number", example="AY-1012")
    item: str = declare("item", Kind.WORD, required=True, choices=tuple(ITEMS), help="what it is", example="liner")
    description: str = declare("description", Kind.TEXT, default="", help="as the supplier calls it")
    liner: str = declare("liner", Kind.NAME, default="", help="the liner record it belongs to; empty: any")
    length_in: float | None = declare(
        "length",
        Kind.LENGTH,
        bare_unit="ft",
        above=0,
        high=FAR_IN - 1,
        unit="in",
        rule="P6",
        help="of one stock piece (liner, gutter, leader)",
        example="12 ft",
    )
    width_in: float | None = declare(
        "width",
        Kind.LENGTH,
        bare_unit="in",
        above=0,
        high=1000,
        unit="in",
        rule="P4",
        help="of the liner",
        example="20 in",
    )
    pack_qty: float = declare(
        "pack_qty", Kind.NUMBER, default=1.0, above=0, high=1_000_000, rule="M1", help="units in a pack"
    )
    unit: str = declare("unit", Kind.TEXT, default="", help="unit of the pack quantity; empty: the item's")
    pack_price: Decimal = declare(
        "pack_price",
        Kind.MONEY,
        required=True,
        low=0,
        high=9_999_999,
        unit="money",
        rule="M1",
        help="price of one pack",
        example="58.75",
    )
    currency: str = declare("currency", Kind.CURRENCY, required=True, rule="M6", help="ISO 4217 code", example="USD")
    valid_from: dt.date | None = declare("valid_from", Kind.DATE, rule="M6", help="first day, included; empty: open")
    valid_to: dt.date | None = declare("valid_to", Kind.DATE, rule="M6", help="last day, included; empty: open")
    lead_days: int | None = declare("lead_days", Kind.COUNT, low=0, high=3650, unit="days", help="from order to yard")
    place: Place = Place()

    def in_force(self, on: dt.date) -> bool:
        """M6. Return whether the price applies on a day, both ends included."""
        return (self.valid_from is None or self.valid_from <= on) and (self.valid_to is None or on <= self.valid_to)


@dataclass(frozen=True, slots=True, kw_only=True)
class Supplier:
    """A row of suppliers.csv: where an order goes and on what terms, in one currency."""

    supplier: str = declare("supplier", Kind.NAME, required=True, help="the name in prices.csv", example="Alder Yard")
    also_named: str = declare("also_named", Kind.TEXT, default="", help="other names on its invoices, with ; between")
    address: str = declare("address", Kind.TEXT, default="", help="where orders go, lines with ; between")
    email: str = declare("email", Kind.TEXT, default="", help="where orders go")
    account: str = declare("account", Kind.TEXT, default="", help="the number it knows you by")
    currency: str = declare("currency", Kind.CURRENCY, required=True, help="of the amounts in this row", example="USD")
    freight: Decimal = declare(
        "freight", Kind.MONEY, default=Decimal(0), low=0, high=9_999_999, unit="money", help="freight of one order"
    )
    minimum_order: Decimal = declare(
        "minimum_order",
        Kind.MONEY,
        default=Decimal(0),
        low=0,
        high=9_999_999,
        unit="money",
        help="least goods of one order",
    )
    free_freight_from: Decimal | None = declare(
        "free_freight_from", Kind.MONEY, low=0, high=9_999_999, unit="money", help="goods from which no freight is due"
    )
    place: Place = Place()

    @property
    def names(self) -> tuple[str, ...]:
        """Every name it is known by, without case."""
        return tuple(one.strip().casefold() for one in (self.supplier, *self.also_named.split(";")) if one.strip())


@dataclass(frozen=True, slots=True, kw_only=True)
class Extra:
    """A row of extras.csv: a line the estimator adds."""

    job: str = declare("job", Kind.NAME, required=True, help="the job", example="HB-014")
    description: str = declare("description", Kind.TEXT, required=True, help="what it is", example="lift hire")
    quantity: float = declare(
        "quantity", Kind.NUMBER, required=True, low=0, high=9_999_999, help="how many", example="2"
    )
    unit: str = declare("unit", Kind.TEXT, default="", help="of the quantity", example="day")
    unit_cost: Decimal = declare(
        "unit_cost",
        Kind.MONEY,
        required=True,
        low=-9_999_999,
        high=9_999_999,
        unit="money",
        rule="M3",
        help="cost of one",
        example="145.00",
    )
    kind: str = declare(
        "kind",
        Kind.WORD,
        required=True,
        choices=("material", "labour", "other"),
        rule="M3",
        help="which sum it joins",
        example="other",
    )
    place: Place = Place()


@dataclass(frozen=True, slots=True, kw_only=True)
class Override:
    """A row of overrides.csv: the estimator's own quantity for one line."""

    job: str = declare("job", Kind.NAME, required=True, help="the job", example="HB-014")
    item: str = declare(
        "item",
        Kind.NAME,
        required=True,
        help="the item; `liner: NAME` where a job uses several liners",
        example="strap",
    )
    length_in: float | None = declare(
        "length", Kind.LENGTH, bare_unit="ft", above=0, high=FAR_IN - 1, unit="in", help="stock length of cut goods"
    )
    quantity: float = declare(
        "quantity", Kind.NUMBER, required=True, low=0, high=9_999_999, help="net quantity, or stock pieces", example="4"
    )
    note: str = declare("note", Kind.TEXT, default="", help="why", example="one spare")
    place: Place = Place()


@dataclass(frozen=True, slots=True, kw_only=True)
class StockPiece:
    """A row of stock.csv: offcuts on hand."""

    item: str = declare("item", Kind.NAME, required=True, help="liner, gutter or leader", example="liner")
    length_in: float = declare(
        "length",
        Kind.LENGTH,
        required=True,
        bare_unit="ft",
        above=0,
        high=FAR_IN - 1,
        unit="in",
        rule="P7",
        help="of each",
        example="7 ft 4 in",
    )
    quantity: int = declare("quantity", Kind.COUNT, required=True, low=0, high=10_000, help="how many", example="2")
    location: str = declare("location", Kind.TEXT, default="", help="where they lie", example="rack B")
    place: Place = Place()


@dataclass(frozen=True, slots=True, kw_only=True)
class Post:
    """A row of posts.csv: a railing post, and whether it pierces the liner."""

    job: str = declare("job", Kind.NAME, required=True, help="the job", example="HB-014")
    area: str = declare("area", Kind.NAME, required=True, help="the area", example="main")
    x_in: float = declare(
        "x",
        Kind.LENGTH,
        required=True,
        bare_unit="ft",
        low=0,
        high=FAR_IN - 1,
        unit="in",
        rule="O2",
        help="centre, from the left end",
        example="4 ft",
    )
    y_in: float = declare(
        "y",
        Kind.LENGTH,
        required=True,
        bare_unit="ft",
        low=0,
        high=FAR_IN - 1,
        unit="in",
        rule="O2",
        help="centre, from the back of the ledger",
        example="6 ft",
    )
    size_in: float = declare(
        "size",
        Kind.LENGTH,
        default=3.5,
        bare_unit="in",
        above=0,
        high=48,
        unit="in",
        rule="O2",
        help="side of the post",
    )
    where: str = declare(
        "where",
        Kind.WORD,
        default="inside",
        choices=("inside", "outside"),
        rule="T6",
        help="inside the frame, blocked and through the liner; or outside, on its face",
    )
    place: Place = Place()


@dataclass(frozen=True, slots=True, kw_only=True)
class CodeRow:
    """A row of codes.csv: a capacity that the estimator typed from the adopted code."""

    job: str = declare("job", Kind.NAME, default="", help="the job; empty: all jobs without rows of their own")
    kind: str = declare(
        "kind", Kind.WORD, required=True, choices=CODE_KINDS, rule="W2", help="what it is of", example="gutter"
    )
    size: str = declare(
        "size",
        Kind.NAME,
        required=True,
        rule="W2",
        help="named as the rate gutter_profile or leader_size names it",
        example="half-round 5 in",
    )
    fall_in_per_ft: float | None = declare(
        "fall",
        Kind.FALL,
        low=0,
        high=6,
        unit="in/ft",
        rule="W2",
        help="of the gutter, in/ft; empty: any",
        example="0.0625 in/ft",
    )
    capacity_gpm: float | None = declare(
        "capacity_gpm",
        Kind.NUMBER,
        above=0,
        high=1_000_000,
        unit="gpm",
        rule="W2",
        help="what it carries",
        example="40",
    )
    area_sq_ft: float | None = declare(
        "area_sq_ft",
        Kind.AREA,
        bare_unit="sq ft",
        above=0,
        high=100_000_000,
        unit="sq ft",
        rule="W2",
        help="or the area it serves at 1 in/h",
    )
    code: str = declare("code", Kind.TEXT, required=True, rule="W2", help="name of the code", example="Harbor County")
    edition: str = declare("edition", Kind.TEXT, required=True, rule="W2", help="its edition", example="2021")
    place: Place = Place()


@dataclass(frozen=True, slots=True, kw_only=True)
class Acceptance:
    """A row of acceptances.csv: a failed check that a named person lets pass, and why."""

    job: str = declare("job", Kind.NAME, required=True, help="the job", example="HB-014")
    rule: str = declare(
        "rule", Kind.NAME, required=True, help="of the failed check: " + ", ".join(CAN_FAIL), example="G9"
    )
    where: str = declare("where", Kind.NAME, required=True, help="where it failed, as `check` names it", example="main")
    person: str = declare("person", Kind.TEXT, required=True, help="who accepts it", example="A. Marlow")
    reason: str = declare(
        "reason", Kind.TEXT, required=True, help="why", example="the beam is moved before the gutter is hung"
    )
    on: dt.date = declare("on", Kind.DATE, required=True, help="the day", example="2026-06-15")
    place: Place = Place()


@dataclass(frozen=True, slots=True, kw_only=True)
class QuoteRow:
    """A row of quote.csv: what the quote says beside scope and price."""

    job: str = declare("job", Kind.NAME, default="", help="the job; empty: all jobs without such rows of their own")
    kind: str = declare("kind", Kind.WORD, required=True, choices=QUOTE_KINDS, help="what it is", example="payment")
    words: str = declare("words", Kind.TEXT, required=True, help="as the customer reads it", example="deposit")
    share: Decimal | None = declare(
        "share", Kind.PERCENT, low=0, high=1, unit="%", help="of the price, due in this payment", example="30%"
    )
    amount: Decimal | None = declare(
        "amount",
        Kind.MONEY,
        low=-9_999_999,
        high=9_999_999,
        unit="money",
        help="or the payment itself; of an option, by how much it is dearer (below 0: cheaper), tax included",
    )
    when: str = declare("when", Kind.TEXT, default="", help="the payment is due", example="on signing")
    of: str = declare("of", Kind.NAME, default="", help="the job of this book that prices the option")
    place: Place = Place()


@dataclass(frozen=True, slots=True)
class RainSource:
    """W1. Where a job's design rain comes from, and what else the point's file says of it.

    Parameters
    ----------
    text : str
        Typed in jobs.csv, or the file's volume, point, duration and interval.
    years : int
        Average recurrence interval of the two figures; 0 without a file. [years]
    hour_in_per_h, five_minutes_in_per_h : float or None
        The file's rain of 60 and of 5 minutes: they differ by about four. [in/h]
    """

    text: str = "typed in jobs.csv"
    years: int = 0
    hour_in_per_h: float | None = None
    five_minutes_in_per_h: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class JobInputs:
    """All that one job states: the unit the engine works on.

    ``on`` is the date whose prices count: quoted_on, or the day of the run while pricing.
    """

    job: Job
    on: dt.date
    areas: tuple[Area, ...]
    framing: tuple[Framing, ...]
    liners: Mapping[str, Liner]
    rates: Rates
    prices: tuple[PriceRow, ...]
    extras: tuple[Extra, ...] = ()
    overrides: tuple[Override, ...] = ()
    stock: tuple[StockPiece, ...] = ()
    posts: tuple[Post, ...] = ()
    codes: tuple[CodeRow, ...] = ()
    acceptances: tuple[Acceptance, ...] = ()
    rain: RainSource = RainSource()
    suppliers: tuple[Supplier, ...] = ()
    measured: tuple[Measured, ...] = ()
    quote: tuple[QuoteRow, ...] = ()

    def liner_of(self, area: Area) -> Liner:
        """Return the liner record of an area."""
        return self.liners[area.liner.casefold()]
