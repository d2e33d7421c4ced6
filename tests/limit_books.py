"""Books whose every measure stands exactly on a limit of a rule, most of them metric.

Ordinary random books catch none of the places where binary noise moves a count, or where spreadsheet programs round
differently; members, runs, stock and gutters exactly on a limit do. `limit_tables` gives one job from a seed.
"""

from __future__ import annotations

import csv
import io
import random
from collections.abc import Iterator, Mapping
from functools import lru_cache
from typing import Any

from books import AREA_ROW, JOB_ROW, LINER_ROW, TODAY, Tables, csv_text, inputs_of, offer

from baybook.estimate import Estimate, build_estimate
from baybook.job.rates import Rates
from baybook.job.records import CUT_GOODS, ITEMS
from baybook.numbers import r6, sixteenths_up
from baybook.problems import BookError
from baybook.takeoff.model import AreaTake, Part

Values = dict[str, Any]


class _Limits:
    """One book: lengths in mm or in inches, each choice from one seeded generator."""

    def __init__(self, seed: str) -> None:
        self.rng = random.Random(seed)
        self.metric = self.rng.random() < 0.75
        self.unit = "mm" if self.metric else "in"
        self.ply = self.pick(38, 45, 38.1) if self.metric else self.pick(1.5, 1.5, 1.75)
        self.lap = self.ply
        self.spacing = self.pick(300, 350, 400, 406.4, 450, 600) if self.metric else self.pick(12, 13.5, 16, 19.2, 24)

    def pick(self, *choices: Any) -> Any:
        return self.rng.choice(choices)

    def of(self, mm: float, inches: float) -> float:
        """Return a length of the book's unit."""
        return mm if self.metric else inches

    def text(self, length: float) -> str:
        return f"{length:.6f}".rstrip("0").rstrip(".") + f" {self.unit}"

    # ------------------------------------------------------------------ the deck

    def limits(self) -> Values:
        """Return the limits themselves, as keys of rates.csv."""
        of = self.of
        return {
            "pack_gap_in": self.pick(of(38, 1.5), of(40, 1.25)),
            "narrow_bay_in": self.pick(of(127, 5), of(110, 4.75)),
            "outlet_min_bay_in": self.pick(of(254, 10), of(230, 9.25)),
            "beam_clearance_in": of(self.pick(165, 170), 6.5),
            "beam_ply_in": self.ply,
            "ledger_thickness_in": self.ply,
            "cut_step_in": of(self.pick(5, 10, 12.7), self.pick(0.5, 0.375, 0.1)),
            "trim_allowance_in": of(75, 3),
            "rim_turn_down_in": of(25, 1),
            "apron_in": of(230, 9),
            "staple_spacing_in": of(self.pick(300, 250), 12),
            "hanger_spacing_in": round(self.spacing * 2, 6),
            "min_piece_in": of(900, 36),
            "splice_lap_in": of(300, 12),
            "min_rest_in": of(150, 6),
            "max_step_in": of(150, 6),
            "nozzle_in_gutter_in": of(25, 1),
            "gutter_top_gap_in": of(10, 0.5),
            "gutter_depth_in": of(90, 3.5),
            "gutter_bottom_gap_in": of(10, 0.5),
            "strap_spacing_in": of(1500, 60),
            "leader_extra_in": of(300, 12),
            "board_width_in": of(140, 5.5),
            "board_gap_in": of(5, 0.1875),
        }

    def width(self, layout: str) -> float:
        """G2, G7. A width at which a joist more would begin, or the last gap is exactly the pack gap."""
        bays, t = self.rng.randrange(5, 36), self.ply
        if layout == "even":
            return bays * self.spacing + t
        last = self.pick(t / 2, t / 2, 1.5 * t, 1.5 * t + self.pack_gap, 1.5 * t + self.narrow, self.spacing)
        return bays * self.spacing + last

    def projection(self, rates: Values) -> float:
        """P2, P6. A depth at which the cut length is a whole number of steps, and often the stock itself."""
        step, t = rates["cut_step_in"], self.ply
        cut = step * self.rng.randrange(int(self.of(1800, 72) / step), int(self.of(6600, 260) / step))
        if self.rng.random() < 0.4:
            cut = step * round(self.pick(*self.stock) / step)
        self.cut = cut
        return cut - self.high_lap + self.setback - rates["trim_allowance_in"] + t + self.rims * t

    def members(self, layout: str, width: float) -> list[Values]:
        """G4, G5, O1. Members whose gap to a field joist is exactly a limit."""
        rows = []
        for _ in range(self.pick(1, 2, 3)):
            joist, plies = (
                self.spacing * self.rng.randrange(1, max(2, int(width / self.spacing) - 1)),
                self.pick(1, 2, 3),
            )
            gap = self.pick(self.pack_gap, self.narrow, self.least_outlet, 0)
            centre = joist + self.ply / 2 + gap + plies * self.ply / 2
            x = width - centre if layout == "right" else centre
            rows.append({"kind": "member", "x": self.text(max(0, x)), "plies": plies})
        if self.rng.random() < 0.25:
            rows.append(
                {"kind": "divider", "x": self.text(self.spacing * self.rng.randrange(2, 5) + self.of(72.5, 2.84375))}
            )
        return rows

    def beams(self, rates: Values, projection: float, side: str) -> list[Values]:
        rows, t = [], self.ply
        low = t if side == "ledger" else projection - self.rims * t
        if self.rng.random() < 0.4:  # G9: its face exactly the clearance from the low-end member
            away = rates["beam_clearance_in"] + 1.5 * rates["beam_ply_in"]
            y = low + away if side == "ledger" else low - away
            rows.append({"kind": "dropped_beam", "y": self.text(y), "plies": 3, "depth": self.text(self.of(235, 9.25))})
        if self.rng.random() < 0.4:  # O2: half-way, where half the drape is left
            rows.append({"kind": "blocking", "y": self.text((projection + t - self.rims * t) / 2)})
        if self.rng.random() < 0.2:
            rows.append({"kind": "flush_beam", "y": self.text(projection / 2), "plies": 2})
        return rows

    def area(self, name: str, rates: Values) -> tuple[Values, list[Values]]:
        layout, side = self.pick("left", "left", "right", "even"), self.pick("rim", "rim", "ledger")
        self.rims = self.pick(1, 2)
        width, projection = self.width(layout), self.projection(rates)
        row = {
            **AREA_ROW,
            "area": name,
            "width": self.text(width),
            "projection": self.text(projection),
            "spacing": self.text(self.spacing),
            "layout": layout,
            "joist": self.text(self.depth),
            "joist_thickness": self.text(self.ply),
            "rim_plies": self.rims,
            "gutter_side": side,
            "gutter_fix": self.pick("joists", "nailer"),
            "leader_at": "end",
            "height": self.text(self.height),
            "borders": self.pick(0, 0, 0, 1, 2),
            "wall_height": self.pick(None, self.text(self.of(2400, 96))),
        }
        return row, [
            {"area": name, **added} for added in self.members(layout, width) + self.beams(rates, projection, side)
        ]

    # ------------------------------------------------------------------ water, money

    def water(self, rates: Values, width: float) -> None:
        """O3, W3. The nozzle's reach is exactly the line's length, or half of it."""
        runs = self.pick(1, 1, 2, 2, 4)
        left = self.of(30, 1.5)
        self.nozzle = left + rates["gutter_top_gap_in"] + rates["nozzle_in_gutter_in"]
        share = left / (width / runs)  # of the length; a fall is written in inches a foot
        if not self.metric or self.rng.random() < 0.5:
            rates["gutter_fall_in_per_ft"] = repr(share * 12)
        else:
            rates["gutter_fall_in_per_ft"] = f"{share * 100!r} %"
        if self.rng.random() < 0.3:
            rates["leader_spacing_ft"] = f"{width / 1000 / 2!r} m" if self.metric else repr(width / 12 / 2)

    def liner(self) -> Values:
        side = 2 * ((self.widest / 2) ** 2 + self.drape**2) ** 0.5
        self.stock_width = self.stock_width or side + 2 * self.lap
        return {
            **LINER_ROW,
            "made_for_in": self.text(self.spacing),
            "drape_in": self.text(self.drape),
            "side_lap_in": self.text(self.lap),
            "high_lap_in": self.text(self.high_lap),
            "low_setback_in": self.text(self.setback),
            "outlet_made_for_in": self.text(self.depth),
            "nozzle_reach_in": self.text(self.nozzle),
            "tape_width_in": self.text(self.ply * self.pick(1, 2, 3)),
        }

    def prices(self) -> list[Values]:
        """M1, M4. Packs that come out even, and prices whose products end in half a cent."""
        rows = []
        for at, length in enumerate(self.stock):
            size = {"length": self.text(length), "width": self.text(self.stock_width)}
            rows.append(offer("liner", self.pick("41.005", "38.335", "54.00"), sku=f"liner-{at}", **size))
        for item in ("gutter", "leader"):
            rows += [
                offer(item, self.pick("13.335", "12.10"), sku=f"{item}-{at}", length=self.text(length))
                for at, length in enumerate(self.rng.sample(self.sticks, 2))
            ]
        packs = {"seam_tape": 7.8, "staples": 105.6, "hanger": 1, "bay_outlet": 6, "sealant": 1}
        for item in (code for code in ITEMS if code not in CUT_GOODS):
            rows.append(offer(item, self.pick("1.005", "0.335", "8.125", "18.75"), pack_qty=packs.get(item, 1)))
        return rows

    def job(self) -> Values:
        return {
            **JOB_ROW,
            "quoted_on": TODAY.isoformat(),
            "rainfall": self.pick("5 in/h", "125 mm/h"),
            "labour_rate": self.pick("62.50", "48.125"),
            "tax_rate": self.pick("8.25%", "12.5%"),
            "tax_on": self.pick("materials", "total"),
            "overhead": self.pick("12.5%", "7.5%"),
            "profit": self.pick("22.5%", "15%"),
            "profit_basis": self.pick("markup", "margin"),
        }

    def tables(self) -> Tables:
        of = self.of
        self.drape, self.high_lap, self.setback = of(100, 4), of(38, 1.5), of(75, 3)
        self.depth, self.height = of(235, 9.25), of(2735, 108)
        self.stock, self.sticks = of([3600, 4800], [144, 192]), of([2000, 2400, 3000], [96, 120, 144])
        self.stock_width = of(0.0, 0.0)
        rates = self.limits()
        self.pack_gap, self.narrow, self.least_outlet = (
            rates[key] for key in ("pack_gap_in", "narrow_bay_in", "outlet_min_bay_in")
        )
        self.widest = self.spacing - self.ply
        rows, framing = [], []
        for name in ("main", "side")[: self.pick(1, 1, 2)]:
            row, added = self.area(name, rates)
            rows.append(row)
            framing += added
        total = sum(float(row["width"].split()[0]) for row in rows)
        self.water(rates, total)
        if len(rows) == 2 and rows[0]["leader_at"] == rows[1]["leader_at"]:  # W4: higher by exactly a limit
            rise = self.pick(
                0, self.nozzle - rates["gutter_top_gap_in"] - rates["nozzle_in_gutter_in"], rates["max_step_in"]
            )
            rows[1]["height"] = self.text(self.height + rise)
            for row in rows:
                row["gutter_line"] = "both"
        written = {
            key: self.text(value) if key.endswith("_in") and not isinstance(value, str) else value
            for key, value in rates.items()
        } | ({"units": "metric"} if self.metric else {})
        liner = self.liner()
        code: Mapping[str, Any] = {"job": JOB_ROW["job"]}
        return {
            "jobs": csv_text([self.job()]),
            "areas": csv_text(rows),
            "liners": csv_text([liner]),
            "prices": csv_text(self.prices()),
            "framing": csv_text([code | row for row in framing]),
            "rates": csv_text([{"key": key, "value": value} for key, value in written.items()]),
        }


