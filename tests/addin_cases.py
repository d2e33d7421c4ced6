"""Calls of the spreadsheet functions and what the engine itself answers, for every face: direct, through COM, in Calc.

An expected value comes from the engine's own functions called with plain numbers, or is worked out by hand; never from
the functions under test. Numbers are drawn from a seed; `texts` are the same quantities as people write them.
"""

from __future__ import annotations

import math
import random
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

import books

from baybook.cutplan import Piece, Stock, plan_cuts
from baybook.job.rates import Rates
from baybook.job.records import PriceRow
from baybook.pricing.offers import cheapest
from baybook.pricing.price import profit_on
from baybook.takeoff.members import bay_count
from baybook.takeoff.outlets import height_left_in, outlet_trim_in
from baybook.takeoff.panels import clear_run_in, cut_length_in, fall_in_per_ft, pieces_of_panel, width_needed_in
from baybook.water import (
    catchment_sq_ft,
    flow_gpm,
    gutter_capacity,
    gutter_profiles,
    leader_capacity,
    reach_ft,
    roughness_n,
)

NOTHING = None


@dataclass(frozen=True)
class Case:
    """A call: arguments as cells hold them (None left out, lists of lists are ranges), and the answer."""

    name: str
    given: tuple[Any, ...]
    expected: Any
    solver: bool = False  # the cut plan needs numpy and highspy

    def __str__(self) -> str:
        return f"{self.name}{self.given}"[:90]


def column(values) -> list[list[Any]]:
    return [[value] for value in values]


def _counts(draw: random.Random) -> Iterator[Case]:
    # the counts of rule G7, widths in inches: 192 to 195 have 12 bays, 195.75 and 209 have 13 at 16 on centre
    for width_in, bays in ((192, 12), (193, 12), (194, 12), (195, 12), (195.75, 13), (209, 13)):
        yield Case("BAY_COUNT", (f"{width_in} in", 16), bays)
        yield Case("BAY_COUNT", (width_in / 12, "16 in", "right", 1.5), bays)  # the mirror image
    for _ in range(6):
        width_in, spacing_in = draw.randrange(40, 900), draw.choice([12, 16, 19.2, 24])
        yield Case("BAY_COUNT", (f"{width_in} in", spacing_in), bay_count(width_in, spacing_in))
        # even: ceil((width - t)/s) equal spaces between the end joists' centres (G2)
        yield Case(
            "BAY_COUNT", (f"{width_in} in", spacing_in, "even"), math.ceil(round((width_in - 1.5) / spacing_in, 6))
        )
    # by hand: centres at 0.75, 16, 32, ..., 176, 191.25; faces half of 1.5 off each
    yield Case("BAY_WIDTHS", ("16 ft", 16), column([13.75, *[14.5] * 10, 13.75]))
    yield Case("BAY_WIDTHS", ("16 ft", 16, "left", None, None, "metric"), column([349.25, *[368.3] * 10, 349.25]))
    # 50 wide, even: ceil(48.5/16) = 4 spaces of 12.125, less one thickness
    yield Case("BAY_WIDTHS", ("50 in", 16, "even"), column([10.625] * 4))
    # 4 ft with 2.5 in joists: centres 1.25, 16, 32, 46.75; 33.25 to 45.5
    yield Case("BAY_WIDTHS", (4, 16, None, 2.5), column([12.25, 13.5, 12.25]))


