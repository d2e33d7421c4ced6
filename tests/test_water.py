"""Edges of the water rules: every range refused with argument, value and limit; ceilings free of binary noise."""

from __future__ import annotations

import doctest
import importlib
import math
import pkgutil
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

import baybook.data
import baybook.water
from baybook import water
from baybook.problems import BookError, OutOfRange

ATLAS = Path(__file__).parent / "published" / "atlas14_39N_105W.csv"
MODULES = ["baybook.data", *(f"baybook.water.{found.name}" for found in pkgutil.iter_modules(baybook.water.__path__))]


@pytest.mark.parametrize("name", MODULES)
def test_docstring_examples_run(name):
    assert doctest.testmod(importlib.import_module(name)).failed == 0


BOX = water.box(5.0, 4.0)
ROWS = [water.AdoptedRow("5 in", 52.0, 0.0625), water.AdoptedRow("5 in", 74.0, 0.125)]
NAN = float("nan")

OUTSIDE = [
    (lambda: water.flow_gpm(-0.1, 10.0), "rain_in_per_h is -0.1", "at least 0"),
    (lambda: water.flow_gpm(NAN, 10.0), "rain_in_per_h is nan", "at least 0"),
    (lambda: water.flow_gpm(1.0, math.inf), "area_sq_ft is inf", "at least 0"),
    (lambda: water.catchment_sq_ft(-1.0), "plan_sq_ft is -1", "at least 0"),
    (lambda: water.catchment_sq_ft(1.0, 50.0, 8.0, 8.0), "wall_share is 50", "0 to 1"),
    (lambda: water.catchment_sq_ft(1.0, 0.5, -8.0, 8.0), "wall_height_ft is -8", "at least 0"),
    (lambda: water.catchment_sq_ft(1.0, 0.5, 8.0, -8.0), "wall_length_ft is -8", "at least 0"),
    (lambda: water.catchment_sq_ft(1.0, roof_sq_ft=-8.0), "roof_sq_ft is -8", "at least 0"),
    (lambda: water.area_at_rain_sq_ft(100.0, 0.0), "rain_in_per_h is 0", "at least 0.01 in/h"),
    (lambda: water.leader_capacity_gpm(1.99), "side_in is 1.99", "2 to 12 in"),
    (lambda: water.leader_capacity_gpm(12.01), "side_in is 12.01", "2 to 12 in"),
    (lambda: water.leader_capacity("1-1/2x2-1/2"), "side_in is 1.5", "leader_capacity_gpm from the adopted code"),
    (lambda: water.leader_side_in("big"), "leader_size is 'big'", "2x3 or 3x4"),
    (lambda: water.leaders_by_flow(-1.0, 20.0), "flow_gpm is -1", "at least 0"),
    (lambda: water.leaders_by_flow(1.0, 0.0), "capacity_gpm is 0", "over 0 gpm"),
    (lambda: water.leaders_by_spacing(0.0, 50.0), "length_ft is 0", "over 0 ft"),
    (lambda: water.leaders_by_spacing(10.0, 0.0), "leader_spacing_ft is 0", "over 0 ft"),
    (lambda: water.leaders_by_reach(10.0, 0.0, "end"), "reach_ft is 0", "over 0 ft"),
    (lambda: water.leaders_by_reach(10.0, -math.inf, "end"), "reach_ft is -inf", "over 0 ft"),
    (lambda: water.leaders_by_reach(10.0, 9.0, "both"), "leader_at is 'both'", "end or middle"),
    (lambda: water.longest_run_ft(10.0, 0, "end"), "leaders is 0", "at least 1"),
    (lambda: water.longest_run_ft(10.0, 1, "ends"), "leader_at is 'ends'", "end or middle"),
    (lambda: water.reach_ft(1.5, 0.5, 1.0, 0.0625), "nozzle_reach_in is 1.5", "over 1.5 in"),
    (lambda: water.reach_ft(3.0, 0.5, 1.0, -0.1), "gutter_fall_in_per_ft is -0.1", "at least 0"),
    (lambda: water.reach_ft(3.0, 0.5, 1.0, 0.0625, 1.5), "step_in is 1.5", "under 1.5 in"),
    (lambda: water.leader_length_in(10.0, 0.5, 0.0625, 96.0, 3.5, 0.0), "joist_bottom_in is 10", "takes 10 in"),
    (lambda: water.straps_per_leader(90.0, 0.0), "strap_spacing_in is 0", "over 0 in"),
    (lambda: water.manning_flow_gpm(0.0, 1.0, 0.1, 0.01), "area_sq_in is 0", "over 0 sq in"),
    (lambda: water.manning_flow_gpm(1.0, 0.0, 0.1, 0.01), "wetted_in is 0", "over 0 in"),
    (lambda: water.manning_flow_gpm(1.0, 1.0, 0.0, 0.01), "fall_in_per_ft is 0", "level"),
    (lambda: water.manning_flow_gpm(1.0, 1.0, -0.2, 0.01), "fall_in_per_ft is -0.2", "over 0"),
    (lambda: water.manning_flow_gpm(1.0, 1.0, 1.21, 0.01), "fall_in_per_ft is 1.21", "0 to 1.2 in/ft"),
    (lambda: water.manning_flow_gpm(1.0, 1.0, 0.1, 0.007), "roughness_n is 0.007", "0.008 to 0.2"),
    (lambda: water.manning_flow_gpm(1.0, 1.0, 0.1, 0.21), "roughness_n is 0.21", "0.008 to 0.2"),
    (lambda: water.roughness_n("glass"), "material is 'glass'", "pvc, hdpe, smooth metal"),
    (lambda: water.bay_capacity(14.5, 0.0, 0.1, 0.01), "depth_in is 0", "over 0 in"),
    (lambda: water.Trapezoid(4.0, 3.0, 3.0), "top_in is 3", "at least 4 in"),
    (lambda: water.Trapezoid(-1.0, 3.0, 3.0), "bottom_in is -1", "at least 0"),
    (lambda: water.HalfRound(0.0), "width_in is 0", "over 0 in"),
    (lambda: BOX.section(4.01), "water_in is 4.01", "0 to 4 in"),
    (lambda: water.HalfRound(5.0).section(2.6), "water_in is 2.6", "0 to 2.5 in"),
    (lambda: water.gutter_capacity(BOX, 0.1, 0.012, 4.0), "water_in is 0", "freeboard takes the whole gutter"),
    (lambda: water.gutter_capacity(BOX, 0.1, 0.012, -0.1), "freeboard_in is -0.1", "0 to 4 in"),
    (lambda: water.v_depth_in(0.0, 2.0, 0.1, 0.01), "flow_gpm is 0", "over 0 gpm"),
    (lambda: water.v_depth_in(1.0, 0.0, 0.1, 0.01), "side_slope is 0", "over 0"),
    (lambda: water.weir_flow_gpm(10.0, 1.0, 1.84), "coefficient is 1.84", "2.3 to 3.4"),
    (lambda: water.weir_flow_gpm(10.0, 0.0), "head_in is 0", "over 0 in"),
    (lambda: water.orifice_flow_gpm(6.0, 1.0, 1.01), "coefficient is 1.01", "0.4 to 1"),
    (lambda: water.round_opening(0.0), "diameter_in is 0", "over 0 in"),
    (lambda: water.en_length_factor(66.7, 4.0), "run_ft is 66.7", "0 to 66.6667 ft"),
    (lambda: water.en_corner_factor(-1.0), "corner_ft is -1", "at least 0"),
    (lambda: water.en_gutter_capacity(8.0, "round", 10.0, 4.0), "shape is 'round'", "half-round or rectangular"),
    (lambda: water.en_gutter_capacity(8.0, "half-round", 10.0, 4.0, None, 1.1), "shape_factor is 1.1", "0 to 1"),
    (lambda: water.en_outlet_capacity(0.0, 1.0), "diameter_in is 0", "over 0 in"),
    (lambda: water.box_gutter_width_in(9.3, 1600.0, 40.0, 0.0), "depth_ratio is 0", "over 0"),
    (lambda: water.downspout_area_sq_in(-1.0, 10.0), "rain_in_per_h is -1", "at least 0"),
    (lambda: water.adopted_capacity(ROWS, "7 in", "Code", "2018", 0.1), "size is '7 in'", "Code 2018"),
    (lambda: water.adopted_capacity(ROWS, "5 in", "Code", "2018", 0.06), "fall_in_per_ft is 0.06", "0.0625, 0.125"),
    (lambda: water.adopted_capacity(ROWS, "5 in", "Code", "2018"), "fall_in_per_ft is not given", "0.0625, 0.125"),
    (lambda: water.adopted_capacity(ROWS, "5 in", "Code", " ", 0.1), "no edition", "name both"),
    (lambda: water.adopted_capacity([water.AdoptedRow("3", 0.0)], "3", "Code", "2018"), "value_gpm is 0", "over 0"),
    (lambda: water.leader_capacity("2x3").ratio(-1.0), "flow_gpm is -1", "at least 0"),
    (lambda: water.thermal_movement_in(10.0, 251.0, "copper"), "swing_f is 251", "0 to 250 deg F"),
    (lambda: water.thermal_movement_in(10.0, 100.0, "lead"), "material is 'lead'", "aluminium, copper"),
    (lambda: water.expansion_joints(10.0, 0.0), "expansion_joint_ft is 0", "over 0 ft"),
    (lambda: water.parse_atlas14(ATLAS.read_text(), "r.csv").intensity(7, 10), "duration_min is 7", "5, 10, 15"),
    (lambda: water.parse_atlas14(ATLAS.read_text(), "r.csv").intensity(5, 20), "ari_years is 20", "1, 2, 5, 10"),
]