def _cut_to_measure(tables: Tables, made: Estimate) -> Tables:
    """M1, W3. Roll and box such that whole ones come out even, a leader that carries just its share of the flow."""
    changed = dict(tables)
    for item in ("seam_tape", "staples"):
        line = next(one for one in made.lines if one.need.item == item)
        packs = next((n for n in range(3, 40) if line.order / float(f"{line.order / n:.12f}") > n), 3)
        changed["prices"] = _with_pack(changed["prices"], item, f"{line.order / packs:.12f}")
    share = max(one.flow_gpm for one in made.takeoff.lines) / 3
    changed["rates"] += f"leader_capacity_gpm,{share!r}\n"
    return changed


def _with_pack(prices: str, item: str, pack: str) -> str:
    rows = list(csv.DictReader(io.StringIO(prices)))
    return csv_text([{**row, "pack_qty": pack} if row["item"] == item else row for row in rows])


@lru_cache(maxsize=512)
def _accepted(seed: int) -> tuple[Tables, Estimate]:
    refusals: list[str] = []
    for attempt in range(50):
        tables = _Limits(f"limit {seed}/{attempt}").tables()
        try:
            made = build_estimate(inputs_of(tables))
            if seed % 2:
                tables = _cut_to_measure(tables, made)
                made = build_estimate(inputs_of(tables))
        except BookError as refused:
            refusals.append(str(refused))
        else:
            return tables, made
    raise AssertionError(f"seed {seed}: fifty books in a row were refused:\n" + "\n".join(refusals[-3:]))


