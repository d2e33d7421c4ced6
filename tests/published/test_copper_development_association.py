"""Copper Development Association, architecture handbook, Table 4.4.5 example: Chicago, a roof of 40 x 40 ft.

Read in the source; the width's formula is quoted by another.
"""

from __future__ import annotations

import math

import pytest

from baybook.water import box_gutter_width_in, downspout_area_sq_in, expansion_joints, round_opening


def test_downspout():
    roof = 40 * 40 * 1.05
    assert roof == 1_680
    # the handbook divides by its tabulated 130 sq ft a square inch; 1,200/9.3 is 129.03: within 1 %
    assert downspout_area_sq_in(9.3, roof) == pytest.approx(12.9, rel=0.01)
    passing = [size for size in (3, 4, 5, 6) if round_opening(size)[1] >= downspout_area_sq_in(9.3, roof)]
    assert passing[0] == 5


def test_gutter():
    # I A = 14,880
    width = box_gutter_width_in(9.3, 1_600, 40, 0.75)
    assert width == pytest.approx(6.88, abs=0.005)
    assert math.ceil(width) == 7
    assert 0.75 * math.ceil(width) == 5.25


def test_one_square_inch_serves_1200_sq_ft_at_one_inch():
    assert downspout_area_sq_in(1.0, 1_200) == 1.0


def test_copper_needs_a_joint_every_48_ft():
    assert [expansion_joints(length, 48.0) for length in (48.0, 48.1, 96.0, 96.1)] == [0, 1, 1, 2]