@pytest.mark.parametrize(("call", "read", "limit"), OUTSIDE, ids=[row[1] for row in OUTSIDE])
def test_refused_with_argument_value_and_limit(call, read, limit):
    with pytest.raises(OutOfRange) as refused:
        call()
    sentence = str(refused.value)
    assert read in sentence
    assert limit in sentence
    assert "\n" not in sentence


@pytest.mark.parametrize(
    ("size", "side"),
    [
        ("2x3", 2.0),
        ("3X4", 3.0),
        ("4 × 3", 3.0),
        ("3", 3.0),
        ('2"x3"', 2.0),
        ("2in x 3in", 2.0),
        ("2-3/8 x 2-3/4", 2.375),
        ("2 3/8x2 3/4", 2.375),
        ("2.5", 2.5),
        (" 10x12 ", 10.0),
    ],
)
def test_leader_sizes(size, side):
    assert water.leader_side_in(size) == side


@pytest.mark.parametrize("size", ["", "x", "2x", "x3", "2x3x4", "-2x3", "0x3", "2/0", "2-1/0x3", "2*3", "1e3", "nan"])
def test_leader_sizes_refused(size):
    with pytest.raises(OutOfRange, match="leader_size"):
        water.leader_side_in(size)


def test_leaders_of_the_deck_worked_by_hand():
    flow = water.flow_gpm(5.0, water.catchment_sq_ft(16.0 * 12.0))
    assert round(flow, 3) == 9.974
    reach = water.reach_ft(3.0, 0.5, 1.0, 0.0625)
    assert reach == 24.0
    leaders = water.leaders_needed(
        flow, water.leader_capacity_gpm(water.leader_side_in("2x3")), 16.0, 50.0, reach, "end"
    )
    assert leaders == 1
    run = water.longest_run_ft(16.0, leaders, "end")
    assert run == 16.0
    assert water.leader_length_in(98.75, 0.5, 0.0625, run, 3.5, 12.0) == 105.75
    assert water.straps_per_leader(98.75, 60.0, 2) == 3


