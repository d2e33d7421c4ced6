"""Leaders of a gutter line: how much each carries, how many, how far the gutter runs to them (O3, W3, T5)."""

from __future__ import annotations

import math
import re

from baybook.numbers import down, r6, same_or_less, up
from baybook.problems import OutOfRange
from baybook.water.capacity import Capacity
from baybook.water.limits import above, between, one_of

__all__ = [
    "LEADER_PLACES",
    "leader_capacity",
    "leader_capacity_gpm",
    "leader_length_in",
    "leader_side_in",
    "leaders_by_flow",
    "leaders_by_reach",
    "leaders_by_spacing",
    "leaders_needed",
    "longest_run_ft",
    "nozzle_touches_bottom",
    "straps_per_leader",
]

LEADER_PLACES = ("end", "middle")
"""Where the leaders of a line stand: at its ends (and between), or in the middle of equal lengths."""

_SIDE = r"(\d+(?:\.\d+)?|\d+[- ]\d+/\d+|\d+/\d+)\s*(?:in|\"|”)?"
_SIZE = re.compile(rf"{_SIDE}(?:\s*[x×]\s*{_SIDE})?", re.IGNORECASE)


def leader_side_in(leader_size: str) -> float:
    """W3. Read the smaller side of a leader, or the bore of a round one, off its size.

    Parameters
    ----------
    leader_size : str
        Such as ``2x3``, ``3x4``, ``2-3/8 x 2-3/4``; one number is a round pipe. [in]

    Returns
    -------
    float
        The smaller side. [in]

    Raises
    ------
    OutOfRange
        If the text is not a size.

    Examples
    --------
    >>> leader_side_in("2x3"), leader_side_in("4"), leader_side_in("2-3/8 x 2-3/4")
    (2.0, 4.0, 2.375)
    """
    match = _SIZE.fullmatch(leader_size.strip())
    sides = [_inches(side) for side in match.groups() if side] if match else []
    if not sides or min(sides) <= 0:
        raise OutOfRange(f"leader_size is {leader_size!r}; write sides in inches, 2x3 or 3x4, or 4 for a round one")
    return min(sides)


def _inches(text: str) -> float:
    """Return 2.375 for ``2-3/8``; zero for a fraction without a size."""
    whole, _, fraction = text.replace(" ", "-").rpartition("-")
    top, _, bottom = fraction.partition("/")
    if bottom and not int(bottom):
        return 0.0
    return float(whole or 0) + float(top) / float(bottom or 1)


def leader_capacity_gpm(side_in: float) -> float:
    """W3. Flow a leader carries seven twenty-fourths full.

    Wyly and Eaton's annular flow [1]_ as the National Standard Plumbing Code tabulates it [2]_ for round pipe; a
    rectangular leader counts as the round one of its smaller side, which is on the safe side.

    Parameters
    ----------
    side_in : float
        Bore, or the smaller side. [in], 2 to 12: the sizes of the published table

    Returns
    -------
    float
        Flow, not rounded. [gpm US]

    Raises
    ------
    OutOfRange
        If the side is outside the published table.

    Examples
    --------
    >>> round(leader_capacity_gpm(3.0)), round(leader_capacity_gpm(2.0), 4)
    (67, 22.6431)

    References
    ----------
    .. [1] Wyly, R. S. and Eaton, H. N., Capacities of Stacks in Sanitary Drainage Systems for Buildings,
       NBS Monograph 31, 1961 (the constant from memory; it reproduces every row of [2]_).
    .. [2] National Standard Plumbing Code, 2006, Table 13.6.1, p. 321.
    """
    cure = "the size of a published leader, or give leader_capacity_gpm from the adopted code"
    between("side_in", side_in, 2, 12, "in", cure)
    return float(27.8 * (7 / 24) ** (5 / 3) * side_in ** (8 / 3))


def leader_capacity(leader_size: str) -> Capacity:
    """W2, W3. Capacity of a leader of a named size, with method and edition.

    Parameters
    ----------
    leader_size : str
        Such as ``2x3``; the smaller side 2 to 12 in.

    Returns
    -------
    Capacity
        By Wyly and Eaton, seven twenty-fourths full.

    Raises
    ------
    OutOfRange
        If the text is not a size or the size is outside the published table.

    Examples
    --------
    >>> leader_capacity("2x3").edition
    'National Standard Plumbing Code 2006, Table 13.6.1'
    """
    side = leader_side_in(leader_size)
    note = f"7/24 full, as a round pipe of {side:g} in"
    edition = "National Standard Plumbing Code 2006, Table 13.6.1"
    return Capacity(leader_capacity_gpm(side), "Wyly-Eaton", edition, note)


