"""National Standard Plumbing Code 2006, Table 13.6.1, p. 321: round leaders seven twenty-fourths full.

Read in the source. The formula behind it, Wyly and Eaton in NBS Monograph 31, is from memory.
"""

from __future__ import annotations

import pytest

from baybook.water import area_at_rain_sq_ft, flow_gpm, leader_capacity, leader_capacity_gpm

# leader [in], flow [gpm], roof at 1 in/h [sq ft]
TABLE_13_6_1 = [
    (2, 23, 2_180),
    (3, 67, 6_426),
    (4, 144, 13_840),
    (5, 261, 25_094),
    (6, 424, 40_805),
    (8, 913, 87_878),
    (10, 1_655, 159_334),
    (12, 2_692, 259_095),
]


@pytest.mark.parametrize(("size", "gpm", "area"), TABLE_13_6_1)
def test_flow_and_area_of_every_row(size, gpm, area):
    capacity = leader_capacity_gpm(size)
    assert round(capacity) == gpm
    # the table's areas come from its own rounded constant for W1: one part in two thousand
    assert capacity / flow_gpm(1.0, 1.0) == pytest.approx(area, rel=5e-4)


@pytest.mark.parametrize(("size", "rain", "area"), [(3, 4.0, 1_607), (3, 6.0, 1_071), (4, 4.0, 3_460), (4, 6.0, 2_307)])
def test_area_at_other_rates(size, rain, area):
    at_one = {row[0]: row[2] for row in TABLE_13_6_1}[size]
    assert area_at_rain_sq_ft(at_one, rain) == pytest.approx(area, abs=0.5)  # the table prints whole feet
    assert flow_gpm(rain, area) == pytest.approx(leader_capacity_gpm(size), rel=1e-3)


def test_constants_recomputed_to_two_places():
    # recomputed from 27.8 r^(5/3) D^(8/3), r = 7/24
    worked = {2: 22.64, 3: 66.76, 4: 143.77, 5: 260.68, 6: 423.9, 8: 912.9}
    for size, gpm in worked.items():
        assert leader_capacity_gpm(size) == pytest.approx(gpm, abs=0.06)


def test_rectangular_leaders_count_as_the_round_one_of_their_smaller_side():
    assert leader_capacity("2x3").value_gpm == pytest.approx(22.6431, abs=5e-5)
    assert leader_capacity("3x4").value_gpm == pytest.approx(66.759, abs=5e-4)
    assert "2006" in leader_capacity("3x4").edition
