"""Random changes of a workbook's inputs, as an estimator makes them, and what the engine says to each."""

from __future__ import annotations

import random
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from decimal import Decimal
from typing import Any

from baybook.cutplan import Piece, Stock, safe_count
from baybook.estimate import Estimate
from baybook.numbers import cents
from baybook.pricing.cutgoods import CutLine
from baybook.pricing.price import totals_of
from baybook.workbook.build import Made
from baybook.workbook.layouts import declared_keys
from baybook.workbook.read import ReadBook
from baybook.workbook.semantics import cell_value
from baybook.workbook.shape import Shape
from baybook.workbook.sheets.stock import block_cuts

Change = tuple[str, int, Any]  # key, row from 0, value

CAPACITY = ("the table of", "the tables of")  # checks that refuse what has no room


@dataclass
class Editor:
    """Makes changes to one workbook; `held` is what stands in its inputs now."""

    made: Made
    seed: int
    metric: bool
    held: dict[tuple[str, int], Any] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.rng = random.Random(self.seed)
        self.rows: dict[str, int] = {}
        for one in declared_keys(self.made.spec):
            if one.role == "input":
                self.rows[one.key] = self.made.layout.count(one.key)
                values = [one.value] if hasattr(one, "value") else one.values or ()
                held = ((one.key, row, cell_value(value)) for row, value in enumerate(values))
                self.held |= {(key, row): value for key, row, value in held if value is not None}

    # ------------------------------------------------------------------------------------------------- what stands

    def get(self, key: str, row: int = 0) -> Any:
        return self.held.get((key, row))

    def used(self, key: str) -> list[int]:
        return [row for row in range(self.rows[key]) if self.get(key, row) is not None]

    def spare(self, key: str) -> int | None:
        return next((row for row in range(self.rows[key]) if self.get(key, row) is None), None)

    def big(self, feet: float) -> float:
        """A length that is shown in feet or metres."""
        return round(feet * 0.3048, 3) if self.metric else feet

    def small(self, inches: float) -> float:
        """A length that is shown in inches or millimetres."""
        return round(inches * 25.4, 1) if self.metric else inches

    # --------------------------------------------------------------------------------------------------- the changes

    def edit(self) -> list[Change]:
        """Return the next change of one or several inputs; one in eight is a slip of the pen."""
        if self.rng.random() < 0.125:
            return self.slip()
        found: dict[tuple[str, int], Any] = {}
        for _ in range(self.rng.choice((1, 1, 1, 2, 3, 5))):
            make = self.rng.choice(
                (self.area, self.area, self.area, self.place, self.framing, self.job, self.rate, self.rate, self.price,
                 self.price, self.offer, self.extra, self.override, self.offcut, self.liner, self.new_area)
            )  # fmt: skip
            found |= {(key, row): value for key, row, value in make() if key in self.rows}
        return [(key, row, value) for (key, row), value in found.items()]

    def area(self) -> Iterator[Change]:
        row, rng = self.rng.choice(self.used("a_area")), self.rng
        field_of = {
            "width": lambda: self.big(rng.choice((6, 8, 10, 12.5, 16, 18, 20.25, rng.randrange(48, 320) / 12))),
            "projection": lambda: self.big(rng.choice((6, 8, 10, 12, 14, rng.randrange(60, 240) / 12))),
            "spacing": lambda: self.small(rng.choice((12, 13.5, 16, 19.2, 24))),
            "layout": lambda: rng.choice(("left", "right", "even", None)),
            "rim_plies": lambda: rng.choice((1, 2, 3, None)),
            "gutter_side": lambda: rng.choice(("rim", "ledger", None)),
            "gutter_fix": lambda: rng.choice(("joists", "nailer", None)),
            "leader_at": lambda: rng.choice(("end", "middle", None)),
            "height": lambda: self.big(rng.choice((7, 8, 9, 9.5, 11))),
            "borders": lambda: rng.choice((0, 1, 2, None)),
            "posts_through": lambda: rng.choice((0, 3, 8, None)),
            "wall_height": lambda: self.big(rng.choice((0, 8, 16))),
            "wall_length": lambda: rng.choice((None, self.big(10))),
            "roof_area": lambda: rng.choice((0, 55, 120.5)),
            "frame_fall_in_per_ft": lambda: rng.choice((0, 0.125, 0.25, -0.0625)),
            "joist_thickness": lambda: rng.choice((None, self.small(1.5), self.small(1.75))),
        }
        name = rng.choice(list(field_of))
        yield f"a_{name}", row, field_of[name]()

    def place(self) -> Iterator[Change]:
        row, rng = self.rng.choice(self.used("a_area")), self.rng
        match rng.randrange(3):
            case 0:
                yield "a_joist", row, rng.choice(("2x6", "2x8", "2x10", "2x12"))
                yield "a_joist_depth", row, None
            case 1:
                yield "a_joist", row, None
                yield "a_joist_depth", row, self.small(rng.choice((9.5, 11.875)))
            case _:
                yield "a_gutter_line", row, rng.choice(("front run", None, "back run"))

    def new_area(self) -> Iterator[Change]:
        rows, spare = self.used("a_area"), self.spare("a_area")
        if len(rows) > 1 and self.rng.random() < 0.4:
            gone = self.rng.choice(rows)  # cleared wherever it stands: a blank row may stay between others
            yield from ((key, gone, None) for key in self.rows if key.startswith("a_"))
            name = self.get("a_area", gone)
            for row in self.used("f_area"):
                if self.get("f_area", row) == name:
                    yield from self.cleared("f_", row)
        elif spare is not None:
            row = self.rng.choice(rows)
            for key in self.rows:
                if key.startswith("a_") and self.get(key, row) is not None:
                    yield key, spare, self.get(key, row)
            yield "a_area", spare, f"new {spare}"

    def cleared(self, prefix: str, row: int) -> Iterator[Change]:
        yield from ((key, row, None) for key in self.rows if key.startswith(prefix))

    def framing(self) -> Iterator[Change]:
        used, spare, rng = self.used("f_area"), self.spare("f_area"), self.rng
        if used and rng.random() < 0.35:
            yield from self.cleared("f_", rng.choice(used))
            return
        if spare is None:
            return
        area = rng.choice(self.used("a_area"))
        width, depth = self.get("a_width", area), self.get("a_projection", area)
        kind = rng.choice(("member", "member", "divider", "flush_beam", "dropped_beam", "blocking"))
        yield from self.cleared("f_", spare)
        yield "f_area", spare, self.get("a_area", area)
        yield "f_kind", spare, kind
        if kind in {"member", "divider"}:
            yield "f_x", spare, round(width * rng.choice((0.25, 0.5, 0.61803, 0.99)), 4)
        else:
            yield "f_y", spare, round(depth * rng.choice((0.3, 0.5, 0.75)), 4)
        if kind not in {"divider", "blocking"}:
            yield "f_plies", spare, rng.choice((1, 2, 3))

    def job(self) -> Iterator[Change]:
        rng = self.rng
        choices = {
            "rainfall": (2.5, 4.7, 7.25, 9),
            "tax_rate": (0, 0.0825, 0.06),
            "tax_on": ("none", "materials", "total"),
            "overhead": (0, 0.12, 0.075),
            "profit": (0, 0.15, 0.225),
            "profit_basis": ("markup", "margin"),
            "labour_rate": (48.5, 62, 71.333),
            "valid_days": (10, 45),
            "customer": ("Oak & Sons", "=1+1"),
        }
        name = rng.choice(list(choices))
        yield f"job_{name}", 0, rng.choice(choices[name])

    def rate(self) -> Iterator[Change]:
        rng = self.rng
        choices: Mapping[str, tuple[Any, ...]] = {
            "pack_gap_in": (1, 1.5, 2), "narrow_bay_in": (4, 5, 6.5), "wide_member": (1, 1.5, 2.5),
            "joint_plies": (1, 2, 3), "board_width_in": (5.5, 3.5), "board_gap_in": (0.1875, 0.25),
            "border_overhang_in": (0, 1), "trim_allowance_in": (0, 2, 3), "cut_step_in": (0.25, 0.5, 1, 0.3),
            "splice_lap_in": (6, 12, 18), "min_piece_in": (24, 36, 48), "spare_panels": (0, 1, 2),
            "outlet_min_bay_in": (8, 10, 12), "gutter_fall_in_per_ft": (0, 0.03125, 0.0625),
            "gutter_top_gap_in": (0.25, 0.5), "leader_size": ("2x3", "3x4"), "leader_capacity_gpm": (None, 30),
            "leader_spacing_ft": (20, 35, 50), "hanger_spacing_in": (18, 24, 36), "staple_spacing_in": (8, 12),
            "strap_spacing_in": (48, 60), "leader_extra_in": (0, 12), "min_rest_in": (6, 12), "kerf_in": (0, 0.125),
            "end_trim_in": (0, 0.25), "offcut_value": (0, 0.1, 0.25), "waste_seam_tape": (0, 0.05, 0.08),
            "waste_bay_outlet": (0, 0.05), "hours_piece": (0.3, 0.255), "hours_outlet": (0.2, 0.333),
            "contingency": (0, 0.03), "minimum_charge": (0, 9000), "tax_basis": ("item", "invoice"),
            "wall_share": (0.5, 0.25), "post_tape_ft": (3, 2.5), "rim_turn_down_in": (1, 2), "apron_in": (9, 7),
            "ledger_discharge_in": (60, 36), "bead_diameter_in": (0.25, 0.375), "min_fall_in_per_ft": (0.25, 0.5),
            "elbows_per_leader": (0, 3), "end_caps_per_line": (2, 4), "crew": (1, 3),
        }  # fmt: skip
        key = rng.choice(list(choices))
        yield key, 0, rng.choice(choices[key])

    def price(self) -> Iterator[Change]:
        rng, row = self.rng, self.rng.choice(self.used("v_item"))
        price = self.get("v_pack_price", row)
        match rng.randrange(5):
            case 0 | 1 | 2:
                yield "v_pack_price", row, round(price * rng.choice((0.5, 0.9, 1.1, 1.3)), rng.choice((2, 2, 3)))
            case 3:
                yield "v_valid_to", row, rng.choice((46187.0, 46188.0, None))  # the quote date is 46188
            case _:
                if self.get("v_length", row) is not None:
                    yield "v_length", row, self.big(rng.choice((8, 10, 12, 16, 20)))
                else:
                    yield "v_pack_qty", row, rng.choice((1, 4, 25, 50))

    def offer(self) -> Iterator[Change]:
        spare = self.spare("v_item")
        if spare is None:
            return
        row = self.rng.choice(self.used("v_item"))
        for key in self.rows:
            if key.startswith("v_") and self.get(key, row) is not None:
                yield key, spare, self.get(key, row)
        yield "v_supplier", spare, "Zeta Yard"  # last in the list, as the engine sorts it
        yield "v_sku", spare, f"new-{spare:03}"
        yield "v_pack_price", spare, round(self.get("v_pack_price", row) * self.rng.choice((0.8, 1, 1.2)), 2)

    def extra(self) -> Iterator[Change]:
        used, spare = self.used("e_description"), self.spare("e_description")
        if used and self.rng.random() < 0.4:
            yield from self.cleared("e_", self.rng.choice(used))
        elif spare is not None:
            yield "e_description", spare, "an extra"
            yield "e_quantity", spare, self.rng.choice((1, 2.5, 0.333))
            yield "e_unit_cost", spare, self.rng.choice((145, 19.995, -25))
            yield "e_kind", spare, self.rng.choice(("material", "labour", "other"))

    def override(self) -> Iterator[Change]:
        used, spare = self.used("h_item"), self.spare("h_item")
        if used and self.rng.random() < 0.5:
            yield from self.cleared("h_", self.rng.choice(used))
        elif spare is not None:
            taken = {self.get("h_item", row) for row in used}
            items = ("strap", "elbow", "hanger", "splash_block", "staples", "gutter")
            free = [item for item in items if item not in taken]
            if not free:
                return
            item = self.rng.choice(free)
            yield "h_item", spare, item
            yield "h_quantity", spare, self.rng.choice((0, 3, 12))
            if item == "gutter":
                rows = [row for row in self.used("v_item") if self.get("v_item", row) == item]
                yield "h_length", spare, self.get("v_length", self.rng.choice(rows))

    def offcut(self) -> Iterator[Change]:
        used, spare = self.used("r_item"), self.spare("r_item")
        if used and self.rng.random() < 0.5:
            yield from self.cleared("r_", self.rng.choice(used))
        elif spare is not None:
            yield "r_item", spare, self.rng.choice(("gutter", "leader"))
            yield "r_length", spare, self.big(self.rng.choice((3.5, 7, 8)))
            yield "r_quantity", spare, self.rng.choice((1, 2))

    def liner(self) -> Iterator[Change]:
        row, rng = self.rng.choice(self.used("l_liner")), self.rng
        choices = {
            "drape_in": (2, 3, 4), "side_lap_in": (1, 1.5, 1.75), "high_lap_in": (1.5, 3), "low_setback_in": (0, 3),
            "outlet_made_for_in": (7.25, 9.25, 11.25), "nozzle_reach_in": (2.5, 3, 3.5), "tape_width_in": (3, 4),
            "made_for_in": (16, 24),
        }  # fmt: skip
        name = rng.choice(list(choices))
        yield f"l_{name}", row, rng.choice(choices[name])

    def slip(self) -> list[Change]:
        """Return a slip of the pen: a text, a misspelt word, a number out of bounds, a cell cleared."""
        rng = self.rng
        key = rng.choice([key for key in self.rows if self.used(key) and not key.startswith(("log_", "job_prices"))])
        row = rng.choice(self.used(key))
        held = self.get(key, row)
        if isinstance(held, str):
            return [(key, row, rng.choice((held + "x", None, 7.0)))]
        return [(key, row, rng.choice(("about 16", "sixteen", None, -held - 1, held * 1e6 + 1e6, held + 0.5)))]

    def note(self, changes: list[Change]) -> list[Change]:
        """Take changes as made; return what undoes them."""
        undo = [(key, row, self.get(key, row)) for key, row, _ in changes]
        for key, row, value in changes:
            if value is None:
                self.held.pop((key, row), None)
            else:
                self.held[key, row] = value
        return undo

    def inputs(self) -> dict[tuple[str, int], Any]:
        """Every input as it stands now, blanks as None, for `evaluate`."""
        return {(key, row): self.get(key, row) for key, rows in self.rows.items() for row in range(rows)}


