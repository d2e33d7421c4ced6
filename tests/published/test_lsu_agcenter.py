"""Louisiana State University AgCenter: gutters move 1.54 (aluminium), 1.12 (copper), 0.78 in (galvanised) on 100 ft
over 100 deg F. Read in the source; two other sources stand against it.
"""

from __future__ import annotations

import pytest

from baybook.water import thermal_movement_in


@pytest.mark.parametrize(("material", "moved"), [("aluminium", 1.54), ("copper", 1.12), ("galvanised steel", 0.78)])
def test_a_hundred_feet_over_a_hundred_degrees(material, moved):
    assert thermal_movement_in(100, 100, material) == pytest.approx(moved)


def test_copper_against_the_manual_of_copper_flashings():
    # Copper Flashings: A Manual, p. 60: L x 60 x 0.0000095, so 1 in moves 0.00057 in over 60 deg F; copper
    # sheet then and now differs by 2 %
    assert thermal_movement_in(1 / 12, 60, "copper") == pytest.approx(0.00057, rel=0.025)


@pytest.mark.parametrize(("material", "about"), [("aluminium", 3 / 4), ("galvanised steel", 3 / 8)])
def test_fifty_degrees_against_a_supplier_glossary(material, about):
    # a building supplier's glossary: 100 ft over 50 deg F, approximately 3/4 and 3/8 in
    assert thermal_movement_in(100, 50, material) == pytest.approx(about, rel=0.05)