def limit_tables(seed: int) -> Tables:
    """Return a book of one job on the limits, as CSV texts; always one the engine accepts."""
    return dict(_accepted(seed)[0])


def limit_estimate(seed: int) -> Estimate:
    """Return the estimate of `limit_tables`."""
    return _accepted(seed)[1]


# ---------------------------------------------------------------------------------------------- what stands on a limit


def _even(count: float) -> bool:
    return abs(count - round(count)) < 1e-9 and round(count) > 0


def _cut_in(part: Part, take: AreaTake, rates: Rates) -> float:
    """Return the cut length before it goes up to a step; 0 where a beam or the ledger is at an end."""
    if len(take.parts) > 1 or take.area.gutter_side == "ledger":
        return 0.0
    return part.clear_run_in + part.liner.high_lap_in - part.liner.low_setback_in + rates.trim_allowance_in


def _hits(made: Estimate) -> Iterator[str]:
    rates = made.inputs.rates
    for take in made.takeoff.areas:
        area, t = take.area, take.area.joist_thickness_in
        ends_even = area.width_in - t if area.layout == "even" else area.width_in - t / 2
        if _even(ends_even / area.spacing_in):
            yield f"G2 {area.layout}"
        gaps = [r6(bay.clear_in) for part in take.parts for bay in part.bays]
        for name, limit in (("G4", rates.pack_gap_in), ("G5", rates.narrow_bay_in), ("O1", rates.outlet_min_bay_in)):
            if r6(limit) in gaps:
                yield f"{name} gap"
        if any(_even(one.width_in / take.liner.tape_width_in) for one in take.members if one.width_in > t + 1):
            yield "T1 tape"
        if _even(rates.hanger_spacing_in / area.spacing_in):
            yield "T4 hangers"
        yield from _panels(made, take)
    yield from _beams(made)