def _panels(draw: random.Random) -> Iterator[Case]:
    yield Case("BAY_CLEAR_RUN", (12,), 141.0)
    yield Case("BAY_CLEAR_RUN", ("12 ft", 1.5, 2, "1-1/2 in"), clear_run_in(144, 1.5, 2, 1.5))
    yield Case("BAY_CLEAR_RUN", ("3.6576 m", None, None, None, "metric"), 3581.4)  # 141 in
    runs = [float(draw.randrange(40, 300)) for _ in range(300)]
    yield Case("BAY_CUT_LENGTHS", (141, 1.5, 3), [[142.5]])
    yield Case("BAY_CUT_LENGTHS", (column(runs), 1.5, 3), column([cut_length_in(run, 1.5, 3, 3, 0.5) for run in runs]))
    yield Case("BAY_CUT_LENGTHS", ([[141, 93.25, None]], 1.5, "3 in", 2, 1), [[142.0, 94.0, ""]])
    for _ in range(5):
        cut, stock = draw.randrange(100, 900) / 2, draw.choice([144, 192, 240])
        pieces = pieces_of_panel(int(cut * 16), stock * 16, 12.0, 36.0)
        yield Case("BAY_PIECES", (cut, stock), column([piece / 16 for piece in pieces]))
        drape, run = draw.randrange(1, 12) / 2, draw.randrange(40, 300)
        yield Case("BAY_FALL", (drape, run), fall_in_per_ft(drape, run))
        yield Case("BAY_PANEL_WIDTH", (run / 16, drape, 1.5), width_needed_in(run / 16, drape, 1.5))
        depth = draw.choice([("2x6", 5.5), ("2x8", 7.25), ("2x10", 9.25), ("2x12", 11.25), (8.5, 8.5)])
        yield Case("BAY_OUTLET_TRIM", (depth[0], 9.25), outlet_trim_in(depth[1], 9.25))
        yield Case(
            "BAY_BLOCKING_HEIGHT", (depth[0], drape, run / 3, run), height_left_in(depth[1], drape, run / 3, run)
        )
    yield Case("BAY_PIECES", (273, "16 ft"), column([192.0, 93.0]))  # P6: 273 of 192: 192 and 273 - 180
    yield Case("BAY_FALL", (4, 141, "1/8 in/ft"), 12 * 4 / 141 + 0.125)
    yield Case("BAY_FALL", (2, "12 ft", None, "metric"), 13.888889)  # 2 in 144
    rows = [(draw.randrange(20, 60) / 4, float(draw.randrange(60, 300))) for _ in range(300)]
    answers = [
        [wide, run, width_needed_in(wide, 4, 1.5), cut_length_in(run, 1.5, 3, 3, 0.5), fall_in_per_ft(4, run)]
        for wide, run in rows
    ]
    heads = ["clear width [in]", "clear run [in]", "width needed [in]", "cut length [in]", "fall [in/ft]"]
    yield Case("BAY_PANELS", ([list(row) for row in rows], 4, 1.5, 1.5, 3), [heads, *answers])
    yield Case("BAY_PANELS", ([["clear", "run"], *map(list, rows[:2])], 4, 1.5, 1.5, 3), [heads, *answers[:2]])


def _tape_and_bead() -> Iterator[Case]:
    yield Case("BAY_TAPE_LENGTH", (16, 12, 16, 4), 156.0)  # 13 joists of 144 in: the rules' own deck
    yield Case(
        "BAY_TAPE_LENGTH", (16, 12, 16, 4, None, None, "ledger"), 172.0
    )  # and one strip of 16 ft along the high edge
    yield Case("BAY_TAPE_LENGTH", (16, 12, 16, 1, None, None, None, "metric"), 95.0976)  # two strips on 1.5 in: 312 ft
    for bead_ft, wasted, whole in ((19.452, None, 1), (30.9, 0, 1), (31, 0, 2), (56, "10%", 2), (57, 0.1, 3)):
        yield Case("BAY_CARTRIDGES", (bead_ft, None, None, wasted), whole)  # 30.94 ft a cartridge (T2)
    for feet in (171.5, 6, 168.03125, -0.0625):
        texts = {171.5: "14' 3-1/2\"", 6: '6"', 168.03125: "14' 0-1/16\"", -0.0625: '-1/16"'}
        yield Case("BAY_FEET_INCHES", (feet,), texts[feet])
        yield Case("BAY_INCHES", (texts[feet] if feet != 168.03125 else "14 ft 0.03125 in",), feet)
    yield Case("BAY_INCHES", ("14 ft 3.5 in", "metric"), 4356.1)
    yield Case("BAY_INCHES", ("4,35 m",), 171.259842520)


