"""Uniform Plumbing Code: the example of Appendix D, read in the source; half-round gutters, values from memory."""

from __future__ import annotations

import pytest

from baybook.water import HalfRound, area_at_rain_sq_ft, gutter_capacity


def test_appendix_d_example():
    # 21,400 sq ft at 1 in/h, at 3.2 in/h; the code rounds a half foot up
    assert area_at_rain_sq_ft(21_400, 3.2) == pytest.approx(6_688, abs=0.5)


# half-round 4, 5, 6 in at 1 in/h, sq ft: values from memory
GUTTERS = {
    0.0625: (1_440, 2_500, 3_840),
    0.125: (2_040, 3_520, 5_440),
    0.25: (2_880, 5_000, 7_680),
    0.5: (4_080, 7_080, 11_080),
}


@pytest.mark.parametrize("fall", [0.0625, 0.125, 0.5])
def test_capacity_goes_with_the_root_of_the_fall_as_the_old_table_does(fall):
    for size, area, area_quarter in zip((4, 5, 6), GUTTERS[fall], GUTTERS[0.25], strict=True):
        ours = [gutter_capacity(HalfRound(size), m, 0.012, 0).value_gpm for m in (fall, 0.25)]
        # the table is rounded to 20 or 40 sq ft: within 2 %
        assert ours[0] / ours[1] == pytest.approx(area / area_quarter, rel=0.02)


def test_old_table_is_under_half_of_a_clean_brim_full_gutter():
    # recomputed: 36.6 gpm of the old table stand against 85.6 by Manning, n 0.012, no freeboard
    assert gutter_capacity(HalfRound(5), 0.125, 0.012, 0).value_gpm == pytest.approx(85.6, abs=0.1)
