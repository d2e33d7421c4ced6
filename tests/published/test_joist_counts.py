"""Joist counts: the length over the spacing, rounded up, plus one.

A Builders' Guide in the public domain (read in a copy): 32 ft takes 33 joists at 12 in and 25 at 16 in on centre.
The 13 joists of 16 ft at 16 in are printed likewise (read).
"""

from __future__ import annotations

import math

import pytest
from books import PRICE_ROWS, deck, inputs_of

from baybook.estimate import build_estimate
from baybook.takeoff.members import field_centres_in


def members(width_ft, spacing):
    prices = [{**row, "width": "40 in"} if row["item"] == "liner" else row for row in PRICE_ROWS]
    area = {"width": f"{width_ft} ft", "spacing": spacing}
    job = build_estimate(inputs_of(deck(area=area, liner={"made_for_in": 24}, prices=prices)))
    return len(job.takeoff.areas[0].members)


@pytest.mark.parametrize(("width_ft", "spacing", "joists"), [(32, 12, 33), (32, 16, 25), (16, 16, 13)])
def test_printed_counts(width_ft, spacing, joists):
    assert members(width_ft, spacing) == joists


@pytest.mark.parametrize("spacing", [12, 16, 24])
@pytest.mark.parametrize("spaces", [2, 3, 6, 12, 15])
def test_the_printed_rule_where_the_spacing_divides_the_width(spacing, spaces):
    width = spaces * spacing
    assert math.ceil(width / spacing) + 1 == members(width / 12, spacing)


@pytest.mark.parametrize("spacing", [12, 16, 24])
def test_between_such_widths_the_rule_differs_only_where_half_a_joist_makes_it(spacing):
    # The rule measures between centres, a deck is as wide as its outer faces: our field joists with the two end joists
    # are the same number but for widths up to 0.75 over a multiple, where the rule sets one that has no room.
    for sixteenths in range(5 * spacing * 16, 9 * spacing * 16):
        width = sixteenths / 16
        ours = len(field_centres_in(width, 1.5, spacing, "left")) + 2
        over = width % spacing
        assert math.ceil(width / spacing) + 1 - ours == (1 if 0 < over <= 0.75 else 0)