def _water(draw: random.Random) -> Iterator[Case]:
    for _ in range(5):
        rain, area, wall = draw.randrange(1, 100) / 10, draw.randrange(50, 900), draw.randrange(0, 20)
        yield Case("BAY_FLOW", (rain, area), flow_gpm(rain, area))
        yield Case(
            "BAY_FLOW", (f"{rain} in/h", area, wall, 16, 40), flow_gpm(rain, catchment_sq_ft(area, 0.5, wall, 16, 40))
        )
    yield Case("BAY_FLOW", ("127 mm/h", 192, None, None, None, None, "metric"), 0.629263)  # 9.97403 gpm
    for size in ("2x3", "3x4", "2-3/8 x 2-3/4", 4):
        capacity = leader_capacity(str(size))
        row = [capacity.value_gpm, capacity.method, capacity.edition, capacity.note]
        yield Case("BAY_LEADER_CAPACITY", (size,), [row])
    for profile in gutter_profiles():
        capacity = gutter_capacity(gutter_profiles()[profile], 0.125, roughness_n("PVC"), 0.5)
        row = [capacity.value_gpm, capacity.method, capacity.edition, capacity.note]
        yield Case("BAY_GUTTER_CAPACITY", (profile, "1/8 in/ft", 0.5, "PVC"), [row])
    yield Case("BAY_GUTTER_RUN", (3,), 24.0)
    yield Case("BAY_GUTTER_RUN", (3, 0), "no limit")
    yield Case("BAY_GUTTER_RUN", (3.5, "1/8 in/ft", 0.25, 1, 0.5), reach_ft(3.5, 0.25, 1.0, 0.125, 0.5))
    yield Case("BAY_GUTTER_RUN", (3, None, None, None, None, "metric"), 7.3152)
    heads = ["item", "quantity", "unit", "length of each [in]"]
    for width, projection, height in ((16, 12, 9), (49, 10, 12), (31.5, 14, 8.25)):
        job = books.plain(width=f"{width} ft", projection=f"{projection} ft", height=f"{height} ft")
        yield Case("BAY_GUTTER_PARTS", (width, projection, 16, "2x10", height, 5, 3), [heads, *_gutter_rows(job)])
    yield Case("BAY_RATE", ("splice_lap_in",), 12.0)
    yield Case("BAY_RATE", ("Waste_Seam_Tape",), 0.05)
    yield Case("BAY_RATE", ("units",), "us")
    yield Case("BAY_RATE", ("hanger_spacing_in", [["hanger_spacing_in", "3 ft"]]), 36.0)
    yield Case("BAY_RATE", ("hours_piece", [["key", "value"], ["hanger_spacing_in", 36]]), Rates().hours_piece)


def _gutter_rows(job) -> list[list[Any]]:
    """The parts of the plain deck's one line, read off an estimate of the whole job."""
    data = books.build_estimate(job)
    (line,) = data.takeoff.lines
    needs = {need.item: need.net for need in data.takeoff.needs}
    rows = [["gutter", line.gutter_pieces.count(one), "piece", one / 16] for one in dict.fromkeys(line.gutter_pieces)]
    rows += [[item, needs[item], "each", ""] for item in ("gutter_joiner", "gutter_end_cap", "gutter_drop", "hanger")]
    leaders = list(line.leader_pieces) * line.leaders
    rows += [["leader", leaders.count(one), "piece", one / 16] for one in dict.fromkeys(leaders)]
    return rows + [[item, needs[item], "each", ""] for item in ("elbow", "strap", "splash_block")]


def _plan(pieces, stock, **limits) -> tuple[list[list[Any]], list[list[Any]]]:
    """The planner's own answer: the rows of a table, and how many of each stock."""
    plan = plan_cuts(
        [Piece(int(length * 16), count) for length, count in pieces],
        [Stock(int(length * 16), round(price * 100), supply, name) for length, price, supply, name in stock],
        **({"min_remainder": 24 * 16} | limits),
    )
    rows = []
    for one in plan.patterns:
        length, price, _, name = stock[one.stock]
        text = ", ".join(f"{count} x {cut / 16:g}" for cut, count in one.pieces)
        rows.append([one.times, length, name, text, one.remainder / 16, one.times * round(price * 100) / 100])
    assert plan.proven
    return [*rows, [sum(plan.used), "", "in all", "least cost, proven", "", plan.cost / 100]], column(plan.used)


