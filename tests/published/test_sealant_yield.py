"""How far a cartridge or a gallon of sealant goes: its volume over the area of the bead.

Yields printed on the web contradict each other; volume over area is the truth, computed here. The yields of a gallon
stand so on sealant data sheets (values from memory).
"""

from __future__ import annotations

import math

import pytest
from books import taken

from baybook.takeoff.take import bead_of_cartridge_ft


def of_box(fl_oz, width_in, depth_in):
    """Return the yield for a bead of rectangular section: that of a round bead of the same area."""
    return bead_of_cartridge_ft(fl_oz, math.sqrt(4 * width_in * depth_in / math.pi))


def test_a_cartridge_of_10_1_fl_oz_holds_18_227_cu_in():
    # a gallon is 231 cu in and 128 fl oz; a bead of one square inch shows the volume
    assert 12 * of_box(10.1, 1, 1) == pytest.approx(18.227, abs=5e-4)


def test_a_quarter_inch_round_bead():
    assert bead_of_cartridge_ft(10.1, 0.25) == pytest.approx(30.9, abs=0.05)


@pytest.mark.parametrize(
    ("width", "depth", "feet", "tolerance"),
    [
        (1 / 4, 1 / 4, 24.3, 0.05),
        (3 / 8, 1 / 4, 16.2, 0.05),
        (3 / 8, 3 / 8, 10.8, 0.05),
        (1 / 2, 1 / 4, 12.15, 0.005),
    ],
)
def test_beads_of_other_sections(width, depth, feet, tolerance):
    assert of_box(10.1, width, depth) == pytest.approx(feet, abs=tolerance)


@pytest.mark.parametrize(("width", "depth", "feet"), [(1 / 4, 1 / 4, 308), (3 / 8, 1 / 4, 205), (1 / 2, 1 / 4, 154)])
def test_feet_per_gallon(width, depth, feet):
    # values from memory, printed in whole feet, cut off or rounded
    assert of_box(128, width, depth) == pytest.approx(feet, abs=1)


def test_what_is_bought_goes_by_it():
    # 19.452 ft of 1/4 in bead: 0.63 of a cartridge; a bead twice as thick takes four times as much
    thin, thick = (taken(rates={"bead_diameter_in": size})["items"]["sealant"]["net"] for size in (0.25, 0.5))
    assert thin == pytest.approx(19.452 / 30.944, rel=1e-4)
    assert thick == pytest.approx(4 * thin, rel=1e-5)
