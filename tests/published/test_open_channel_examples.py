"""Published examples of uniform flow, SI turned to inches and gallons.

San Diego State University, CIVE 530 Open-Channel Hydraulics, midterms (rectangles) and a board problem in hydraulics
(the V, 700 L/s in timber); read in the source. The trapezoid was read in a source whose title was not kept.
"""

from __future__ import annotations

import pytest

from baybook.water import (
    Trapezoid,
    bay_capacity,
    box,
    manning_flow_gpm,
    manning_velocity_ft_per_s,
    roughness_n,
    v_depth_in,
)

IN_PER_M = 1 / 0.0254
GPM_PER_M3_S = 60_000 / 3.785411784
# 1.486 stands for 1/0.3048^(1/3) = 1.48592, five parts in 100,000; the examples print four figures
FOUR_FIGURES = 5e-4


def fall(slope):
    return slope * 12


@pytest.mark.parametrize(
    ("wide", "deep", "slope", "flow"),
    [
        (6.0, 1.6, 0.0025, 32.91),  # midterm 1, problem 4, fall 2008
        (5.0, 0.8, 0.0025, 9.548),  # midterm 2, problem 1, spring 2007
        (5.0, 1.5, 0.0030, 26.23),  # midterm 2, problem 1, spring 2008
        (6.0, 1.2, 0.0020, 19.37),  # midterm 2, problem 1, spring 2006
    ],
)
def test_rectangles(wide, deep, slope, flow):
    area, wetted = box(wide * IN_PER_M, deep * IN_PER_M).section(deep * IN_PER_M)
    ours = manning_flow_gpm(area, wetted, fall(slope), 0.015)
    assert ours / GPM_PER_M3_S == pytest.approx(flow, rel=FOUR_FIGURES)


def test_hydraulic_radius_of_the_first():
    area, wetted = box(6.0 * IN_PER_M, 2.0 * IN_PER_M).section(1.6 * IN_PER_M)
    assert round(area / wetted * 0.0254, 3) == 1.043


def test_right_angled_v():
    # n 0.012, S 0.0001, 0.7 m3/s: depth 1.215 m
    assert v_depth_in(0.7 * GPM_PER_M3_S, 1.0, fall(0.0001), 0.012) * 0.0254 == pytest.approx(1.215, abs=0.0005)


def test_trapezoid():
    # b 1.2, y 0.6, z 2, n 0.011, S 0.0003: 1.17 m3/s, 0.81 m/s
    gutter = Trapezoid(1.2 * IN_PER_M, (1.2 + 4 * 0.6) * IN_PER_M, 0.6 * IN_PER_M)
    area, wetted = gutter.section(0.6 * IN_PER_M)
    assert round(manning_flow_gpm(area, wetted, fall(0.0003), 0.011) / GPM_PER_M3_S, 2) == 1.17
    assert round(manning_velocity_ft_per_s(area / wetted, fall(0.0003), 0.011) * 0.3048, 2) == 0.81


def test_the_units_trap():
    # A V, z 2, 100 gpm, S 0.001, n 0.011. Recomputed with 1.486: 0.3115 ft. A homework answer on the web takes
    # the SI constant 1 with feet and prints 0.3614 ft: that is not ours, but what n x 1.486 would give.
    right = v_depth_in(100.0, 2.0, fall(0.001), 0.011) / 12
    assert right == pytest.approx(0.3115, abs=5e-5)
    assert right != pytest.approx(0.3614, rel=0.1)
    assert v_depth_in(100.0, 2.0, fall(0.001), 0.011 * 1.486) / 12 == pytest.approx(0.3614, abs=5e-5)


@pytest.mark.parametrize(("fall_in_per_ft", "gpm"), [(0.125, 79.84), (0.25, 112.90)])
def test_bay_of_a_16_in_spacing(fall_in_per_ft, gpm):
    # recomputed from Manning's equation with constants of four figures: V 14.5 x 1.5 in, n 0.010
    assert bay_capacity(14.5, 1.5, fall_in_per_ft, 0.010).value_gpm == pytest.approx(gpm, rel=2e-4)


def test_roughness():
    # Federal Highway Administration as cited by Winchester IN: PVC, HDPE; smooth metal quoted by another
    assert [roughness_n(name) for name in ("PVC", "HDPE", "smooth metal")] == [0.010, 0.011, 0.012]