def _buying(draw: random.Random) -> Iterator[Case]:
    heads = ["times", "stock [in]", "name", "pieces", "left over [in]", "cost"]
    stock = [(144.0, 41.0, None, "A"), (192.0, 54.0, None, "B"), (150.0, 4.0, 2, "rack")]
    shown = [[length, price, supply, name] for length, price, supply, name in stock]
    easy = [(142.5, 12)]
    table, used = _plan(easy, stock)
    yield Case("BAY_CUT_PLAN", ([list(row) for row in easy], shown), [heads, *table])
    yield Case("BAY_CUT_COUNTS", ([["length", "how many"], *map(list, easy)], shown), used)
    hard = [(float(draw.randrange(80, 560)) / 4, draw.randrange(1, 6)) for _ in range(8)]
    table, used = _plan(hard, stock)
    yield Case("BAY_CUT_PLAN", ([list(row) for row in hard], shown), [heads, *table], solver=True)
    yield Case("BAY_CUT_COUNTS", ([list(row) for row in hard], shown), used, solver=True)
    _, used = _plan(hard, stock[:2], kerf=2, end_trim=8)
    yield Case(
        "BAY_CUT_COUNTS",
        ([list(row) for row in hard], [row[:2] for row in shown[:2]], "1/8 in", 0.5),
        used,
        solver=True,
    )
    # one piece of 100 from 144: 44 left, in millimetres
    metric = [
        ["times", "stock [mm]", "name", "pieces", "left over [mm]", "cost"],
        [1, 3657.6, "", "1 x 2540", 1117.6, 5.0],
    ]
    last = [1, "", "in all", "least cost, proven", "", 5.0]
    yield Case("BAY_CUT_PLAN", ([[100]], [["12 ft", 5]], None, None, None, "metric"), [*metric, last])
    yield from _prices(draw)
    for cost in (8000, 1234.56, 0.01, 99999.99):
        share = draw.randrange(1, 60) / 100
        exact, decimal = Decimal(str(cost)), Decimal(str(share))
        yield Case("BAY_MARKUP_PRICE", (cost, share), float(exact + profit_on(exact, decimal, "markup")))
        yield Case("BAY_MARGIN_PRICE", (cost, f"{share:.0%}"), float(exact + profit_on(exact, decimal, "margin")))
    yield Case("BAY_MARKUP_PRICE", (8000, 0.25), 10000.0)  # M3's own figures
    yield Case("BAY_MARGIN_PRICE", (8000, "30%"), 11428.57)


def _prices(draw: random.Random) -> Iterator[Case]:
    heads = ["item", "quantity", "supplier", "sku", "pack_qty", "packs", "pack_price", "cost"]
    items = ["seam_tape", "sealant", "strap", "own thing"]
    offers = [
        PriceRow(
            supplier=draw.choice(["Alder Yard", "birch supply"]),
            sku=f"{number:03}",
            item=draw.choice(items),
            pack_qty=float(draw.choice([1, 10, 25, 50])),
            pack_price=Decimal(draw.randrange(100, 9000)) / 100,
            currency="",
        )
        for number in range(24)
    ]
    lines = [(item, draw.randrange(0, 4000) / 10) for item in items if any(row.item == item for row in offers)]
    ordered = sorted(offers, key=lambda row: (row.supplier.casefold(), row.sku))
    rows: list[list[Any]] = []
    for item, quantity in lines:
        one = cheapest(quantity, [row for row in ordered if row.item == item])
        offer = one.offer
        rows.append(
            [
                item,
                quantity,
                offer.supplier,
                offer.sku,
                offer.pack_qty,
                one.packs,
                float(offer.pack_price),
                float(one.cost),
            ]
        )
    total = float(sum(Decimal(str(row[-1])) for row in rows))
    table = [["SKU", "supplier", "item", "pack_price", "pack_qty", "note"]]
    table += [[row.sku, row.supplier, row.item, float(row.pack_price), row.pack_qty, "x"] for row in offers]
    asked = [["item", "quantity"], *map(list, lines)]
    yield Case("BAY_PRICE_TABLE", (asked, table), [heads, *rows, ["in all", *[""] * 6, total]])
    # valid from 1 to 30 June 2026 (46174 to 46203), open before and after; the cheaper is over on 1 July
    dated = [
        ["supplier", "sku", "item", "pack_price", "valid_from", "valid_to", "currency"],
        ["A", "a", "strap", 2, 46174, 46203, "USD"],
        ["B", "b", "strap", 3, None, None, "usd"],
        ["C", "c", "strap", 1, None, None, "EUR"],
    ]
    for day, sku, price in ((46203, "a", 2.0), ("2026-06-30", "a", 2.0), (46204, "b", 3.0), ("2026-05-31", "b", 3.0)):
        row = ["strap", 2.0, sku.upper(), sku, 1.0, 2, price, 2 * price]
        yield Case(
            "BAY_PRICE_TABLE", ([["strap", 2]], dated, day, "USD"), [heads, row, ["in all", *[""] * 6, 2 * price]]
        )


