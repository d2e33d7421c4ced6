"""The library fluids 1.3 as a reference for Manning's equation and for weirs.

Only its functions known to be right are used: V_Manning, V_Chezy and the full-width weirs of Kindsvater and Carter,
Rehbock and Ackers. Its V-notch by Shen and its two SIA weirs are off and stay out.
"""

from __future__ import annotations

import math
import random
from itertools import pairwise

import fluids
import pytest

from baybook.water import (
    HalfRound,
    Trapezoid,
    gutter_capacity,
    gutter_profiles,
    manning_flow_gpm,
    manning_velocity_ft_per_s,
    weir_flow_gpm,
)

M_PER_IN = 0.0254
GPM_PER_M3_S = 60_000 / 3.785411784
US_CONSTANT = 1.486 * 0.3048 ** (1 / 3)  # 1.486 is rounded: 1.00006 of the exact constant


@pytest.mark.parametrize(
    ("radius_m", "slope", "n", "v"),
    [(0.2859, 0.005236, 0.03, 1.0467781958), (5, 0.001, 0.05, 1.8493111943)],
)
def test_the_examples_it_prints(radius_m, slope, n, v):
    assert fluids.V_Manning(radius_m, slope, n) == pytest.approx(v, rel=1e-9)
    ours = manning_velocity_ft_per_s(radius_m / M_PER_IN, slope * 12, n) * 0.3048
    assert ours == pytest.approx(v * US_CONSTANT, rel=1e-9)


def test_manning_velocity_on_200_random_channels():
    rng = random.Random(14)
    for _ in range(200):
        radius, fall, n = rng.uniform(0.05, 60), rng.uniform(0.001, 1.2), rng.uniform(0.008, 0.2)
        ours = manning_velocity_ft_per_s(radius, fall, n) * 0.3048
        assert ours == pytest.approx(fluids.V_Manning(radius * M_PER_IN, fall / 12, n) * US_CONSTANT, rel=1e-9)
        chezy = (radius * M_PER_IN) ** (1 / 6) / n
        assert ours == pytest.approx(fluids.V_Chezy(radius * M_PER_IN, fall / 12, chezy) * US_CONSTANT, rel=1e-9)


def polygon(points):
    """Area and wetted perimeter of a gutter from its outline, by the surveyor's formula."""
    area = abs(sum(a * d - c * b for (a, b), (c, d) in zip(points, points[1:] + points[:1], strict=True))) / 2
    return area, sum(((a - c) ** 2 + (b - d) ** 2) ** 0.5 for (a, b), (c, d) in pairwise(points))


def test_gutter_flow_on_random_trapezoids_from_their_outline():
    rng = random.Random(7)
    for _ in range(100):
        bottom, more, deep, back = rng.uniform(0, 6), rng.uniform(0.1, 5), rng.uniform(1, 6), rng.random() < 0.5
        water, fall, n = rng.uniform(0.3, 1) * deep, rng.uniform(0.01, 0.5), rng.uniform(0.009, 0.03)
        left, right = (0, more) if back else (more / 2, more / 2)
        up = water / deep
        area, wetted = polygon([(-left * up, water), (0, 0), (bottom, 0), (bottom + right * up, water)])
        gutter = Trapezoid(bottom, bottom + more, deep, upright_back=back)
        assert gutter.section(water) == pytest.approx((area, wetted))
        ours = gutter_capacity(gutter, fall, n, deep - water).value_gpm / GPM_PER_M3_S
        v = fluids.V_Manning(area / wetted * M_PER_IN, fall / 12, n) * US_CONSTANT
        assert ours == pytest.approx(v * area * M_PER_IN**2, rel=1e-6)  # 7.480519 gal/cu ft has seven figures


@pytest.mark.parametrize("share", [0.1, 0.4, 0.8, 1.0])
def test_half_round_from_its_outline(share):
    gutter = HalfRound(5.0)
    water = share * 2.5
    steps = 20_000  # the outline of a circle as a polygon, cut at the water's surface
    points = [(2.5 * math.sin(t), 2.5 - 2.5 * math.cos(t)) for t in arc(water, steps)]
    assert gutter.section(water) == pytest.approx(polygon(points), rel=1e-6)


def arc(water, steps):
    half = math.acos(1 - water / 2.5)
    return [-half + 2 * half * k / steps for k in range(steps + 1)]


def test_half_round_5_in_with_half_an_inch_of_freeboard():
    points = [(2.5 * math.sin(t), 2.5 - 2.5 * math.cos(t)) for t in arc(2.0, 20_000)]
    area, wetted = polygon(points)
    v = fluids.V_Manning(area / wetted * M_PER_IN, 0.125 / 12, 0.012)
    ours = gutter_capacity(gutter_profiles()["half-round 5 in"], 0.125, 0.012, 0.5).value_gpm
    assert ours == pytest.approx(v * area * M_PER_IN**2 * GPM_PER_M3_S, rel=1e-4)
    assert ours == pytest.approx(manning_flow_gpm(area, wetted, 0.125, 0.012), rel=1e-6)


@pytest.mark.parametrize("head_ft", [0.2, 0.3, 0.4])
def test_sharp_crest_over_a_high_weir(head_ft):
    # 3.33 is the coefficient of a high sharp crest: within 1.5 % of the three formulas at a crest of 2 ft
    ours = weir_flow_gpm(36.0, head_ft * 12, 3.33) / GPM_PER_M3_S
    head, crest, wide = head_ft * 0.3048, 2 * 0.3048, 3 * 0.3048
    for weir in ("Kindsvater_Carter", "Rehbock", "Ackers"):
        theirs = getattr(fluids, f"Q_weir_rectangular_full_{weir}")(head, crest, wide)
        assert ours == pytest.approx(theirs, rel=0.015), weir