# length, reach -> leaders at the ends, in the middle: W3 by hand
@pytest.mark.parametrize(
    ("length", "reach", "end", "middle"),
    [
        (24.0, 24.0, 1, 1),  # as long as the reach
        (24.000001, 24.0, 2, 1),
        (24.0000001, 24.0, 1, 1),  # noise under the sixth place
        (48.0, 24.0, 2, 1),
        (48.01, 24.0, 3, 2),
        (96.0, 24.0, 3, 2),
        (100.0, math.inf, 1, 1),
        (0.1 * 3, 0.05, 4, 3),  # 0.30000000000000004/0.1 = 3.0000000000000004
    ],
)
def test_leaders_by_reach(length, reach, end, middle):
    assert water.leaders_by_reach(length, reach, "end") == end
    assert water.leaders_by_reach(length, reach, "middle") == middle


def test_each_reason_can_decide():
    base = {"flow_gpm": 1.0, "capacity_gpm": 20.0, "length_ft": 40.0, "leader_spacing_ft": 50.0, "reach_ft": math.inf}
    assert water.leaders_needed(**base, leader_at="end") == 1
    assert water.leaders_needed(**base | {"flow_gpm": 60.1}, leader_at="end") == 4
    assert water.leaders_needed(**base | {"leader_spacing_ft": 20.0}, leader_at="end") == 2
    assert water.leaders_needed(**base | {"reach_ft": 9.0}, leader_at="end") == 4
    assert water.leaders_needed(**base | {"reach_ft": 9.0}, leader_at="middle") == 3
    assert water.leaders_needed(**base | {"flow_gpm": 0.0}, leader_at="end") == 1


