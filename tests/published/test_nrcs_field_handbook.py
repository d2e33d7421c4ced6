"""USDA NRCS, Agricultural Waste Management Field Handbook, ch. 10: the downspout of its gutter example.

Read in the source: a 3 in downspout of 7.06 sq in under 5.5 in of head, q = 0.010457 A h^0.5 in cfs.
"""

from __future__ import annotations

import math

import pytest

from baybook.water import leaders_by_flow, orifice_flow_gpm, round_opening

GPM_PER_CFS = 448.831


def test_downspout_and_how_many():
    q = orifice_flow_gpm(7.06, 5.5, 0.65)
    assert q / GPM_PER_CFS == pytest.approx(0.010457 * 7.06 * math.sqrt(5.5), rel=5e-4)  # g 32.174 or 32.2
    assert round(q / GPM_PER_CFS, 2) == 0.17
    assert leaders_by_flow(0.46 * GPM_PER_CFS, q) == 3


def test_area_of_a_3_in_downspout():
    assert round_opening(3.0)[1] == pytest.approx(7.06, abs=0.01)
