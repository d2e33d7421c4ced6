"""Rules W1 to W4, T4 and T5: flow, leaders, shared lines, pieces, hangers and straps, each where a count changes."""

from __future__ import annotations

import pytest
from books import estimate, prices_with, taken

from baybook.problems import BookError
from baybook.takeoff.panels import pieces_of_line
from baybook.water.leaders import leader_capacity, leader_capacity_gpm

GPM = 7.480519 / 720  # W1: gpm of 1 in/h on 1 sq ft


def line(name="main", **changes):
    return next(one for one in estimate(**changes).takeoff.lines if one.name == name)


def pieces(sixteenths):
    return [length / 16 for length in sixteenths]


def extensions(job):
    return job["items"].get("outlet_extension", {"net": 0})["net"]


# ---------------------------------------------------------------------------------------------- W1, W2


@pytest.mark.parametrize(
    ("area", "rates", "square_feet"),
    [
        ({}, {}, 192),
        ({"wall_height": "8 ft"}, {}, 256),  # 192 + half of 8 * 16
        ({"wall_height": "8 ft", "wall_length": "10 ft"}, {}, 232),
        ({"wall_height": "8 ft"}, {"wall_share": 0.25}, 224),
        ({"wall_height": "8 ft"}, {"wall_share": 0}, 192),
        ({"wall_length": "10 ft"}, {}, 192),
        ({"roof_area": "50"}, {}, 242),  # a roof counts whole
        ({"wall_height": "8 ft", "roof_area": "50"}, {}, 306),
    ],
)
def test_w1_flow(area, rates, square_feet):
    assert line(area=area, rates=rates).flow_gpm == pytest.approx(5 * square_feet * GPM, rel=1e-12)


@pytest.mark.parametrize(("rain", "inches"), [("2.5 in/h", 2.5), ("127 mm/h", 5)])
def test_w1_rain(rain, inches):
    assert taken(job={"rainfall": rain})["flow_gpm"] == pytest.approx(inches * 192 * GPM, abs=1e-6)


def test_w2_a_capacity_names_its_method_and_edition():
    found = leader_capacity("2x3")
    assert "Wyly-Eaton" in found.method
    assert "2006" in found.edition


# ---------------------------------------------------------------------------------------------- W3


@pytest.mark.parametrize(("size", "gpm"), [("2x3", 22.6431), ("3x2", 22.6431), ("3x4", 66.7595)])
def test_w3_capacity_by_the_smaller_side(size, gpm):
    assert line(rates={"leader_size": size}).capacity_gpm == pytest.approx(gpm, rel=2e-6)


def test_w3_capacity_is_not_rounded():
    side = 2.0
    assert leader_capacity_gpm(side) == pytest.approx(27.8 * (7 / 24) ** (5 / 3) * side ** (8 / 3), rel=1e-12)


@pytest.mark.parametrize(
    ("capacity", "leaders"),
    [
        (10, 1),
        (9.974025, 1),  # the flow, 9.97402533, over it is 1 to six places
        (9.97, 2),
        (4.987013, 2),
        (4.987, 3),  # 2.000005
    ],
)
def test_w3_leaders_by_flow(capacity, leaders):
    assert line(rates={"leader_capacity_gpm": capacity}).leaders == leaders


@pytest.mark.parametrize(("width", "leaders"), [("50 ft", 1), ("600.0625 in", 2), ("100 ft", 2), ("100 ft 1 in", 3)])
def test_w3_leaders_by_spacing(width, leaders):
    # a level gutter has no reach to limit it; a light rain
    changes = {"rates": {"gutter_fall_in_per_ft": 0}, "job": {"rainfall": "0.5 in/h"}}
    assert line(area={"width": width}, **changes).leaders == leaders


@pytest.mark.parametrize(
    ("at", "width", "leaders", "run"),
    [
        ("end", "24 ft", 1, 24),  # as long as the reach
        ("end", "288.0625 in", 2, 288.0625 / 24),  # ceil(24.005/48) + 1; half the length between two
        ("end", "48 ft", 2, 24),
        ("end", "576.0625 in", 3, 576.0625 / 48),  # ceil(1.0001) + 1; a quarter
        ("middle", "24 ft", 1, 12),
        ("middle", "48 ft", 1, 24),
        ("middle", "576.0625 in", 2, 576.0625 / 48),
        ("middle", "96 ft", 2, 24),
    ],
)
def test_w3_leaders_by_reach_and_the_longest_run(at, width, leaders, run):
    rates = {"leader_spacing_ft": 200, "leader_size": "3x4"}
    found = line(area={"width": width, "leader_at": at}, rates=rates, job={"rainfall": "1 in/h"})
    assert (found.leaders, found.run_ft) == (leaders, pytest.approx(run, rel=1e-12))
    # T5 and the fall together: 98.75 - 0.5 - run/16 - 3.5 + 12
    assert found.leader_length_in == pytest.approx(106.75 - run / 16, rel=1e-12)