# ------------------------------------------------------------------------------------------------------ what it costs


def as_priced(estimate: Estimate, shape: Shape, book: ReadBook) -> Estimate:
    """Return the estimate as the workbook prices it: the safe count for cut goods whose plan is out of date."""
    fresh = {cut.key: book.at("t_fresh", block) == 1 for block, cut in enumerate(block_cuts(estimate, shape)) if cut}
    cuts = [cut if fresh[cut.key] else _safe(cut, estimate) for cut in estimate.cuts]
    totals = totals_of(estimate.inputs, list(estimate.lines), cuts, estimate.labour, estimate.extras)
    return replace(estimate, cuts=tuple(cuts), totals=totals)


def _safe(cut: CutLine, estimate: Estimate) -> CutLine:
    counts: dict[int, int] = {}
    for length, _ in cut.cut.pieces:
        counts[length] = counts.get(length, 0) + 1
    trim = round(estimate.inputs.rates.end_trim_in * 16)
    stock = [Stock(one.length, int(cents(one.offer.pack_price) * 100)) for one in cut.bought]
    safe = safe_count([Piece(length, count) for length, count in counts.items()], stock, end_trim=trim)
    bought = []
    for one, count in zip(cut.bought, safe, strict=True):
        pieces = int(one.override.quantity) if one.override else count
        bought.append(replace(one, pieces=pieces, cost=cents(pieces * cents(one.offer.pack_price))))
    cost = sum((one.cost for one in bought), Decimal(0))
    return replace(cut, bought=tuple(bought), offcuts=(), cost=cost)
