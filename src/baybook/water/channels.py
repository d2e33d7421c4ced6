"""Open channels by Manning's equation: the liner of a bay as a V, and gutters of real profiles."""

from __future__ import annotations

import math
from dataclasses import dataclass

from baybook.data import table
from baybook.units import IN_PER_FT, SQ_IN_PER_SQ_FT
from baybook.water.capacity import Capacity
from baybook.water.limits import above, between, published

__all__ = [
    "HalfRound",
    "Profile",
    "Trapezoid",
    "bay_capacity",
    "box",
    "gutter_capacity",
    "gutter_profiles",
    "manning_flow_gpm",
    "manning_velocity_ft_per_s",
    "roughness_n",
    "v_channel",
    "v_depth_in",
]

GPM_PER_CFS = 7.480519 * 60
_MANNING = "Manning, uniform flow"
_EDITION = "Manning's equation, 1.486 in US units"


@dataclass(frozen=True, slots=True)
class Trapezoid:
    """A gutter's or channel's section between straight sides: trapezoid, box (top = bottom) or V (bottom = 0).

    Parameters
    ----------
    bottom_in, top_in : float
        Widths inside. [in], bottom >= 0, top >= bottom, top > 0
    depth_in : float
        Depth inside. [in], > 0
    upright_back : bool
        One side stands upright, as the back of a K-style gutter does; else both lean alike.

    Raises
    ------
    OutOfRange
        If a size is outside its range.
    """

    bottom_in: float
    top_in: float
    depth_in: float
    upright_back: bool = False

    def __post_init__(self) -> None:
        between("bottom_in", self.bottom_in, 0, math.inf, "in")
        above("top_in", self.top_in, 0, "in")
        between("top_in", self.top_in, self.bottom_in, math.inf, "in", "a gutter is no narrower at its top")
        above("depth_in", self.depth_in, 0, "in")

    def section(self, water_in: float) -> tuple[float, float]:
        """Return area and wetted perimeter at a depth of water.

        Parameters
        ----------
        water_in : float
            Depth of water. [in], 0 to the depth

        Returns
        -------
        tuple of float
            Flow area and wetted perimeter. [sq in, in]

        Raises
        ------
        OutOfRange
            If the water stands deeper than the section.
        """
        between("water_in", water_in, 0, self.depth_in, "in", "the water must stay within the section")
        spread = (self.top_in - self.bottom_in) / self.depth_in
        leans = (0.0, spread) if self.upright_back else (spread / 2, spread / 2)
        area = (self.bottom_in + spread * water_in / 2) * water_in
        return area, self.bottom_in + water_in * sum(math.hypot(1.0, lean) for lean in leans)


@dataclass(frozen=True, slots=True)
class HalfRound:
    """The section of a half-round gutter.

    Parameters
    ----------
    width_in : float
        Width inside, which is twice the depth. [in], > 0

    Raises
    ------
    OutOfRange
        If the width is not over 0.
    """

    width_in: float

    def __post_init__(self) -> None:
        above("width_in", self.width_in, 0, "in")

    @property
    def depth_in(self) -> float:
        """Depth inside. [in]."""
        return self.width_in / 2

    def section(self, water_in: float) -> tuple[float, float]:
        """Return area and wetted perimeter at a depth of water.

        Parameters
        ----------
        water_in : float
            Depth of water. [in], 0 to half the width

        Returns
        -------
        tuple of float
            Flow area and wetted perimeter. [sq in, in]

        Raises
        ------
        OutOfRange
            If the water stands deeper than the section.
        """
        between("water_in", water_in, 0, self.depth_in, "in", "the water must stay within the section")
        angle = 2 * math.acos(1 - 2 * water_in / self.width_in)
        return self.width_in**2 / 8 * (angle - math.sin(angle)), self.width_in / 2 * angle


Profile = Trapezoid | HalfRound


def box(width_in: float, depth_in: float) -> Trapezoid:
    """Return a box gutter's section.

    Parameters
    ----------
    width_in, depth_in : float
        Inside. [in], > 0

    Returns
    -------
    Trapezoid
        A rectangle.
    """
    return Trapezoid(width_in, width_in, depth_in)


