"""What the trade does: practice, no source.

Each fact is one an installer would name; none has a published source here. The last test holds a code's figure against
the practice beside it.
"""

from __future__ import annotations

import pytest
from books import PRICE_ROWS, estimate, taken

from baybook.takeoff.panels import width_needed_in
from baybook.units import parse_fall


@pytest.mark.parametrize("width_ft", [8, 16, 20])
def test_one_outlet_a_bay(width_ft):
    # practice, no source
    main = taken(area={"width": f"{width_ft} ft"}, framing=[])["areas"]["main"]
    wide = sum(clear > 5 for clear in main["clear_widths_in"])
    assert main["outlets"] == wide


def test_4_in_is_trimmed_off_at_12_on_centre_on_the_flat():
    # practice, no source: liner made for joists 16 on centre, laid on joists 12 on centre, loses 16 - 12
    flat = {"drape_in": 0}
    exact = width_needed_in(14.5, 0, 1.5)
    assert exact == 17.5
    prices = [{**row, "width": f"{exact} in"} if row["item"] == "liner" else row for row in PRICE_ROWS]
    at_16, at_12 = (
        estimate(area={"spacing": spacing}, liner=flat, prices=prices).takeoff.parts[0].bays[5].trim_off_in
        for spacing in (16, 12)
    )
    assert (at_16, at_12) == (0, 4)


def test_half_way_down_the_bay_half_of_the_drape_and_a_2x8_under_a_2x10():
    # practice, no source: 4 in of drape, blocking at mid-span of a 2x10
    (row,) = estimate(framing=[{"kind": "blocking", "y": "72 in"}]).takeoff.blocking
    assert 9.25 - row.height_left_in == 2
    assert (row.height_left_in, row.lumber) == (7.25, "2x8")


def test_one_inch_of_nozzle_stands_in_the_gutter_to_the_last_bay():
    # practice, no source: at the low end of its longest run the gutter's top lies g + m * run below the joists, and the
    # nozzle reaches an inch past it
    job = estimate(area={"width": "24 ft"})
    (line,) = job.takeoff.lines
    rates, liner = job.inputs.rates, job.takeoff.parts[0].liner
    top_at_low_end = rates.gutter_top_gap_in + rates.gutter_fall_in_per_ft * line.run_ft
    assert liner.nozzle_reach_in - top_at_low_end == 1
    (longer,) = estimate(area={"width": "24 ft 1 in"}).takeoff.lines
    assert longer.leaders == line.leaders + 1


@pytest.mark.parametrize(("plies", "strips"), [(1, 1), (2, 1), (3, 2)])
def test_strips_of_4_in_tape_on_single_doubled_and_tripled_joists(plies, strips):
    # practice, no source
    joist = {"kind": "member", "x": "8 ft", "plies": plies}
    feet = taken(framing=[joist])["items"]["seam_tape"]["net"]
    assert feet == (12 + strips) * 12


def test_the_least_fall_is_the_quarter_inch_that_codes_print_as_2_percent():
    # practice beside the code's figure: 1/4 in/ft is 2.083 %, 2 % is 0.24 in/ft
    assert estimate().inputs.rates.min_fall_in_per_ft == parse_fall("1/4 in/ft", None) == 0.25
    assert parse_fall("2 %", None) == 0.24
