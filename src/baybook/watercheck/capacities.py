"""Capacity against flow for bays, outlets, gutters, drops and leaders, each by a named method (W2).

Which row decides: the adopted code's where the estimator typed it, else Manning for a gutter that falls, EN 12056-3 for
one that lies level, Wyly-Eaton (or the capacity given) for leaders. The others stand beside it to compare.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from functools import lru_cache

from baybook.job.rates import GUTTER_PROFILES, LEADER_SIZES, Rates
from baybook.job.records import CodeRow
from baybook.numbers import r6, up
from baybook.problems import OutOfRange
from baybook.takeoff.model import GutterLine, Part
from baybook.water.capacity import AdoptedRow, Capacity, adopted_capacity, least_that_carries
from baybook.water.channels import Profile, bay_capacity, box, gutter_capacity, gutter_profiles
from baybook.water.eaves import en_gutter_capacity
from baybook.water.flow import flow_gpm
from baybook.water.leaders import leader_capacity, leaders_by_flow, leaders_by_reach
from baybook.water.outlets import opening_capacity, rectangular_opening
from baybook.watercheck.model import CheckRow

__all__ = ["STEEPEST_IN_PER_FT", "busiest_share", "code_capacity", "line_rows", "part_rows", "profiles_of"]

# Gutters, leaders and openings of the same sizes come up again and again, in the alternatives of one job already.
_gutter, _leader = lru_cache(maxsize=1024)(gutter_capacity), lru_cache(maxsize=1024)(leader_capacity)
_opening = lru_cache(maxsize=1024)(opening_capacity)

STEEPEST_IN_PER_FT = 1.2  # Manning's equation ends there; a steeper bay counts as one so steep


def _row(what: str, name: str, flow: float, capacity: Capacity | None, governs: bool, **more: object) -> CheckRow:
    found = capacity or Capacity(0.0, "none", "")
    values = {"note": found.note} | more
    return CheckRow(what, name, found.method, found.edition, flow, found.value_gpm, governs, **values)  # type: ignore[arg-type]  # the rest of a row


# ---------------------------------------------------------------------------------------------- bays and outlets


def _bay(part: Part, rates: Rates) -> tuple[float, Capacity]:
    """Flow and capacity of the bay that is nearest to its limit: the narrowest that drains."""
    drained = [bay.clear_in for bay in part.bays if bay.drains]
    narrowest, drape = min(drained), part.liner.drape_in
    flow = part.flow_gpm * narrowest / sum(drained)
    if r6(part.fall_in_per_ft) <= 0 or r6(drape) <= 0:
        why = "no fall toward its outlet" if r6(part.fall_in_per_ft) <= 0 else "no drape that makes a channel"
        return flow, Capacity(0.0, "Manning, uniform flow", "Manning's equation, 1.486 in US units", why)
    return flow, bay_capacity(narrowest, drape, min(part.fall_in_per_ft, STEEPEST_IN_PER_FT), rates.liner_roughness)


def part_rows(part: Part, rates: Rates) -> Iterator[CheckRow]:
    """W1, W2. The bays of a part and their outlets; each bay takes of the part's flow what its width is of the bays'.

    Parameters
    ----------
    part : Part
        The part.
    rates : Rates
        Roughness of the liner, opening of an outlet and the water that may stand over it.

    Yields
    ------
    CheckRow
        The bay nearest to its limit, and the busiest outlet; none if no bay drains.
    """
    drained = [bay.clear_in for bay in part.bays if bay.drains]
    if not drained:
        return
    yield _row("bay", part.name, *_bay(part, rates), governs=True)
    opening = rectangular_opening(rates.outlet_long_in, rates.outlet_short_in)
    busiest = part.flow_gpm * max(drained) / sum(drained)
    yield _row("bay outlet", part.name, busiest, _opening(*opening, rates.outlet_head_in), governs=True)


# ---------------------------------------------------------------------------------------------- gutters


def profiles_of(rates: Rates) -> Mapping[str, Profile]:
    """Return the gutter profiles to compare: those of the table, and the box where it is the one chosen."""
    known = {name.casefold(): profile for name, profile in gutter_profiles().items()}
    found = {name: known[name] for name in GUTTER_PROFILES if name in known}
    if rates.gutter_profile == "box":
        found["box"] = box(rates.gutter_width_in, rates.gutter_depth_in)
    return found


def _manning(profile: Profile, rates: Rates) -> Capacity | None:
    """Capacity by Manning; None for a level gutter, and where the freeboard takes it all."""
    if r6(rates.gutter_fall_in_per_ft) <= 0 or r6(profile.depth_in - rates.gutter_freeboard_in) <= 0:
        return None
    fall = min(rates.gutter_fall_in_per_ft, STEEPEST_IN_PER_FT)
    return _gutter(profile, fall, rates.gutter_roughness, rates.gutter_freeboard_in)


@lru_cache(maxsize=1024)
def _en(name: str, profile: Profile, run_ft: float) -> Capacity | None:
    """Capacity by EN 12056-3; None for a run longer than it covers."""
    if r6(run_ft * 12) > r6(200 * profile.depth_in):
        return None
    area, _ = profile.section(profile.depth_in)
    shape = "half-round" if name.startswith("half-round") else "rectangular"
    return en_gutter_capacity(area, shape, min(run_ft, 200 * profile.depth_in / 12), profile.depth_in)


def _leaders(flow: float, capacity: Capacity | None, leader_at: str) -> int:
    return leaders_by_reach(flow, capacity.value_gpm, leader_at) if capacity and flow > 0 else 0


def _compared(found: Mapping[str, Capacity | None]) -> dict[str, Capacity]:
    return {name: capacity for name, capacity in found.items() if capacity is not None}


def _gutter_rows(
    line: GutterLine, leader_at: str, rates: Rates, adopted: Capacity | None, codes: Sequence[CodeRow]
) -> Iterator[CheckRow]:
    """W2. The gutter by Manning, by EN 12056-3, and by the adopted code."""
    flow, total = line.flow_gpm * line.run_ft / line.length_ft, line.flow_gpm
    profiles = profiles_of(rates)
    level = r6(rates.gutter_fall_in_per_ft) <= 0
    by_manning = {name: _manning(profile, rates) for name, profile in profiles.items()}
    by_en = {name: _en(name, profile, line.run_ft) for name, profile in profiles.items()}
    for found, governs in ((by_manning, not level), (by_en, level)):
        capacity = found[rates.gutter_profile]
        yield _row(
            "gutter",
            line.name,
            flow,
            capacity or _uncovered(level, found is by_en),
            governs=governs and adopted is None,
            least_size=least_that_carries(_compared(found), flow) or "",
            leaders=_leaders(total, capacity, leader_at),
        )
    if adopted is not None:
        sizes = _typed("gutter", codes, rates)
        least = least_that_carries(sizes, flow) or ""
        leaders = _leaders(total, adopted, leader_at)
        yield _row("gutter", line.name, flow, adopted, governs=True, least_size=least, leaders=leaders)


def _uncovered(level: bool, en: bool) -> Capacity:
    if en:
        return Capacity(
            0.0, "EN 12056-3 eaves gutter", "2000, constants from memory", "run over 200 depths: not covered"
        )
    why = "level: no uniform flow" if level else "the freeboard takes the whole gutter"
    return Capacity(0.0, "Manning, uniform flow", "Manning's equation, 1.486 in US units", why)


# ---------------------------------------------------------------------------------------------- the adopted code


def _adopted_rows(kind: str, codes: Sequence[CodeRow]) -> list[AdoptedRow]:
    return [
        AdoptedRow(
            row.size,
            row.capacity_gpm or flow_gpm(1.0, row.area_sq_ft or 0.0),
            (row.fall_in_per_ft or 0.0) if kind == "gutter" else None,  # no fall in the table: good for any
        )
        for row in codes
        if row.kind == kind
    ]


def code_capacity(kind: str, size: str, codes: Sequence[CodeRow], rates: Rates) -> Capacity | None:
    """W2. What the typed table gives a size.

    Parameters
    ----------
    kind : str
        ``gutter`` or ``leader``.
    size : str
        The size.
    codes : sequence of CodeRow
        The job's rows.
    rates : Rates
        Fall of the gutter.

    Returns
    -------
    Capacity or None
        None where nothing of the kind is typed.

    Raises
    ------
    OutOfRange
        If the table has no such size, or none for so flat a gutter.
    """
    rows = _adopted_rows(kind, codes)
    if not rows:
        return None
    named = next(row for row in codes if row.kind == kind)
    fall = rates.gutter_fall_in_per_ft if kind == "gutter" else None
    return adopted_capacity(rows, size, named.code, named.edition, fall)


def _typed(kind: str, codes: Sequence[CodeRow], rates: Rates) -> dict[str, Capacity]:
    """Every size of the typed table that may be used, by its first spelling."""
    found: dict[str, Capacity] = {}
    for size in dict.fromkeys(row.size for row in codes if row.kind == kind):
        if size.casefold() not in {one.casefold() for one in found}:
            try:
                capacity = code_capacity(kind, size, codes, rates)
            except OutOfRange:
                continue
            found |= {size: capacity} if capacity else {}
    return found


# ---------------------------------------------------------------------------------------------- drops and leaders


def busiest_share(leaders: int, leader_at: str) -> int:
    """W3. How many drops share a line's flow as its busiest one does: one between two others takes two half stretches.

    Examples
    --------
    >>> [busiest_share(n, "end") for n in (1, 2, 3, 4)], busiest_share(3, "middle")
    ([1, 2, 2, 3], 3)
    """
    return leaders - 1 if leader_at == "end" and leaders > 2 else leaders


@lru_cache(maxsize=1024)
def _drop(size: str, water_in: float) -> Capacity | None:
    long_in, short_in = (float(side) for side in size.split("x"))
    return opening_capacity(*rectangular_opening(long_in, short_in), water_in) if r6(water_in) > 0 else None


def _leader_sizes(rates: Rates) -> tuple[str, ...]:
    return LEADER_SIZES if rates.leader_size in LEADER_SIZES else (*LEADER_SIZES, rates.leader_size)


def _by_size(rates: Rates) -> dict[str, Capacity]:
    found = {}
    for size in _leader_sizes(rates):
        try:
            found[size] = _leader(size)
        except OutOfRange:
            continue  # outside the published table
    return found


def _drop_row(line: GutterLine, leader_at: str, rates: Rates) -> CheckRow:
    """W2. The gutter's own outlet into a leader, as weir and orifice under the water of the gutter."""
    water = profiles_of(rates)[rates.gutter_profile].depth_in - rates.gutter_freeboard_in
    sizes = {size: _drop(size, water) for size in _leader_sizes(rates)}
    flow, capacity = line.flow_gpm / busiest_share(line.leaders, leader_at), sizes[rates.leader_size]
    alike = up(line.flow_gpm / capacity.value_gpm) if capacity else 0
    return _row(
        "gutter drop",
        line.name,
        flow,
        capacity or Capacity(0.0, "weir", "HEC-22, coefficients from memory", "no water over it"),
        governs=True,
        least_size=least_that_carries(_compared(sizes), flow) or "",
        leaders=alike if leader_at == "middle" or alike <= 2 else alike + 1,
    )