def v_channel(top_in: float, depth_in: float) -> Trapezoid:
    """Return the section of a liner draped to a V.

    Parameters
    ----------
    top_in, depth_in : float
        Width between the joists and drape. [in], > 0

    Returns
    -------
    Trapezoid
        A V.
    """
    return Trapezoid(0.0, top_in, depth_in)


def gutter_profiles() -> dict[str, Profile]:
    """Return common gutter profiles; their dimensions vary by maker, so measure the gutter.

    Returns
    -------
    dict of str to Profile
        Name to section, such as ``K-style 5 in``.

    Examples
    --------
    >>> gutter_profiles()["half-round 5 in"]
    HalfRound(width_in=5.0)
    """
    sizes: dict[str, dict[str, float]] = {}
    for row in table("gutter_profiles"):
        sizes.setdefault(row["profile"], {})[row["measure"]] = float(row["value"])
    return {
        name: Trapezoid(size["bottom"], size["top"], size["depth"], upright_back=True)
        if "bottom" in size
        else HalfRound(size["top"])
        for name, size in sizes.items()
    }


def roughness_n(material: str) -> float:
    """Return Manning's n of a liner or gutter material.

    Parameters
    ----------
    material : str
        ``PVC``, ``HDPE`` or ``smooth metal``.

    Returns
    -------
    float
        Roughness. [s/m^(1/3)]

    Raises
    ------
    OutOfRange
        If no published value is here.

    Examples
    --------
    >>> roughness_n("pvc")
    0.01

    References
    ----------
    .. [1] Federal Highway Administration, as quoted in the table's rows.
    """
    return published("roughness", "material", material)


def manning_velocity_ft_per_s(hydraulic_radius_in: float, fall_in_per_ft: float, roughness_n: float) -> float:
    """Return the velocity of uniform flow in an open channel.

    V = (1.486/n) R^(2/3) S^(1/2), R in feet [1]_.

    Parameters
    ----------
    hydraulic_radius_in : float
        Flow area over wetted perimeter. [in], > 0
    fall_in_per_ft : float
        Fall of bed and water. [in/ft], over 0 to 1.2: the equation is for small slopes, under one in ten [1]_
    roughness_n : float
        Manning's n. [s/m^(1/3)], 0.008 to 0.2: the span of the published tables [1]_

    Returns
    -------
    float
        Mean velocity, not rounded. [ft/s]

    Raises
    ------
    OutOfRange
        If an argument is outside its range.

    References
    ----------
    .. [1] Chow, V. T., Open-Channel Hydraulics, 1959, eq. 5-6, Table 5-6 (the two ranges from memory).
    """
    above("hydraulic_radius_in", hydraulic_radius_in, 0, "in")
    above("fall_in_per_ft", fall_in_per_ft, 0, "in/ft", "a level channel needs a method for level gutters")
    between("fall_in_per_ft", fall_in_per_ft, 0, 1.2, "in/ft", "Manning's equation is for small slopes")
    between("roughness_n", roughness_n, 0.008, 0.2, "", "smooth plastic is 0.010, smooth metal 0.012")
    radius_ft = hydraulic_radius_in / IN_PER_FT
    return float(1.486 / roughness_n * radius_ft ** (2 / 3) * math.sqrt(fall_in_per_ft / IN_PER_FT))


def manning_flow_gpm(area_sq_in: float, wetted_in: float, fall_in_per_ft: float, roughness_n: float) -> float:
    """Return the steady flow an open channel carries.

    Uniform flow by Manning's equation [1]_.

    Parameters
    ----------
    area_sq_in : float
        Flow area. [sq in], > 0
    wetted_in : float
        Wetted perimeter. [in], > 0
    fall_in_per_ft : float
        Fall of bed and water. [in/ft], over 0 to 1.2
    roughness_n : float
        Manning's n. [s/m^(1/3)], 0.008 to 0.2

    Returns
    -------
    float
        Flow, not rounded. [gpm US]

    Raises
    ------
    OutOfRange
        If an argument is outside its range.

    Examples
    --------
    A V of 14.5 x 1.5 in at 1/8 in/ft, smooth plastic:

    >>> area, wetted = v_channel(14.5, 1.5).section(1.5)
    >>> round(manning_flow_gpm(area, wetted, 0.125, 0.010), 1)
    79.8

    References
    ----------
    .. [1] Chow, V. T., Open-Channel Hydraulics, 1959, eq. 5-6.
    """
    above("area_sq_in", area_sq_in, 0, "sq in")
    above("wetted_in", wetted_in, 0, "in")
    velocity = manning_velocity_ft_per_s(area_sq_in / wetted_in, fall_in_per_ft, roughness_n)
    return velocity * area_sq_in / SQ_IN_PER_SQ_FT * GPM_PER_CFS