def test_noise_moves_no_count():
    assert water.leaders_by_flow(0.1 * 3 * 10, 1.0) == 3  # 3.0000000000000004
    assert water.leaders_by_spacing(0.1 * 3 * 10, 1.0) == 3
    assert water.expansion_joints(0.1 * 3 * 10, 1.0) == 2
    assert water.straps_per_leader(0.3 / 0.1 * 60, 60.0) == 5  # 0.3/0.1 = 2.9999999999999996
    assert not water.nozzle_touches_bottom(0.1 + 0.2, 0.0, 0.3, 0.0)
    assert water.Capacity(0.3, "", "").carries(0.1 + 0.2)


@given(
    length=st.floats(0.5, 400),
    reach=st.floats(0.5, 100),
    at=st.sampled_from(water.LEADER_PLACES),
)
def test_no_run_is_longer_than_the_reach_and_one_leader_fewer_would_be(length, reach, at):
    leaders = water.leaders_by_reach(length, reach, at)
    tolerance = 1 + 1e-5
    assert water.longest_run_ft(length, leaders, at) <= reach * tolerance
    if leaders > 1:
        assert water.longest_run_ft(length, leaders - 1, at) * tolerance > reach


@given(reach=st.floats(1.6, 9), gap=st.floats(0, 0.5), fall=st.floats(0.01, 0.5))
def test_nozzle_stands_in_the_gutter_all_along_its_reach(reach, gap, fall):
    run = water.reach_ft(reach, gap, 1.0, fall)
    assert reach - gap - run * fall == pytest.approx(1.0, abs=2e-6)


def test_leader_just_fits():
    assert water.leader_length_in(10.0, 0.5, 0.0625, 80.0, 4.0, 0.0) == 0.5
    assert water.leader_length_in(10.0, 0.5, 0.0625, 88.0, 4.0, 0.0, 60.0) == 60.0
    with pytest.raises(OutOfRange, match="no leader fits"):
        water.leader_length_in(10.0, 0.5, 0.0625, 88.0, 4.0, 0.0)