def two(one=None, other=None):
    """Return two areas on a shared line."""
    base = {"gutter_line": "front", "width": "8 ft"}
    return [base | {"area": "a"} | (one or {}), base | {"area": "b"} | (other or {})]


def test_w3_areas_of_a_line_must_agree_in_leader_at():
    with pytest.raises(BookError, match="gutter line front: its areas differ in leader_at"):
        taken(areas=two({"leader_at": "middle"}))


def test_w3_of_different_nozzle_reaches_the_least_counts():
    liners = [{"liner": "long", "nozzle_reach_in": 3.5}, {"liner": "short", "nozzle_reach_in": 2.5}]
    found = line("front", areas=two({"liner": "long"}, {"liner": "short"}), liners=liners)
    assert found.reach_ft == 16  # (2.5 - 0.5 - 1)/0.0625


# ---------------------------------------------------------------------------------------------- W4


def test_w4_an_area_has_its_own_line_as_long_as_its_width():
    lines = taken(areas=[{"area": "a"}, {"area": "b", "width": "10 ft"}])["gutter_lines"]
    assert {name: one["length_ft"] for name, one in lines.items()} == {"a": 16, "b": 10}


def test_w4_shared_lengths_and_flows_add_and_the_lowest_joists_carry_it():
    job = taken(areas=two({"height": "108 in"}, {"height": "107 in", "gutter_line": "FRONT"}))
    (name, found), *others = job["gutter_lines"].items()
    assert (name, others) == ("front", [])
    assert (found["length_ft"], found["joist_bottom_in"]) == (16, 97.75)
    assert found["flow_gpm"] == pytest.approx(5 * 2 * 96 * GPM, abs=1e-6)
    assert job["items"]["gutter_end_cap"]["net"] == 2


@pytest.mark.parametrize(
    ("step", "reach", "more"),
    [
        (0, 24, 0),
        (0.75, 12, 0),  # (1.5 - 0.75)/0.0625
        (1.4375, 1, 0),
        (1.5625, 24, 6),  # over n - g - 1 = 1.5: an extension for each of its 6 outlets, and the reach is the other's
        (6, 24, 6),
    ],
)
def test_w4_a_higher_area_shortens_the_reach_or_takes_an_extension(step, reach, more):
    areas = two({"height": f"{108 + step} in"})
    assert line("front", areas=areas).reach_ft == pytest.approx(reach, abs=1e-9)
    assert extensions(taken(areas=areas)) == more


def test_w4_joists_of_different_depth_count_by_their_bottoms():
    # tops level at 108: 2x10 bottoms at 98.75, 2x8 at 100.75; 2 higher than the line: an extension, though trimmed
    job = taken(areas=two({}, {"joist": "2x8"}))
    assert job["gutter_lines"]["front"]["joist_bottom_in"] == 98.75
    assert (extensions(job), job["areas"]["b"]["outlet_trim_in"]) == (6, 2)


def test_w4_its_extension_is_added_to_o1s():
    # 2x12 on an outlet made for 9.25: one each; the higher area one more
    areas = two({"joist": "2x12", "height": "112 in"}, {"joist": "2x12"})
    assert extensions(taken(areas=areas)) == 6 + 6 + 6


@pytest.mark.parametrize(("step", "good"), [(6, True), (6.0625, False)])
def test_w4_a_step_over_max_step_is_an_error(step, good):
    areas = two({"height": f"{108 + step} in"})
    if good:
        assert taken(areas=areas)["bays"] == 12
    else:
        with pytest.raises(BookError, match=r"gutter line front: .*differ by 6\.0625 in, more than 6 in"):
            taken(areas=areas)


@pytest.mark.parametrize(("top", "good"), [("2870.1 mm", True), ("2870.2 mm", False)])
def test_w4_a_metric_limit_is_compared_to_six_places(top, good):
    areas = two({"height": top}, {"height": "2743.2 mm"})
    rates = {"max_step_in": "126.9 mm"}
    if good:
        assert taken(areas=areas, rates=rates)["bays"] == 12
    else:
        with pytest.raises(BookError, match="gutter line front"):
            taken(areas=areas, rates=rates)