def leaders_by_flow(flow_gpm: float, capacity_gpm: float) -> int:
    """W3. Leaders that carry the flow: ceil(Q/capacity).

    Parameters
    ----------
    flow_gpm : float
        Flow of the line. [gpm US], >= 0
    capacity_gpm : float
        Capacity of one leader. [gpm US], > 0

    Returns
    -------
    int
        Leaders; 0 for no flow.

    Raises
    ------
    OutOfRange
        If a value is outside its range.
    """
    between("flow_gpm", flow_gpm, 0, math.inf, "gpm")
    above("capacity_gpm", capacity_gpm, 0, "gpm")
    return up(flow_gpm / capacity_gpm)


def leaders_by_spacing(length_ft: float, leader_spacing_ft: float) -> int:
    """W3. Leaders that stand no farther apart than the spacing: ceil(L/leader_spacing).

    Parameters
    ----------
    length_ft : float
        Length of the line. [ft], > 0
    leader_spacing_ft : float
        Gutter one leader may serve; 20 to 50 ft published [1]_. [ft], > 0

    Returns
    -------
    int
        Leaders, at least 1.

    Raises
    ------
    OutOfRange
        If a value is outside its range.

    References
    ----------
    .. [1] University of Missouri Extension, WQ322.
    """
    above("length_ft", length_ft, 0, "ft")
    above("leader_spacing_ft", leader_spacing_ft, 0, "ft")
    return max(1, up(length_ft / leader_spacing_ft))


def leaders_by_reach(length_ft: float, reach_ft: float, leader_at: str) -> int:
    """W3. Leaders between which no one-way run is longer than the reach.

    At the ends: one if the line is no longer than the reach, else ceil(L/2r) + 1; in the middle ceil(L/2r).

    Parameters
    ----------
    length_ft : float
        Length of the line. [ft], > 0
    reach_ft : float
        Longest one-way run (O3). [ft], > 0; infinite where the gutter lies level
    leader_at : str
        ``end`` or ``middle``.

    Returns
    -------
    int
        Leaders, at least 1.

    Raises
    ------
    OutOfRange
        If a value is outside its range.

    Examples
    --------
    >>> leaders_by_reach(49.0, 24.0, "end"), leaders_by_reach(49.0, 24.0, "middle")
    (3, 2)
    """
    above("length_ft", length_ft, 0, "ft")
    if math.isinf(reach_ft) and reach_ft > 0:
        reach_ft = length_ft
    above("reach_ft", reach_ft, 0, "ft")
    one_of("leader_at", leader_at, LEADER_PLACES)
    halves = max(1, up(length_ft / (2 * reach_ft)))
    if leader_at == "middle" or same_or_less(length_ft, reach_ft):
        return halves
    return halves + 1


def leaders_needed(
    flow_gpm: float,
    capacity_gpm: float,
    length_ft: float,
    leader_spacing_ft: float,
    reach_ft: float,
    leader_at: str,
) -> int:
    """W3. Leaders of a gutter line: the most of one, by flow, by spacing and by reach.

    Parameters
    ----------
    flow_gpm, capacity_gpm : float
        Flow of the line and capacity of one leader. [gpm US]
    length_ft : float
        Length of the line. [ft], > 0
    leader_spacing_ft : float
        Gutter one leader may serve. [ft], > 0
    reach_ft : float
        Longest one-way run (O3). [ft], > 0; infinite where the gutter lies level
    leader_at : str
        ``end`` or ``middle``.

    Returns
    -------
    int
        Leaders, at least 1.

    Raises
    ------
    OutOfRange
        If a value is outside its range.

    Examples
    --------
    The deck worked by hand: 16 ft of gutter, reach 24 ft, 9.974 gpm, 2x3 leaders.

    >>> leaders_needed(9.974, leader_capacity_gpm(2.0), 16.0, 50.0, 24.0, "end")
    1
    """
    return max(
        leaders_by_flow(flow_gpm, capacity_gpm),
        leaders_by_spacing(length_ft, leader_spacing_ft),
        leaders_by_reach(length_ft, reach_ft, leader_at),
    )