def test_reach_with_a_step():
    assert water.reach_ft(3.0, 0.5, 1.0, 0.0625, 0.5) == 16.0
    assert water.reach_ft(3.0, 0.5, 1.0, 0.0) == math.inf
    assert water.reach_ft(3.0, 0.5, 1.0, 0.0, 1.5) == math.inf  # level, and the nozzle still stands 1 in deep
    with pytest.raises(OutOfRange, match=r"step_in is 1\.51; it must be under 1\.5 in"):
        water.reach_ft(3.0, 0.5, 1.0, 0.0, 1.51)
    with pytest.raises(OutOfRange, match="nozzle_reach_in"):
        water.reach_ft(0.1 + 0.2, 0.3, 0.0, 0.0625)  # over by noise only


@given(
    bottom=st.floats(0, 6),
    more=st.floats(0.5, 6),
    deep=st.floats(1, 6),
    fall=st.floats(0.01, 0.5),
    free=st.floats(0, 0.5),
)
def test_more_freeboard_less_flow_more_fall_more_flow(bottom, more, deep, fall, free):
    gutter = water.Trapezoid(bottom, bottom + more, deep)
    value = water.gutter_capacity(gutter, fall, 0.012, free).value_gpm
    assert water.gutter_capacity(gutter, fall, 0.012, free + 0.1).value_gpm < value
    assert water.gutter_capacity(gutter, fall * 4 if fall <= 0.25 else fall, 0.012, free).value_gpm >= value
    assert water.gutter_capacity(gutter, fall, 0.013, free).value_gpm < value


@given(flow=st.floats(0.1, 500), slope=st.floats(0.5, 10), fall=st.floats(0.01, 1.0))
def test_depth_of_a_v_carries_its_flow(flow, slope, fall):
    depth = water.v_depth_in(flow, slope, fall, 0.010)
    assert water.bay_capacity(2 * slope * depth, depth, fall, 0.010).value_gpm == pytest.approx(flow, rel=1e-9)


def test_a_bay_carries_little_of_what_it_could():
    # 16 in o.c. x 12 ft at 6 in/h: 1.0 gpm of 79.8
    flow = water.flow_gpm(6.0, 16 / 12 * 12)
    assert round(flow, 1) == 1.0
    assert water.bay_capacity(14.5, 1.5, 0.125, 0.010).ratio(flow) < 0.02


def test_every_capacity_names_method_edition_and_note():
    for capacity in (
        water.bay_capacity(14.5, 1.5, 0.125, 0.010),
        water.gutter_capacity(water.gutter_profiles()["K-style 5 in"], 0.0625, 0.012, 0.5),
        water.opening_capacity(*water.round_opening(2.0), 0.5),
        water.en_gutter_capacity(8.0, "half-round", 30.0, 2.5),
        water.en_outlet_capacity(2.5, 1.0),
        water.leader_capacity("2x3"),
        water.adopted_capacity(ROWS, "5 in", "Code", "2018", 0.125),
    ):
        assert capacity.value_gpm > 0
        assert capacity.method
        assert capacity.edition
        assert capacity.note


def test_profiles():
    profiles = water.gutter_profiles()
    assert list(profiles) == ["K-style 5 in", "K-style 6 in", "half-round 5 in", "half-round 6 in"]
    small, large = profiles["K-style 5 in"], profiles["K-style 6 in"]
    assert isinstance(small, water.Trapezoid)
    assert small.upright_back
    at = [water.gutter_capacity(profile, 0.0625, 0.012, 0.5) for profile in (small, large)]
    assert at[0].value_gpm < at[1].value_gpm


def test_half_round_full_is_half_a_circle():
    assert water.HalfRound(6.0).section(3.0) == pytest.approx((math.pi * 9 / 2, math.pi * 3))


def test_openings():
    assert water.round_opening(2.0) == pytest.approx((2 * math.pi, math.pi))
    assert water.rectangular_opening(2.0, 3.0) == (10.0, 6.0)