def test_w4_only_the_parts_at_the_gutter_side_share_a_line():
    beam = {"kind": "flush_beam", "y": "6 ft", "plies": 3, "area": "a"}
    assert list(taken(areas=two(), framing=[beam])["gutter_lines"]) == ["a/1", "front"]


# ---------------------------------------------------------------------------------------------- T4


@pytest.mark.parametrize(
    ("width", "expected"),
    [
        ("119 in", [119]),
        ("120 in", [120]),  # a stick
        ("120.0625 in", [120, 6]),  # a rest under 6 is made 6
        ("126 in", [120, 6]),
        ("126.0625 in", [120, 6.0625]),
        ("239.9375 in", [120, 119.9375]),
        ("240 in", [120, 120]),
        ("120.01 in", [120, 6]),  # up to a sixteenth
        ("130.01 in", [120, 10.0625]),
        ("120.00000003 in", [120]),  # 1,920.0000005 sixteenths are 1,920 to six places
    ],
)
def test_t4_whole_sticks_and_one_rest(width, expected):
    job = estimate(area={"width": width, "spacing": "12"})
    (found,) = job.takeoff.lines
    assert pieces(found.gutter_pieces) == expected
    joiners = next(need.net for need in job.takeoff.needs if need.item == "gutter_joiner")
    assert joiners == len(expected) - 1


def test_t4_a_rest_is_never_made_longer_than_a_stick():
    assert pieces(pieces_of_line(9 * 16, 4 * 16, 6)) == [4, 4, 4]


def test_t4_sticks_are_counted_in_whole_sixteenths_rounded_down():
    # a stick of 120.05 counts as 120, so a line of 120.0625 takes two pieces
    sticks = prices_with({"gutter": {"length": "120.05 in"}})
    assert pieces(line(area={"width": "120.0625 in"}, prices=sticks).gutter_pieces) == [120, 6]


def test_t4_a_whole_stick_is_what_its_end_trim_leaves():
    # else no stick could hold a piece as long as itself
    assert pieces(line(rates={"end_trim_in": 0.25}).gutter_pieces) == [119.75, 72.25]


def test_t4_the_least_rest_is_in_whole_sixteenths_rounded_up():
    assert pieces(line(area={"width": "120.5 in"}, rates={"min_rest_in": 6.01}).gutter_pieces) == [120, 6.0625]


def test_t4_the_longest_stick_on_offer_counts():
    sticks = prices_with({"gutter": {"length": "10 ft"}})
    more = [{**sticks[7], "sku": "long", "length": "16 ft"}, {**sticks[7], "sku": "old", "valid_to": "2026-06-14"}]
    more[1]["length"] = "20 ft"
    assert pieces(line(more_prices=more).gutter_pieces) == [192]


def test_t4_the_cut_plan_covers_all_lines():
    # two lines of 60 in: one stick of 120
    job = taken(areas=[{"area": name, "width": "60 in"} for name in "ab"])
    assert (job["items"]["gutter"]["net"], job["items"]["gutter"]["packs"]) == (2, 1)
    assert job["items"]["gutter_end_cap"]["net"] == 4


@pytest.mark.parametrize(
    ("fix", "hanger_spacing", "spacing", "step"),
    [
        ("joists", 24, 16, 16),  # floor(1.5) = 1 joist
        ("joists", 31.9375, 16, 16),
        ("joists", 32, 16, 32),  # every second joist
        ("joists", 24, 12, 24),
        ("joists", 12, 16, 16),  # never between joists
        ("nailer", 24, 16, 24),
        ("nailer", 18, 16, 18),
        ("joists", 38.4, 12.8, 38.4),  # 38.4/12.8 is 2.9999999999999996 in binary: 3
    ],
)
def test_t4_hanger_step(fix, hanger_spacing, spacing, step):
    changes = {"area": {"gutter_fix": fix, "spacing": spacing}, "rates": {"hanger_spacing_in": hanger_spacing}}
    assert line(**changes).hanger_step_in == pytest.approx(step, abs=1e-9)


@pytest.mark.parametrize(
    ("width", "fix", "hangers"),
    [
        ("192 in", "joists", 13),  # 192/16 + 1
        ("192.0625 in", "joists", 14),
        ("192.00000003 in", "joists", 13),
        ("192 in", "nailer", 9),  # 192/24 + 1
        ("191.9375 in", "nailer", 9),
        ("192.0625 in", "nailer", 10),
    ],
)
def test_t4_hangers(width, fix, hangers):
    assert line(area={"width": width, "gutter_fix": fix}).hangers == hangers