def _whys() -> Iterator[Case]:
    yield Case("BAY_WHY", ("BAY_COUNT", 16, 16), "")
    yield Case("BAY_WHY", ("bay_count", "16 ft", 3), "BAY_COUNT: spacing: '3 in' must be 4 in or more")
    yield Case("BAY_WHY", ("BAY_MARGIN_PRICE", 100, 1), "BAY_MARGIN_PRICE: margin: '100%' must be 99 % or less")


def _cases() -> list[Case]:
    draw = random.Random(11)
    return [*_counts(draw), *_panels(draw), *_tape_and_bead(), *_water(draw), *_buying(draw), *_whys()]


CASES = _cases()

OFFER = ["supplier", "sku", "item", "pack_price"]
# (function, arguments, what the sentence must hold)
REFUSED = (
    ("BAY_COUNT", (), "width is empty and is needed"),
    ("BAY_COUNT", (0, 16), "width: '0 ft' must be above 0 in"),
    ("BAY_COUNT", (-5, 16), "width: '-5 ft' must be above 0 in"),
    ("BAY_COUNT", ("14-3", 16), "14-3 could be 14 ft 3 in or 14 less 3"),
    ("BAY_COUNT", (16, 16, "middle"), "layout: 'middle' is not one of left, right, even"),
    ("BAY_COUNT", (1e300, 16), "larger than anything on a deck"),
    ("BAY_COUNT", (16, [[16, 12], [24, 16]]), "spacing is a range of 2 x 2 cells; it takes one cell"),
    ("BAY_COUNT", (16, 16, None, None, None, None, 3), "it takes 5 arguments and was given 7"),
    ("BAY_WIDTHS", ("3 in", 16), "a width of 3 in leaves no bay between the end joists"),
    ("BAY_CUT_LENGTHS", ([[141], ["x"]], 1.5, 3), "clear_runs, row 2: x is not read as a length"),
    ("BAY_CUT_LENGTHS", ([[None], [None]], 1.5, 3), "clear_runs is empty and is needed"),
    ("BAY_PANELS", ([[14.5]], 4, 1.5, 1.5, 3), "bays has one column; it takes two"),
    ("BAY_FALL", (4, 0), "clear_run: '0 in' must be above 0 in"),
    ("BAY_PIECES", (273, 12), "no longer than a splice's lap"),
    ("BAY_FLOW", (None, 192), "rainfall is empty and is needed: design rain [in/h]"),
    ("BAY_LEADER_CAPACITY", ("1x1",), "it must be 2 to 12 in"),
    ("BAY_GUTTER_CAPACITY", ("half-round 5 in", 0, 0.5), "a level channel needs a method for level gutters"),
    ("BAY_GUTTER_PARTS", (16, 12, 16, "2x10", 9, 5, 1), "hang the gutter closer"),
    ("BAY_GUTTER_PARTS", (16, 12, 16, "2x10", 9, 5, 3, *[None] * 4, [["foo", 1]]), "own_rates, row 1: 'foo' is no key"),
    ("BAY_CUT_PLAN", ([[300, 1]], [[144, 41]]), "a piece of 300 in is longer than the longest stock"),
    ("BAY_CUT_PLAN", ([[100, 5]], [[144, 41, 2]]), "there is not enough stock"),
    ("BAY_CUT_PLAN", ([[100, 1.5]], [[144, 41]]), "pieces, row 1, how many: '1.5' is not a whole number"),
    ("BAY_CUT_PLAN", ([[100, 2501], [90, 2500]], [[144, 41]]), "more than 5000 pieces are asked for"),
    ("BAY_CUT_COUNTS", ([[100, 1]], [[144]]), "stock has 1 column; it takes: length, price"),
    ("BAY_PRICE_TABLE", ([["strap", 1]], [OFFER[:3], ["a", "b", "strap"]]), "offers has no column pack_price"),
    ("BAY_PRICE_TABLE", ([["glue", 1]], [OFFER, ["a", "b", "strap", 1]]), "line 1, glue: no offer"),
    ("BAY_MARGIN_PRICE", (100, 1), "margin: '100%' must be 99 %"),
    ("BAY_INCHES", ("1,500",), "1,500 could be 1500 or 1.500"),
    ("BAY_RATE", ("nope",), "'nope' is no key of rates.csv"),
    ("BAY_WHY", ("SUM", 1), "'SUM' is none of: BAY_COUNT"),
)  # fmt: skip
