"""Metric decks exactly on a limit: no count may hang on the last digit of an inch.

A millimetre is no whole binary fraction of an inch; whatever is rounded on the way to a ceiling or a comparison can
move a count. The measures are worked out in millimetres, beside each check.
"""

from __future__ import annotations

import datetime as dt
import math

import pytest
from books import estimate

from baybook.takeoff.members import field_centres_in
from baybook.takeoff.panels import clear_run_in, cut_length_in
from baybook.units import parse_length
from baybook.workbook.build import make_workbook
from baybook.workbook.verify import verify_workbook


def mm(length: float) -> float:
    return parse_length(f"{length:g} mm", None)


@pytest.mark.parametrize("step", [5, 10, 25])
def test_p2_a_whole_number_of_steps_stays(step):
    # ledger and rim 38, lap 38, setback 75, trim 75: the cut length is the projection less 38
    for cut in range(1000, 7000, step):
        clear = clear_run_in(mm(cut + 38), mm(38), 1, mm(38))
        found = cut_length_in(clear, mm(38), mm(75), mm(75), mm(step))
        assert found == math.ceil(cut / 25.4 * 16) / 16, f"{cut} mm"


@pytest.mark.parametrize(("spacing", "ply"), [(300, 38), (400, 38), (406.4, 38.1), (450, 45), (600, 45)])
@pytest.mark.parametrize("layout", ["left", "right"])
def test_g2_a_joist_that_would_begin_at_the_end_is_not_there(spacing, ply, layout):
    # k * s < width - t/2 holds for k = 1 ... n-1 if the width is n * s + t/2
    for count in range(2, 80):
        width = count * spacing + ply / 2
        assert len(field_centres_in(mm(width), mm(ply), mm(spacing), layout)) == count - 1, f"{width} mm"


@pytest.mark.parametrize(("spacing", "ply"), [(350, 38), (400, 45)])
def test_g2_even_spaces_that_are_the_spacing(spacing, ply):
    for count in range(2, 80):
        assert len(field_centres_in(mm(count * spacing + ply), mm(ply), mm(spacing), "even")) == count - 1


def line(width_mm: float, fall: str, **liner):
    """The one gutter line of a metric deck whose nozzle has 30 mm left for the fall: 65 - 10 - 25."""
    rates = {
        "units": "metric",
        "gutter_fall_in_per_ft": fall,
        "gutter_top_gap_in": "10 mm",
        "nozzle_in_gutter_in": "25 mm",
    }
    area = {"width": f"{width_mm} mm", "projection": "3 m", "spacing": "400 mm", "height": "2.7 m"}
    return estimate(rates=rates, area=area, liner={"nozzle_reach_in": "65 mm", **liner}).takeoff.lines[0]


@pytest.mark.parametrize("width", [3000, 4000, 6000, 7500, 10_000])
def test_w3_a_line_as_long_as_its_reach_has_one_leader(width):
    # 30 mm over the width: 5 mm/m reaches exactly 6 m
    assert line(width, f"{30 / width * 1000!r} mm/m").leaders == 1
    assert line(width, f"{30 / (width - 1) * 1000!r} mm/m").leaders == 2


def test_w4_a_rise_that_takes_all_that_is_left_takes_an_extension():
    def extensions(rise):
        area = {"projection": "3 m", "spacing": "400 mm", "width": "4 m", "gutter_line": "both", "joist": "235 mm"}
        areas = [{**area, "area": "low", "height": "2735 mm"}, {**area, "area": "high", "height": f"{2735 + rise} mm"}]
        rates = {"units": "metric", "gutter_top_gap_in": "10 mm", "nozzle_in_gutter_in": "25 mm"}
        made = estimate(areas=areas, rates=rates, liner={"nozzle_reach_in": "65 mm", "outlet_made_for_in": "235 mm"})
        return next(need.net for need in made.takeoff.needs if need.item == "outlet_extension")

    assert (extensions(29.9), extensions(30)) == (0, 10)  # ten bays of the higher area


@pytest.mark.parametrize("rates", [{}, {"units": "metric"}])
def test_a_workbook_that_nobody_touched_says_the_same_read_back(rates, tmp_path):
    # 11.111 m is 437.440944881890 in: what is lost of it on the way back shows in areas of hundreds of square feet
    made = estimate(
        area={"width": "11.111 m", "projection": "3.333 m", "spacing": "400 mm", "height": "2.7 m"}, rates=rates
    )
    when = dt.datetime(2026, 6, 15)  # noqa: DTZ001  a workbook's clock has no zone
    path = tmp_path / "deck.xlsx"
    path.write_bytes(make_workbook(made, when).data)
    assert verify_workbook(path, when).differences == ()
