"""FHWA HEC-22, inlets in a sag: weir 3.0, orifice 0.67. Coefficients from memory, results recomputed.

Plate 0.61 and short tube 0.80 were read in a source.
"""

from __future__ import annotations

import pytest

from baybook.water import opening_capacity, orifice_flow_gpm, rectangular_opening


def test_a_2x3_opening_under_an_inch():
    capacity = opening_capacity(*rectangular_opening(2.0, 3.0), 1.0)
    assert capacity.value_gpm == pytest.approx(27.0, abs=0.05)
    assert capacity.method == "weir"
    assert "orifice 29.0" in capacity.note


def test_deeper_water_makes_it_an_orifice():
    # the two cross at h = C_o/C_w (2g)^0.5 A/P = 1.075 in
    assert opening_capacity(*rectangular_opening(2.0, 3.0), 1.07).method == "weir"
    assert opening_capacity(*rectangular_opening(2.0, 3.0), 1.08).method == "orifice"


def test_plate_and_short_tube():
    # 6 sq in under 1 in: 6/144 x (2 x 32.174/12)^0.5 x 448.83 = 43.306 gpm, times the coefficient
    assert orifice_flow_gpm(6.0, 1.0, 0.61) == pytest.approx(0.61 * 43.306, rel=1e-4)
    assert orifice_flow_gpm(6.0, 1.0, 0.80) == pytest.approx(0.80 * 43.306, rel=1e-4)
