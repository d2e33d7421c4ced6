"""Rain, flow and the capacity of bays, outlets, gutters and leaders, each by a named method with its edition."""

from __future__ import annotations

from baybook.water.flow import area_at_rain_sq_ft, catchment_sq_ft, flow_gpm
from baybook.water.leaders import (
    LEADER_PLACES,
    leader_capacity_gpm,
    leader_length_in,
    leader_side_in,
    leaders_by_flow,
    leaders_by_reach,
    leaders_by_spacing,
    leaders_needed,
    longest_run_ft,
    nozzle_touches_bottom,
    reach_ft,
    straps_per_leader,
)

__all__ = [
    "LEADER_PLACES",
    "area_at_rain_sq_ft",
    "catchment_sq_ft",
    "flow_gpm",
    "leader_capacity_gpm",
    "leader_length_in",
    "leader_side_in",
    "leaders_by_flow",
    "leaders_by_reach",
    "leaders_by_spacing",
    "leaders_needed",
    "longest_run_ft",
    "nozzle_touches_bottom",
    "reach_ft",
    "straps_per_leader",
]