def _panels(made: Estimate, take: AreaTake) -> Iterator[str]:
    stock = made.takeoff.stock["liner", take.area.liner]
    for part in take.parts:
        if _even(_cut_in(part, take, made.inputs.rates) / made.inputs.rates.cut_step_in):
            yield "P2 steps"
        if sixteenths_up(part.cut_length_in) == stock.longest:
            yield "P6 stock"
    need = max(bay.width_needed_in for part in take.parts for bay in part.bays)
    if abs(need - stock.width_in) < 1e-6:
        yield "P4 width"


def _beams(made: Estimate) -> Iterator[str]:
    rates = made.inputs.rates
    takes = {take.area.area: take for take in made.takeoff.areas}
    for row in made.inputs.framing:
        if row.kind == "dropped_beam":
            take = takes[row.area]
            low = take.parts[0].near_in if take.area.gutter_side == "ledger" else take.parts[-1].far_in
            if abs(abs(low - row.y_in) - row.plies * rates.beam_ply_in / 2 - rates.beam_clearance_in) < 1e-9:
                yield "G9 beam"


def _water(made: Estimate) -> Iterator[str]:
    rates = made.inputs.rates
    bottoms: dict[str, list[float]] = {}
    for take in made.takeoff.areas:
        bottoms.setdefault(take.area.gutter_line, []).append(take.area.joist_bottom_in)
    for line in made.takeoff.lines:
        if _even(line.length_ft / line.reach_ft) or _even(line.length_ft / line.reach_ft / 2):
            yield "O3 reach"
        if _even(line.length_ft / rates.leader_spacing_ft):
            yield "W3 spacing"
        if _even(line.flow_gpm / line.capacity_gpm):
            yield "W3 flow"
    left = min(one.nozzle_reach_in for one in made.inputs.liners.values())
    left -= rates.gutter_top_gap_in + rates.nozzle_in_gutter_in
    for name, found in bottoms.items():
        rise = max(found) - min(found)
        if name and abs(rise - left) < 1e-9:
            yield "W4 rise"
        if name and abs(rise - rates.max_step_in) < 1e-9:
            yield "W4 step"


def _money(made: Estimate) -> Iterator[str]:
    for line in made.lines:
        if line.taken and line.packs > 1 and _even(line.order / line.taken.offer.pack_qty):
            yield "M1 packs"
        if line.taken and (line.packs * line.taken.offer.pack_price * 1000) % 10 == 5:
            yield "M4 half a cent"


def hits(made: Estimate) -> set[str]:
    """Return which limits a book stands on exactly."""
    return {*_hits(made), *_water(made), *_money(made)}