def longest_run_ft(length_ft: float, leaders: int, leader_at: str) -> float:
    """W3. Longest way water runs in the gutter to a leader.

    At the ends: the length if one leader, else L/(2(n - 1)); in the middle L/(2n).

    Parameters
    ----------
    length_ft : float
        Length of the line. [ft], > 0
    leaders : int
        Leaders of the line, >= 1.
    leader_at : str
        ``end`` or ``middle``.

    Returns
    -------
    float
        Run, not rounded. [ft]

    Raises
    ------
    OutOfRange
        If a value is outside its range.

    Examples
    --------
    >>> longest_run_ft(16.0, 1, "end"), longest_run_ft(48.0, 2, "end"), longest_run_ft(48.0, 2, "middle")
    (16.0, 24.0, 12.0)
    """
    above("length_ft", length_ft, 0, "ft")
    between("leaders", leaders, 1, math.inf, "")
    one_of("leader_at", leader_at, LEADER_PLACES)
    if leader_at == "middle":
        return length_ft / (2 * leaders)
    return length_ft if leaders == 1 else length_ft / (2 * (leaders - 1))


def nozzle_touches_bottom(
    nozzle_reach_in: float,
    gutter_top_gap_in: float,
    gutter_depth_in: float,
    gutter_bottom_gap_in: float,
) -> bool:
    """O3. Whether the nozzle at the line's high end comes too near the gutter's bottom.

    Parameters
    ----------
    nozzle_reach_in : float
        Nozzle below the joist bottom. [in]
    gutter_top_gap_in : float
        Gutter top below the joist bottom at its high end. [in]
    gutter_depth_in : float
        Depth of the gutter. [in]
    gutter_bottom_gap_in : float
        Gap to leave over its bottom. [in]

    Returns
    -------
    bool
        True if reach less gap is over gutter depth less bottom gap, to 6 places.

    Examples
    --------
    >>> nozzle_touches_bottom(3.0, 0.5, 3.5, 0.5), nozzle_touches_bottom(4.0, 0.5, 3.5, 0.5)
    (False, True)
    """
    return not same_or_less(nozzle_reach_in - gutter_top_gap_in, gutter_depth_in - gutter_bottom_gap_in)


def leader_length_in(
    joist_bottom_in: float,
    gutter_top_gap_in: float,
    gutter_fall_in_per_ft: float,
    longest_run_ft: float,
    gutter_depth_in: float,
    leader_extra_in: float,
    ledger_discharge_in: float = 0.0,
) -> float:
    """T5. Pipe of one leader, from the gutter's bottom at its low end to the ground, and what lies beyond.

    Parameters
    ----------
    joist_bottom_in : float
        Joist bottom above grade. [in]
    gutter_top_gap_in : float
        Gutter top below the joist bottom at its high end. [in]
    gutter_fall_in_per_ft : float
        Fall of the gutter. [in/ft]
    longest_run_ft : float
        Longest one-way run (W3). [ft]
    gutter_depth_in : float
        Depth of the gutter. [in]
    leader_extra_in : float
        Offsets to the wall and the shoe. [in]
    ledger_discharge_in : float
        Pipe that leads water away from the house (G8). [in]

    Returns
    -------
    float
        Length, not rounded. [in]

    Raises
    ------
    OutOfRange
        If nothing is left for a leader.

    Examples
    --------
    >>> leader_length_in(98.75, 0.5, 0.0625, 16.0, 3.5, 12.0)
    105.75
    """
    drop_in = gutter_top_gap_in + longest_run_ft * gutter_fall_in_per_ft + gutter_depth_in
    length_in = joist_bottom_in - drop_in + leader_extra_in + ledger_discharge_in
    if not r6(length_in) > 0:
        raise OutOfRange(
            f"joist_bottom_in is {joist_bottom_in:g}; the gutter takes {drop_in:g} in of it and no leader fits below: "
            "the deck must stand higher or drain to its other side"
        )
    return length_in


def straps_per_leader(joist_bottom_in: float, strap_spacing_in: float, straps_fixed: int = 2) -> int:
    """T5. Straps of one leader: the fixed ones, and one for every full spacing.

    Parameters
    ----------
    joist_bottom_in : float
        Joist bottom above grade. [in], >= 0
    strap_spacing_in : float
        Published: top, bottom, every 60 in. [in], > 0
    straps_fixed : int
        Straps at top and bottom.

    Returns
    -------
    int
        Straps.

    Raises
    ------
    OutOfRange
        If a value is outside its range.

    Examples
    --------
    >>> straps_per_leader(98.75, 60.0)
    3
    """
    between("joist_bottom_in", joist_bottom_in, 0, math.inf, "in")
    above("strap_spacing_in", strap_spacing_in, 0, "in")
    return straps_fixed + down(joist_bottom_in / strap_spacing_in)