def bay_capacity(clear_in: float, drape_in: float, fall_in_per_ft: float, roughness_n: float) -> Capacity:
    """Return what the liner of a bay carries, brim-full, as a V channel.

    Parameters
    ----------
    clear_in : float
        Clear width of the bay. [in], > 0
    drape_in : float
        Depth of the V where it is asked. [in], > 0
    fall_in_per_ft : float
        Fall of the liner. [in/ft], over 0 to 1.2
    roughness_n : float
        Manning's n. [s/m^(1/3)], 0.008 to 0.2

    Returns
    -------
    Capacity
        By Manning's equation.

    Raises
    ------
    OutOfRange
        If an argument is outside its range.

    Examples
    --------
    >>> round(bay_capacity(14.5, 1.5, 0.25, 0.010).value_gpm, 1)
    112.9
    """
    area, wetted = v_channel(clear_in, drape_in).section(drape_in)
    value = manning_flow_gpm(area, wetted, fall_in_per_ft, roughness_n)
    note = f"V {clear_in:g} x {drape_in:g} in brim-full, n {roughness_n:g}, clean; debris and a reversed fall govern"
    return Capacity(value, _MANNING, _EDITION, note)


def gutter_capacity(profile: Profile, fall_in_per_ft: float, roughness_n: float, freeboard_in: float) -> Capacity:
    """Return what a gutter on a fall carries with freeboard left over the water.

    Parameters
    ----------
    profile : Trapezoid or HalfRound
        The gutter's section.
    fall_in_per_ft : float
        Fall of the gutter. [in/ft], over 0 to 1.2; a level gutter needs another method
    roughness_n : float
        Manning's n. [s/m^(1/3)], 0.008 to 0.2
    freeboard_in : float
        Height kept free over the water. [in], 0 to under the gutter's depth

    Returns
    -------
    Capacity
        By Manning's equation.

    Raises
    ------
    OutOfRange
        If an argument is outside its range.

    Examples
    --------
    >>> round(gutter_capacity(gutter_profiles()["half-round 5 in"], 0.125, 0.012, 0.5).value_gpm, 1)
    57.7
    """
    between("freeboard_in", freeboard_in, 0, profile.depth_in, "in")
    above("water_in", profile.depth_in - freeboard_in, 0, "in", "the freeboard takes the whole gutter")
    area, wetted = profile.section(profile.depth_in - freeboard_in)
    value = manning_flow_gpm(area, wetted, fall_in_per_ft, roughness_n)
    note = f"n {roughness_n:g}, {freeboard_in:g} in freeboard; the section is idealised: measure the gutter"
    return Capacity(value, _MANNING, _EDITION, note)


def v_depth_in(flow_gpm: float, side_slope: float, fall_in_per_ft: float, roughness_n: float) -> float:
    """Return how deep uniform flow stands in a V channel.

    Parameters
    ----------
    flow_gpm : float
        Flow. [gpm US], > 0
    side_slope : float
        Horizontal to vertical of each side: half the clear width over the drape. [-], > 0
    fall_in_per_ft : float
        Fall of the channel. [in/ft], over 0 to 1.2
    roughness_n : float
        Manning's n. [s/m^(1/3)], 0.008 to 0.2

    Returns
    -------
    float
        Depth of water, not rounded. [in]

    Raises
    ------
    OutOfRange
        If an argument is outside its range.

    Examples
    --------
    >>> round(v_depth_in(100.0, 2.0, 0.012, 0.011) / 12, 4)
    0.3115
    """
    above("flow_gpm", flow_gpm, 0, "gpm")
    above("side_slope", side_slope, 0, "")
    one_inch_gpm = manning_flow_gpm(side_slope, 2 * math.hypot(1.0, side_slope), fall_in_per_ft, roughness_n)
    return float((flow_gpm / one_inch_gpm) ** (3 / 8))  # area grows as y^2, the radius as y: flow as y^(8/3)
