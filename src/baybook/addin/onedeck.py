"""A job of one plain deck, for what only the whole take-off can tell: tape and gutter parts."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from decimal import Decimal
from typing import Any

from baybook.job.rates import Rates
from baybook.job.records import ITEMS, Area, Job, JobInputs, Liner, PriceRow
from baybook.takeoff import Takeoff, take_off

__all__ = ["GUTTER_ITEMS", "gutter_parts", "tape_ft"]

GUTTER_ITEMS = (
    "gutter",
    "gutter_joiner",
    "gutter_end_cap",
    "gutter_drop",
    "hanger",
    "leader",
    "elbow",
    "strap",
    "splash_block",
)
_ROOMY_IN = 9_000.0  # stock that sets no limit of its own
_LINER = Liner(
    liner="liner",
    made_for_in=96.0,
    drape_in=4.0,
    side_lap_in=1.5,
    high_lap_in=1.5,
    low_setback_in=0.0,
    outlet_made_for_in=9.25,
    nozzle_reach_in=3.0,
    tape_width_in=4.0,
)


def _offer(item: str, length_in: float) -> PriceRow:
    width_in = _ROOMY_IN if item == "liner" else None
    return PriceRow(
        supplier="", sku=item, item=item, length_in=length_in, width_in=width_in, pack_price=Decimal(1), currency=""
    )


def _taken_off(
    area: Area, liner: Liner, rates: Rates, rain_in_per_h: float, gutter_in: float, leader_in: float
) -> Takeoff:
    offers = (_offer("gutter", gutter_in), _offer("leader", leader_in), _offer("liner", _ROOMY_IN))
    job = Job(job="", customer="", rain_in_per_h=rain_in_per_h, labour_rate=Decimal(0), currency="")
    inputs = JobInputs(
        job=job,
        on=dt.date.min,
        areas=(area,),
        framing=(),
        liners={liner.liner: liner},
        rates=rates,
        prices=offers,
    )
    return take_off(inputs, offers)


def _deck(width_in: float, projection_in: float, spacing_in: float, **more: Any) -> Area:
    plain = {"joist_depth_in": 9.25, "height_in": _ROOMY_IN} | more
    return Area(
        job="",
        area="deck",
        width_in=width_in,
        projection_in=projection_in,
        spacing_in=spacing_in,
        liner="liner",
        **plain,
    )


def tape_ft(
    width_in: float,
    projection_in: float,
    spacing_in: float,
    tape_width_in: float,
    layout: str,
    thickness_in: float,
    gutter_side: str,
) -> float:
    """T1. Seam tape of a deck with nothing added to its joists, before waste.

    Parameters
    ----------
    width_in, projection_in, spacing_in : float
        The deck and its joists on centre. [in]
    tape_width_in : float
        Width of the tape. [in]
    layout : str
        Where the spacing starts.
    thickness_in : float
        Of one ply. [in]
    gutter_side : str
        ``rim``, or ``ledger`` with its strip along the high edge (G8).

    Returns
    -------
    float
        Net length. [ft]
    """
    area = _deck(
        width_in, projection_in, spacing_in, layout=layout, joist_thickness_in=thickness_in, gutter_side=gutter_side
    )
    level = Rates(gutter_fall_in_per_ft=0.0)
    found = _taken_off(area, replace(_LINER, tape_width_in=tape_width_in), level, 1.0, _ROOMY_IN, _ROOMY_IN)
    return next(need.net for need in found.needs if need.item == "seam_tape")


def gutter_parts(
    width_in: float,
    projection_in: float,
    spacing_in: float,
    joist_depth_in: float,
    height_in: float,
    rain_in_per_h: float,
    nozzle_reach_in: float,
    gutter_stick_in: float,
    leader_stick_in: float,
    gutter_fix: str,
    leader_at: str,
    *,
    rates: Rates,
) -> list[list[Any]]:
    """W1 to W4, T4, T5. Parts of the gutter line of one plain deck.

    Parameters
    ----------
    width_in, projection_in, spacing_in, joist_depth_in, height_in : float
        The deck: along the ledger, out from it, joists on centre, their depth, joist tops above grade. [in]
    rain_in_per_h : float
        Design rain. [in/h]
    nozzle_reach_in : float
        Of the bay outlet's nozzle, below the joist bottom. [in]
    gutter_stick_in, leader_stick_in : float
        Longest sticks on offer. [in]
    gutter_fix, leader_at : str
        Hangers on ``joists`` or a ``nailer``; leaders at the ``end`` or in the ``middle``.
    rates : Rates
        The rates in force.

    Returns
    -------
    list of list
        A row an item (of cut goods, a row a length): item, quantity, unit, length of each piece (in) or nothing.

    Raises
    ------
    BookError
        If the rules refuse the deck.
    """
    area = _deck(
        width_in,
        projection_in,
        spacing_in,
        joist_depth_in=joist_depth_in,
        height_in=height_in,
        gutter_fix=gutter_fix,
        leader_at=leader_at,
    )
    liner = replace(_LINER, nozzle_reach_in=nozzle_reach_in)
    found = _taken_off(area, liner, rates, rain_in_per_h, gutter_stick_in, leader_stick_in)
    cut = {one.item: [length for length, _ in one.pieces] for one in found.cut}
    needed = {need.item: need.net for need in found.needs}
    rows: list[list[Any]] = []
    for item in GUTTER_ITEMS:
        if ITEMS[item].cut:
            lengths = dict.fromkeys(cut[item])
            rows += [[item, cut[item].count(length), ITEMS[item].unit, length / 16] for length in lengths]
        else:
            rows.append([item, needed[item], ITEMS[item].unit, ""])
    return rows