def test_small_parts_and_typed_factors():
    level = water.en_gutter_capacity(8.0, "rectangular", 10.0, 4.0).value_gpm
    assert water.en_gutter_capacity(8.0, "rectangular", 10.0, 4.0, None, 0.9).value_gpm == pytest.approx(0.9 * level)
    assert water.orifice_flow_gpm(0.5, 0.25) == pytest.approx(water.orifice_flow_gpm(6.0, 1.0) / 24)
    assert water.box_gutter_width_in(0.5, 0.5, 0.5, 0.5) > 0
    assert water.downspout_area_sq_in(0.0, 0.5) == 0
    assert water.area_at_rain_sq_ft(0.5, 0.5) == 1.0


def test_adopted_table_takes_the_flatter_row_and_the_least_size_that_passes():
    assert water.adopted_capacity(ROWS, "5 in", "Code", "2018", 0.0625).value_gpm == 52.0
    assert water.adopted_capacity(ROWS, "5 in", "Code", "2018", 0.1249).value_gpm == 52.0
    assert water.adopted_capacity(ROWS, " 5 IN", "Code", "2018", 0.1 + 0.025).value_gpm == 74.0
    assert water.adopted_capacity(ROWS, "5 in", "Code", "2018", 2.0).value_gpm == 74.0
    leaders = [water.AdoptedRow("3", 92.0), water.AdoptedRow("4", 192.0)]
    typed = {row.size: water.adopted_capacity(leaders, row.size, "Code", "2018") for row in leaders}
    assert water.least_that_carries(typed, 92.0) == "3"
    assert water.least_that_carries(typed, 92.1) == "4"
    assert water.least_that_carries(typed, 192.1) is None


def test_cities_and_states_without_estimates():
    assert water.suggestions("tx") == ()
    assert [row.place for row in water.suggestions("AL")] == ["Birmingham", "Mobile"]
    for state in ("ID", "MT", "OR", "WA", "WY", "idaho", " Wyoming "):
        assert "type the intensity" in water.no_coverage(state)
    assert water.no_coverage("CO") == ""
    assert "Oregon" in water.no_coverage("or")


def atlas(*changes):
    text = ATLAS.read_text(encoding="utf-8")
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    return text


@pytest.mark.parametrize(
    ("text", "line", "words"),
    [
        ("", 1, "no NOAA Atlas 14 file"),
        ("sku,price\n1,2\n", 1, "no NOAA Atlas 14 file"),
        ("\x00" * 100, 1, "no NOAA Atlas 14 file"),
        (atlas(("(inches/hour)", "(furlongs/hour)")), 1, "first line must be"),
        (atlas(("(inches/hour)", "(inches)")), 3, "speaks of depth, this line of 'Precipitation intensity'"),
        (
            atlas(("(inches/hour)", "(inches)"), ("Precipitation intensity", "Precipitation depth")),
            0,
            "speaks of depth, but the 1-year values do not grow",
        ),
        (atlas(("NOAA Atlas 14 Volume 8 Version 2", "Volume 8")), 0, "no line names the NOAA Atlas 14 volume"),
        (atlas(("Latitude: 39.0", "Latitude: 90.1")), 8, "is no latitude"),
        (atlas(("Longitude: -105.0 Degree", "Longitude: west")), 9, "'west' is no longitude"),
        (atlas(("by duration for ARI (years):", "by duration")), 0, "no line begins"),
        (atlas((" 1,2,5,10,25", " 1,2,5,25,10")), 14, "rising"),
        (atlas((" 1,2,5,10,25", " 1,2,5,ten,25")), 14, "rising"),
        (atlas(("1.12,1.36,", "1.12,")), 18, "10 numbers over 0"),
        (atlas(("1.12,1.36,", "1.12,-1.36,")), 18, "10 numbers over 0"),
        (atlas(("1.12,1.36,", "1.12,-,")), 18, "10 numbers over 0"),
        (atlas(("1.12,1.36,", "1.12,nan,")), 18, "10 numbers over 0"),
        (atlas(("1.12,1.36,", "0,1.36,")), 18, "10 numbers over 0"),
        (atlas(("5-min:, 2.87", "0-min:, 2.87")), 15, "10 numbers over 0"),
        (atlas((" 1,2,5,10,25", " 0,2,5,10,25")), 14, "rising"),
        (atlas(("10-min:", "5-min:")), 16, "stands twice"),
        (atlas(("1.12,1.36,", "1.36,1.12,")), 0, "30-minute values do not grow with the interval"),
        (atlas(("-min:", "-mon:"), ("-hr:", "-mon:")), 14, "no row such as"),
    ],
)
def test_rain_files_refused_with_line_and_cure(text, line, words):
    with pytest.raises(BookError) as refused:
        water.parse_atlas14(text, "rain.csv")
    problem = refused.value.problems[0]
    assert (problem.source, problem.line) == ("rain.csv", line)
    assert words in problem.message