@pytest.mark.parametrize(
    ("one", "other", "hangers"),
    [
        ({"spacing": "12"}, {}, 13),  # steps 24 and 16: 192/16 + 1
        ({"spacing": "12"}, {"gutter_fix": "nailer"}, 9),  # 24 both
    ],
)
def test_t4_on_a_shared_line_the_smallest_step(one, other, hangers):
    assert line("front", areas=two(one, other)).hangers == hangers


@pytest.mark.parametrize(
    ("spacing", "warned"),
    [(36, False), (36.0625, True)],  # published: 36 in at most
)
def test_t4_hangers_too_far_apart_are_warned_of(spacing, warned):
    found = estimate(area={"gutter_fix": "nailer"}, rates={"hanger_spacing_in": spacing}).findings
    assert [(one.rule, one.failed) for one in found] == ([("T4", False)] if warned else [])


@pytest.mark.parametrize(("width", "warned"), [("40 ft", False), ("480.0625 in", True), ("480.00000049 in", False)])
def test_t4_over_the_longest_run_without_an_expansion_joint_it_warns(width, warned):
    found = estimate(area={"width": width}).findings
    assert [(one.rule, one.failed) for one in found] == ([("T4", False)] if warned else [])


def test_t4_end_caps_and_drops():
    job = taken(area={"width": "52 ft"}, rates={"end_caps_per_line": 1})
    assert [job["items"][item]["net"] for item in ("gutter_end_cap", "gutter_drop")] == [1, 3]  # 3 leaders


# ---------------------------------------------------------------------------------------------- T5


@pytest.mark.parametrize(
    ("height", "expected"),
    [
        # height - 9.25 - 0.5 - 1 - 3.5 + 12 = height - 2.25
        ("122.25 in", [120]),
        ("122.3125 in", [120, 6]),
        ("128.5 in", [120, 6.25]),
        ("15 in", [12.75]),
        ("2.3125 in", [6]),  # a sixteenth of an inch of leader is made 6
    ],
)
def test_t5_a_leader_is_pieced_like_a_gutter_without_joiners(height, expected):
    job = estimate(area={"height": height})
    (found,) = job.takeoff.lines
    assert pieces(found.leader_pieces) == expected
    assert next(need.net for need in job.takeoff.needs if need.item == "gutter_joiner") == 1  # the gutter's own


def test_t5_a_leader_is_cut_in_whole_sixteenths_rounded_up():
    # 14 ft 8 in: 98.75 - 0.5 - 14.6667/16 - 3.5 + 12 = 105.8333: 105 13.33/16
    assert pieces(line(area={"width": "14 ft 8 in"}).leader_pieces) == [105.875]


@pytest.mark.parametrize("height", ["2.25 in", "2 in"])
def test_t5_no_room_for_a_leader_is_an_error(height):
    with pytest.raises(BookError, match=r"gutter line main: .*no leader fits"):
        taken(area={"height": height})


@pytest.mark.parametrize(
    ("bottom", "straps"), [(59.9375, 2), (60, 3), (119.9375, 3), (120, 4), (119.99998, 4), (119.9999, 3)]
)
def test_t5_straps(bottom, straps):
    # the quotient is rounded to six places: 119.99998/60 is 2, 119.9999/60 is 1.999998
    assert line(area={"height": f"{bottom + 9.25:.6f} in"}).straps == straps


def test_t5_parts_of_every_leader():
    # 52 ft: 3 leaders; joist bottom 98.75/30: 3
    job = taken(area={"width": "52 ft"}, rates={"elbows_per_leader": 4, "straps_fixed": 3, "strap_spacing_in": 30})
    found = {item: job["items"][item]["net"] for item in ("elbow", "strap", "splash_block", "leader")}
    # leader 98.75 - 0.5 - 13/16 - 3.5 + 12 = 105.9375: one piece each
    assert found == {"elbow": 12, "strap": 3 * (3 + 3), "splash_block": 3, "leader": 3}


def test_t5_leader_extra_and_gutter_depth():
    found = line(rates={"leader_extra_in": 20, "gutter_depth_in": 5, "gutter_top_gap_in": 1})
    assert found.leader_length_in == 98.75 - 1 - 1 - 5 + 20
