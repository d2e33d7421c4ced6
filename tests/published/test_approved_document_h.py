"""Approved Document H (England), half-round eaves gutters, against EN 12056-3.

The 100 mm row (0.78 L/s, 37 m2) was read in the source; the other rows are values from memory, and so are the constants
of EN 12056-3: neither was made from the other, so their agreement confirms both.
"""

from __future__ import annotations

import math

import pytest

from baybook.water import (
    en_corner_factor,
    en_gutter_capacity,
    en_length_factor,
    en_outlet_capacity,
    flow_gpm,
)

L_S_PER_GPM = 3.785411784 / 60


def level_l_s(area_mm2, shape="half-round", run_ft=1.0, corner_ft=None):
    capacity = en_gutter_capacity(area_mm2 / 25.4**2, shape, run_ft, 4.0, corner_ft)
    return capacity.value_gpm * L_S_PER_GPM


@pytest.mark.parametrize(
    ("width_mm", "printed", "worked"),
    [
        (75, 0.38, 0.379),
        (100, 0.78, 0.778),
        (115, 1.11, 1.103),
        (125, 1.37, 1.359),
        (150, 2.16, 2.143),
    ],
)
def test_half_round(width_mm, printed, worked):
    ours = level_l_s(math.pi * width_mm**2 / 8)
    assert ours == pytest.approx(printed, rel=0.01)
    assert ours == pytest.approx(worked, abs=0.0006)


def test_roof_of_the_100_mm_row():
    # 37 m2 at the document's 75 mm/h (rate from memory): 0.77 L/s, the row's 0.78
    flow = flow_gpm(75 / 25.4, 37 / 0.3048**2) * L_S_PER_GPM
    assert flow == pytest.approx(0.78, abs=0.01)
    assert flow < level_l_s(math.pi * 100**2 / 8)


def test_rectangular_carries_348_to_278():
    assert level_l_s(5000, "rectangular") / level_l_s(5000) == pytest.approx(3.48 / 2.78)


def test_length_factor():
    # EN 12056-3 as printed in makers' data, read: run over depth 50, 100, 150, 200
    printed = {50: 1.0, 100: 0.93, 150: 0.86, 200: 0.80}
    for depths, factor in printed.items():
        assert en_length_factor(depths * 4 / 12, 4.0) == pytest.approx(factor)
    assert en_length_factor(75 * 4 / 12, 4.0) == pytest.approx((1.0 + 0.93) / 2)
    assert en_length_factor(125 * 4 / 12, 4.0) == pytest.approx((0.93 + 0.86) / 2)
    assert en_length_factor(1.0, 4.0) == 1.0


def test_corner_factor():
    # as printed in makers' data, read: under 2 m 0.8, 2 to 4 m 0.9
    assert [en_corner_factor(m / 0.3048) for m in (0, 1.99, 2.01, 3.99, 4.01)] == [0.8, 0.8, 0.9, 0.9, 1.0]
    assert en_corner_factor(None) == 1.0
    assert level_l_s(5000, corner_ft=5.0) == pytest.approx(0.8 * level_l_s(5000))


def test_outlet():
    # formulas from memory; by hand, D 80 mm: at h 40, 80 x 40^1.5/7500 = 2.698; at h 60, 6400 x 60^0.5/15000 = 3.305
    shallow, deep = (en_outlet_capacity(80 / 25.4, h / 25.4) for h in (40, 60))
    assert shallow.value_gpm * L_S_PER_GPM == pytest.approx(2.698, abs=0.001)
    assert deep.value_gpm * L_S_PER_GPM == pytest.approx(3.305, abs=0.001)
    assert "weir" in shallow.method
    assert "orifice" in deep.method
    # the two formulas meet at h = D/2: a slip in either constant would show
    past = en_outlet_capacity(80 / 25.4, 40.0001 / 25.4)
    assert "orifice" in past.method
    assert past.value_gpm == pytest.approx(shallow.value_gpm, rel=1e-5)
    strained = en_outlet_capacity(80 / 25.4, 40 / 25.4, strainer=True)
    assert strained.value_gpm == pytest.approx(shallow.value_gpm / 2)