def test_all_problems_of_a_rain_file_come_at_once():
    text = atlas(("Latitude: 39.0 Degree", "Latitude:"), ("1.12,1.36,", "1.12,"), ("2-hr:, 0.410,", "2-hr:, "))
    with pytest.raises(BookError) as refused:
        water.parse_atlas14(text)
    assert [problem.line for problem in refused.value.problems] == [8, 18, 20]


def test_a_place_that_is_not_covered():
    # what the server sends for such a place, quoted by another
    with pytest.raises(BookError, match=r"does not cover this place .*Oregon.* type the intensity"):
        water.parse_atlas14(
            "result = 'none';\nErrorMsg = 'Error 3.0: Selected location is not within a project area';\n"
        )


def test_annual_maximum_file():
    # its header writes chances with a leading apostrophe, quoted by another: '1/10 is 10 years, not 110
    text = atlas(
        ("ARI (years):, 1,2,5,10,25", "AEP:, '1/1,'1/2,'1/5,'1/10,'1/25"), ("Partial duration", "Annual maximum")
    )
    for years in (50, 100, 200, 500, 1000):
        text = text.replace(f",{years}\n", f",'1/{years}\n").replace(f",{years},", f",'1/{years},", 1)
    rain = water.parse_atlas14(text)
    assert rain.aris_years == (1, 2, 5, 10, 25, 50, 100, 200, 500, 1000)
    assert rain.series == "Annual maximum"
    assert rain.intensity(5, 10) == 5.52


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_line_ends_mark_and_trailing_commas(end):
    lines = ATLAS.read_text(encoding="utf-8").split("\n")
    text = "\ufeff" + end.join(f"{line},,," if line else line for line in lines)
    rain = water.parse_atlas14(text)
    assert rain.values == water.parse_atlas14(ATLAS.read_text(encoding="utf-8")).values
    assert rain.volume == "NOAA Atlas 14 Volume 8 Version 2"
    assert rain.latitude == 39.0


def test_only_the_first_table_of_a_file_counts():
    # a download with confidence limits holds further tables below
    text = atlas() + "\nUPPER LIMITS\nby duration for ARI (years):, 1,2\n5-min:, 99,99\n"
    assert water.parse_atlas14(text).intensity(5, 10) == 5.52


@given(st.lists(st.sampled_from(atlas().splitlines()) | st.text(max_size=40), max_size=30))
def test_no_text_breaks_the_reader(lines):
    try:
        rain = water.parse_atlas14("\n".join(lines))
    except BookError:  # the only error it may raise
        return
    assert rain.values
    assert all(value > 0 for value in rain.values.values())


def test_published_tables_are_read_once_and_unknown_ones_refused():
    assert baybook.data.table("roughness") is baybook.data.table("roughness")
    with pytest.raises(FileNotFoundError):
        baybook.data.table("nothing")
