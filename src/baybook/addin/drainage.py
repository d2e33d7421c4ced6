"""Functions on rain, gutters and leaders."""

from __future__ import annotations

import math
from typing import Any

from baybook.addin.deck import JOIST, PROJECTION, SPACING, WIDTH
from baybook.addin.declare import UNITS, Argument, Function, Head, arg, one_value, rows_of, table
from baybook.addin.onedeck import gutter_parts
from baybook.addin.words import rates_of
from baybook.job.fields import Kind
from baybook.job.rates import Rates
from baybook.job.records import Area, Job, Liner
from baybook.water import (
    Capacity,
    catchment_sq_ft,
    flow_gpm,
    gutter_capacity,
    gutter_profiles,
    leader_capacity,
    reach_ft,
    roughness_n,
)

__all__ = ["FUNCTIONS"]


def _feet(name: str, text: str, **more: Any) -> Argument:
    return arg(Kind.LENGTH, name, bare_unit="ft", unit="ft", low=0, high=99_999, help=text, **more)


def _stick(what: str) -> Argument:
    text = f"longest {what} on offer"
    return arg(Kind.LENGTH, f"{what}_stick", bare_unit="ft", unit="in", above=0, high=9999, default=120.0, help=text)


RAINFALL = arg(Job, "rainfall", "rain_in_per_h", optional=False, help="design rain")
NOZZLE = arg(Liner, "nozzle_reach", "nozzle_reach_in")
GUTTER_FALL = arg(Rates, "gutter_fall", "gutter_fall_in_per_ft")


def _flow(
    rain_in_per_h: float, area_sq_ft: float, wall_ft: float, length_ft: float, roof_sq_ft: float, share: float
) -> float:
    return flow_gpm(rain_in_per_h, catchment_sq_ft(area_sq_ft, share, wall_ft, length_ft, roof_sq_ft))


def _row(capacity: Capacity) -> list[list[Any]]:
    return [[capacity.value_gpm, capacity.method, capacity.edition, capacity.note]]


def _gutter_capacity(profile: str, fall_in_per_ft: float, freeboard_in: float, material: str) -> list[list[Any]]:
    section = {name.casefold(): one for name, one in gutter_profiles().items()}[profile]
    return _row(gutter_capacity(section, fall_in_per_ft, roughness_n(material), freeboard_in))


def _leader_capacity(leader_size: str) -> list[list[Any]]:
    return _row(leader_capacity(leader_size))


def _gutter_run(
    nozzle_in: float, fall_in_per_ft: float, top_gap_in: float, stands_in: float, step_in: float
) -> float | str:
    reach = reach_ft(nozzle_in, top_gap_in, stands_in, fall_in_per_ft, step_in)
    return "no limit" if math.isinf(reach) else reach


def _gutter_parts(*given: Any) -> list[list[Any]]:
    *deck, own_rates = given
    return gutter_parts(*deck, rates=rates_of(own_rates))


_CAPACITY = rows_of(
    "one row: what it carries, by which method and edition",
    Head("capacity", "gpm"),
    Head("method"),
    Head("edition"),
    Head("note"),
    heading=False,
)

FUNCTIONS = (
    Function(
        name="BAY_FLOW",
        help="Flow of a steady rain off the deck, a wall above it and a roof that drips on it.",
        rule="W1",
        args=(
            RAINFALL,
            arg(Kind.AREA, "plan_area", bare_unit="sq ft", unit="sq ft", low=0, high=1_000_000, help="of the deck"),
            _feet("wall_height", "of the wall that sheds on it", default=0.0),
            _feet("wall_length", "of that wall", default=0.0),
            arg(Area, "roof_area", "roof_area_sq_ft"),
            arg(Rates, "wall_share", "wall_share"),
            UNITS,
        ),
        gives=one_value("flow", "gpm"),
        core=_flow,
        engine="water.flow_gpm",
        example=("5 in/h", 192),
    ),
    Function(
        name="BAY_LEADER_CAPACITY",
        help="What a leader carries, with method and edition beside it.",
        rule="W3",
        args=(arg(Kind.TEXT, "leader_size", help="sides in inches, such as 2x3; one number is a round pipe"), UNITS),
        gives=_CAPACITY,
        core=_leader_capacity,
        engine="water.leader_capacity",
        example=("3x4",),
    ),
    Function(
        name="BAY_GUTTER_CAPACITY",
        help="What a gutter on a fall carries, with method and edition beside it.",
        rule="W2",
        args=(
            arg(Kind.WORD, "profile", choices=tuple(name.casefold() for name in gutter_profiles()), help="section"),
            arg(Rates, "fall", "gutter_fall_in_per_ft", optional=False),
            arg(Kind.LENGTH, "freeboard", bare_unit="in", unit="in", low=0, high=48, help="kept free over the water"),
            arg(Kind.TEXT, "material", default="smooth metal", help="of the gutter"),
            UNITS,
        ),
        gives=_CAPACITY,
        core=_gutter_capacity,
        engine="water.gutter_capacity",
        example=("half-round 5 in", "1/8 in/ft", 0.5),
    ),
    Function(
        name="BAY_GUTTER_RUN",
        help="Longest one-way run of a gutter along which every outlet's nozzle still stands in it.",
        rule="O3",
        args=(
            NOZZLE,
            GUTTER_FALL,
            arg(Rates, "gutter_top_gap", "gutter_top_gap_in"),
            arg(Rates, "nozzle_in_gutter", "nozzle_in_gutter_in"),
            arg(
                Kind.LENGTH,
                "height_step",
                bare_unit="in",
                unit="in",
                low=0,
                high=999,
                default=0.0,
                help="this area's joist bottoms above the lowest of its line",
            ),
            UNITS,
        ),
        gives=one_value("run", "ft"),
        core=_gutter_run,
        engine="water.reach_ft",
        example=(3,),
    ),
    Function(
        name="BAY_GUTTER_PARTS",
        help="Gutter, hangers, leaders and their parts for one plain deck, as a table.",
        rule="T4",
        args=(
            WIDTH,
            PROJECTION,
            SPACING,
            JOIST,
            arg(Area, "height", "height_in"),
            RAINFALL,
            NOZZLE,
            _stick("gutter"),
            _stick("leader"),
            arg(Area, "gutter_fix", "gutter_fix"),
            arg(Area, "leader_at", "leader_at"),
            table("own_rates", "two columns: key and value of each rate that is not the default", optional=True),
            UNITS,
        ),
        gives=rows_of(
            "a row an item, of cut goods a row a length",
            Head("item"),
            Head("quantity"),
            Head("unit"),
            Head("length of each", "in"),
        ),
        core=_gutter_parts,
        engine="takeoff.take_off",
        example=("16 ft", "12 ft", 16, "2x10", "9 ft", "5 in/h", 3),
    ),
)
