"""The rates: every allowance, spacing, waste and production rate, declared once (take-off rules, section 9)."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from types import MappingProxyType
from typing import Any

from baybook.job.fields import Field, Kind, declare, fields_of
from baybook.job.records import ITEMS

__all__ = [
    "GUTTER_MATERIALS",
    "GUTTER_PROFILES",
    "LEADER_SIZES",
    "WASTE_DEFAULTS",
    "Rates",
    "rate_field",
    "waste_field",
]

GUTTER_PROFILES = ("k-style 5 in", "k-style 6 in", "half-round 5 in", "half-round 6 in", "box")
LEADER_SIZES = ("2x2", "2x3", "3x3", "3x4", "4x4", "4x5", "4x6", "5x6")
GUTTER_MATERIALS = ("aluminium", "copper", "galvanised steel")


def _length(name: str, default: float, rule: str, text: str, **more: Any) -> Any:
    bare = "ft" if name.endswith("_ft") else "in"
    limits = {"low": 0.0, "high": 1000.0} | more
    return declare(name, Kind.LENGTH, default=default, bare_unit=bare, unit=bare, rule=rule, help=text, **limits)


def _count(name: str, default: int, rule: str, text: str, **more: Any) -> Any:
    return declare(name, Kind.COUNT, default=default, rule=rule, help=text, **({"low": 0, "high": 1000} | more))


def _hours(name: str, default: float, text: str) -> Any:
    return declare(name, Kind.NUMBER, default=default, low=0, high=1000, unit="h", rule="M2", help=text)


@dataclass(frozen=True, slots=True, kw_only=True)
class Rates:
    """The rates in force for one job; the attributes are the keys of rates.csv."""

    units: str = declare(
        "units", Kind.WORD, default="us", choices=("us", "metric"), help="how lengths are read and shown"
    )
    ledger_thickness_in: float = _length("ledger_thickness_in", 1.5, "P1", "of the ledger board")
    beam_ply_in: float = _length("beam_ply_in", 1.5, "G6", "thickness of one ply of a beam", above=0.0)
    board_width_in: float = _length("board_width_in", 5.5, "G3", "of a decking board", above=0.0)
    board_gap_in: float = _length("board_gap_in", 0.1875, "G3", "between decking boards")
    border_overhang_in: float = _length("border_overhang_in", 0.0, "G3", "of the outermost board past the frame")
    joint_plies: int = _count("joint_plies", 2, "G3", "joists under each joint of a border or divider", low=1, high=6)
    pack_gap_in: float = _length("pack_gap_in", 1.5, "G4", "a narrower gap between members is packed solid")
    narrow_bay_in: float = _length("narrow_bay_in", 5.0, "G5", "a bay this wide or narrower is capped, not drained")
    rim_turn_down_in: float = _length(
        "rim_turn_down_in", 1.0, "G8", "turn-down over the rim, gutter on the ledger side"
    )
    apron_in: float = _length("apron_in", 9.0, "G8", "width of the apron under the ledger flashing", above=0.0)
    ledger_discharge_in: float = _length(
        "ledger_discharge_in", 60.0, "G8", "more pipe a leader, away from the house", basis="IRC R801.3"
    )
    beam_clearance_in: float = _length("beam_clearance_in", 6.5, "G9", "from a dropped beam to the low-end member")
    trim_allowance_in: float = _length("trim_allowance_in", 3.0, "P2", "added to every panel, trimmed on site")
    cut_step_in: float = _length("cut_step_in", 0.5, "P2", "cut lengths go up to the next multiple", above=0.0)
    min_fall_in_per_ft: float = declare(
        "min_fall_in_per_ft",
        Kind.FALL,
        default=0.25,
        low=0,
        high=6,
        unit="in/ft",
        rule="P3",
        basis="practice",
        help="less is warned of",
    )
    splices: str = declare(
        "splices", Kind.WORD, default="yes", choices=("yes", "no"), rule="P6", help="may a panel be spliced"
    )
    splice_lap_in: float = _length("splice_lap_in", 12.0, "P6", "lap of a splice, upper over lower")
    min_piece_in: float = _length("min_piece_in", 36.0, "P6", "shortest piece of a spliced panel")
    spare_panels: int = _count("spare_panels", 0, "P7", "spare panels as long as the longest")
    outlet_min_bay_in: float = _length("outlet_min_bay_in", 10.0, "O1", "in a narrower bay the outlet is cut narrower")
    blocking_share: float = declare(
        "blocking_share",
        Kind.SHARE,
        default=0.6,
        rule="O2",
        basis="IRC R507.6, value from memory",
        help="of the joist depth; lower blocking is flagged",
    )
    nozzle_in_gutter_in: float = _length("nozzle_in_gutter_in", 1.0, "O3", "the nozzle stands this deep in the gutter")
    gutter_top_gap_in: float = _length("gutter_top_gap_in", 0.5, "O3", "gutter top below joist bottom, at its high end")
    gutter_fall_in_per_ft: float = declare(
        "gutter_fall_in_per_ft",
        Kind.FALL,
        default=0.0625,
        low=0,
        high=6,
        unit="in/ft",
        rule="O3",
        basis="assumed",
        help="of the gutter",
    )
    gutter_depth_in: float = _length("gutter_depth_in", 3.5, "T5", "of the gutter", above=0.0)
    gutter_bottom_gap_in: float = _length(
        "gutter_bottom_gap_in", 0.5, "O3", "the nozzle stays above the bottom by this"
    )
    rain_duration_min: int = _count(
        "rain_duration_min",
        60,
        "W1",
        "duration of the design rain in rainfall.csv",
        low=1,
        unit="min",
        high=100_000,
    )
    rain_return_years: int = _count(
        "rain_return_years", 100, "W1", "its average recurrence interval", low=1, unit="years"
    )
    wall_share: float = declare(
        "wall_share",
        Kind.SHARE,
        default=0.5,
        rule="W1",
        basis="International Plumbing Code 1106.4",
        help="of a wall's face that counts as area",
    )
    outlet_long_in: float = _length("outlet_long_in", 3.0, "W2", "opening of a bay outlet, its long side", above=0.0)
    outlet_short_in: float = _length("outlet_short_in", 2.0, "W2", "and its short side", above=0.0)
    outlet_head_in: float = _length("outlet_head_in", 1.0, "W2", "water that may stand over a bay outlet", above=0.0)
    outlet_end_in: float = _length("outlet_end_in", 12.0, "O2", "of a bay's low end that its outlet needs")
    hose_gpm: float = declare(
        "hose_gpm",
        Kind.NUMBER,
        default=5.0,
        above=0,
        high=1000,
        unit="gpm",
        rule="W1",
        basis="assumed: measure it, gallons of the bucket x 60 / seconds to fill it",
        help="one hose gives in the water test, all hoses running",
    )
    bucket_gal: float = declare(
        "bucket_gal", Kind.NUMBER, default=5.0, above=0, high=100, unit="gal", rule="W1", help="bucket to measure it"
    )
    water_test_min: int = _count("water_test_min", 15, "W1", "a gutter line is tested so long", low=1, unit="min")
    liner_roughness: float = declare(
        "liner_roughness",
        Kind.NUMBER,
        default=0.010,
        low=0.008,
        high=0.2,
        rule="W2",
        basis="PVC, FHWA as cited by Winchester IN",
        help="Manning's n of the liner",
    )
    gutter_profile: str = declare(
        "gutter_profile", Kind.WORD, default="k-style 5 in", choices=GUTTER_PROFILES, rule="W2", help="of the gutter"
    )
    gutter_width_in: float = _length("gutter_width_in", 5.0, "W2", "inside, of a box gutter", above=0.0)
    gutter_freeboard_in: float = _length("gutter_freeboard_in", 0.5, "W2", "kept free over the water in the gutter")
    gutter_roughness: float = declare(
        "gutter_roughness",
        Kind.NUMBER,
        default=0.012,
        low=0.008,
        high=0.2,
        rule="W2",
        basis="smooth metal, quoted by another",
        help="Manning's n of the gutter",
    )
    gutter_material: str = declare(
        "gutter_material",
        Kind.WORD,
        default="aluminium",
        choices=GUTTER_MATERIALS,
        rule="T4",
        basis="Louisiana State University AgCenter",
        help="whose movement in heat and cold is shown",
    )
    temperature_swing_f: float = declare(
        "temperature_swing_f",
        Kind.NUMBER,
        default=120.0,
        low=0,
        high=250,
        unit="deg F",
        rule="T4",
        help="hottest less coldest of the metal, sun included",
    )
    min_headroom_in: float = _length(
        "min_headroom_in", 0.0, "T5", "height asked for below joists, dropped beam and gutter; 0: only shown"
    )
    leader_size: str = declare("leader_size", Kind.SIZE, default="2x3", rule="W3", help="sides of the leader")
    leader_capacity_gpm: float | None = declare(
        "leader_capacity_gpm", Kind.NUMBER, above=0, high=100_000, unit="gpm", rule="W3", help="empty: by Wyly-Eaton"
    )
    leader_spacing_ft: float = _length("leader_spacing_ft", 50.0, "W3", "most gutter to one leader", above=0.0)
    max_step_in: float = _length("max_step_in", 6.0, "W4", "most an area may stand higher on a shared line")
    bead_diameter_in: float = _length("bead_diameter_in", 0.25, "T2", "of the sealant bead", above=0.0, high=4.0)
    cartridge_fl_oz: float = declare(
        "cartridge_fl_oz", Kind.NUMBER, default=10.1, above=0, high=1000, unit="fl oz", rule="T2", help="in a cartridge"
    )
    staple_spacing_in: float = _length("staple_spacing_in", 12.0, "T3", "along both edges of a piece", above=0.0)
    staples_per_outlet: int = _count("staples_per_outlet", 6, "T3", "for each bay outlet")
    hanger_spacing_in: float = _length("hanger_spacing_in", 24.0, "T4", "most between hangers", above=0.0)
    expansion_joint_ft: float = _length(
        "expansion_joint_ft", 40.0, "T4", "longest gutter without a joint", above=0.0, basis="published 40 to 50"
    )
    end_caps_per_line: int = _count("end_caps_per_line", 2, "T4", "gutter end caps a line")
    min_rest_in: float = _length("min_rest_in", 6.0, "T4", "a shorter rest of gutter or leader is made this long")
    leader_extra_in: float = _length("leader_extra_in", 12.0, "T5", "more leader, for the offsets")
    elbows_per_leader: int = _count("elbows_per_leader", 3, "T5", "elbows a leader")
    straps_fixed: int = _count("straps_fixed", 2, "T5", "straps at top and bottom")
    strap_spacing_in: float = _length("strap_spacing_in", 60.0, "T5", "between them", above=0.0, basis="published")
    gutter_turn_deg: float = declare(
        "gutter_turn_deg",
        Kind.NUMBER,
        default=10.0,
        low=0,
        high=180,
        unit="deg",
        rule="G12",
        help="a gutter that turns by more takes a corner piece, by less a joiner",
    )
    post_tape_ft: float = _length("post_tape_ft", 3.0, "T6", "tape at a post that pierces the liner")
    post_bead_ft: float = _length("post_bead_ft", 2.0, "T6", "bead at such a post")
    wide_member: float = declare(
        "wide_member",
        Kind.NUMBER,
        default=1.5,
        low=0,
        high=100,
        rule="P5",
        help="times the side lap: a wider member is capped",
    )
    kerf_in: float = _length("kerf_in", 0.0, "P7", "lost at every cut", high=4.0)
    end_trim_in: float = _length("end_trim_in", 0.0, "P7", "cut off every stock piece first", high=48.0)
    offcut_value: Decimal = declare(
        "offcut_value",
        Kind.PERCENT,
        default=Decimal("0.1"),
        low=0,
        high=1,
        unit="%",
        rule="P7",
        help="of the price by length",
    )
    offcut_min_in: float = _length("offcut_min_in", 24.0, "P7", "a longer remainder is kept")
    hours_job: float = _hours("hours_job", 3.0, "once a job")
    hours_area: float = _hours("hours_area", 1.0, "water test, each area")
    hours_outlet: float = _hours("hours_outlet", 0.20, "each bay outlet")
    hours_narrow_outlet: float = _hours("hours_narrow_outlet", 0.15, "more for an outlet cut narrower")
    hours_piece: float = _hours("hours_piece", 0.30, "each piece of liner placed")
    hours_tape_ft: float = _hours("hours_tape_ft", 0.01, "a foot of tape")
    hours_gutter_ft: float = _hours("hours_gutter_ft", 0.12, "a foot of gutter")
    hours_leader: float = _hours("hours_leader", 1.0, "each leader")
    crew: int = _count("crew", 2, "M2", "persons", low=1, high=100)
    hours_per_day: float = declare(
        "hours_per_day", Kind.NUMBER, default=8.0, above=0, high=24, unit="h", rule="M2", help="worked by one person"
    )
    contingency: Decimal = declare(
        "contingency", Kind.PERCENT, default=Decimal(0), low=0, high=10, unit="%", rule="M3", help="on cost"
    )
    minimum_charge: Decimal = declare(
        "minimum_charge",
        Kind.MONEY,
        default=Decimal(0),
        low=0,
        high=9_999_999,
        unit="money",
        rule="M3",
        help="least price",
    )
    tax_basis: str = declare(
        "tax_basis",
        Kind.WORD,
        default="invoice",
        choices=("invoice", "item"),
        rule="M4",
        basis="Streamlined Sales and Use Tax Agreement sec. 324",
        help="tax rounded once, or line by line",
    )
    waste: Mapping[str, Decimal] = field(default_factory=lambda: MappingProxyType({}))

    def waste_of(self, item: str) -> Decimal:
        """T7. Return the waste of an item as a share of its net quantity."""
        return self.waste.get(item, WASTE_DEFAULTS.get(item, Decimal(0)))


WASTE_DEFAULTS: Mapping[str, Decimal] = {
    "seam_tape": Decimal("0.05"),
    "sealant": Decimal("0.10"),
    "staples": Decimal("0.10"),
}


def waste_field(item: str) -> Field:
    """Return the declaration of ``waste_ITEM``."""
    return Field(
        name=f"waste_{item}",
        attribute=f"waste_{item}",
        kind=Kind.PERCENT,
        default=WASTE_DEFAULTS.get(item, Decimal(0)),
        low=0,
        high=10,
        unit="%",
        rule="T7",
        basis="assumed",
        help=f"waste of {ITEMS[item].title} on the net quantity",
    )


_BY_KEY: dict[str, Field] = {}


def rate_field(key: str) -> Field | None:
    """Return the declaration of a key of rates.csv, or None if there is none."""
    if not _BY_KEY:
        _BY_KEY.update({one.name: one for one in fields_of(Rates)})
        _BY_KEY.update({f"waste_{code}": waste_field(code) for code, item in ITEMS.items() if not item.cut})
    return _BY_KEY.get(key)