def _leader_rows(
    line: GutterLine, rates: Rates, adopted: Capacity | None, codes: Sequence[CodeRow]
) -> Iterator[CheckRow]:
    """W2, W3. All leaders of a line together, by Wyly-Eaton or as given, and by the adopted code."""
    each = line.flow_gpm / line.leaders
    given = rates.leader_capacity_gpm
    one = Capacity(given, "as given", "the rate leader_capacity_gpm") if given else _leader(rates.leader_size)
    found = [(one, {} if given else _by_size(rates), adopted is None)]
    if adopted is not None:
        found.append((adopted, _typed("leader", codes, rates), True))
    for capacity, sizes, governs in found:
        yield CheckRow(
            "leaders",
            line.name,
            capacity.method,
            capacity.edition,
            line.flow_gpm,
            capacity.value_gpm * line.leaders,
            governs,
            least_that_carries(sizes, each) or "",
            leaders_by_flow(line.flow_gpm, capacity.value_gpm),
            capacity.note,
        )


def line_rows(
    line: GutterLine,
    leader_at: str,
    rates: Rates,
    codes: Sequence[CodeRow],
    adopted: Mapping[str, Capacity | None],
) -> Iterator[CheckRow]:
    """W2. The gutter of a line, its drops and its leaders.

    Parameters
    ----------
    line : GutterLine
        The line.
    leader_at : str
        ``end`` or ``middle``.
    rates : Rates
        Profile, freeboard, roughness, fall, leader size.
    codes : sequence of CodeRow
        The job's typed rows.
    adopted : mapping
        ``gutter`` and ``leader`` to what they give the sizes in use; None where they give nothing.

    Yields
    ------
    CheckRow
        One a method.
    """
    yield from _gutter_rows(line, leader_at, rates, adopted["gutter"], codes)
    yield _drop_row(line, leader_at, rates)
    yield from _leader_rows(line, rates, adopted["leader"], codes)
