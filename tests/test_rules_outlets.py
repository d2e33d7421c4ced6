"""Rules O1 to O3: bay outlets, blocking and the nozzle in the gutter, each at the value where a count changes."""

from __future__ import annotations

import pytest
from books import estimate, taken

from baybook.problems import BookError
from baybook.takeoff.outlets import eighths_down_in


def member(x, plies=1):
    return {"kind": "member", "x": f"{x} in", "plies": plies}


def extensions(job):
    return job["items"].get("outlet_extension", {"net": 0})["net"]


# ---------------------------------------------------------------------------------------------- O1


@pytest.mark.parametrize(
    ("joist", "trim", "more"),
    [
        ("2x6", 3.75, 0),
        ("2x8", 2, 0),
        ("9.1875 in", 0.0625, 0),
        ("2x10", 0, 0),  # what the outlet is made for
        ("9.25000049 in", 0, 0),  # still, to six places
        ("9.3125 in", 0, 12),  # deeper by 1/16: an extension an outlet
        ("2x12", 0, 12),
    ],
)
def test_o1_shallower_joists_trim_the_outlet_deeper_ones_extend_it(joist, trim, more):
    job = taken(area={"joist": joist})
    assert (job["areas"]["main"]["outlet_trim_in"], extensions(job)) == (trim, more)


def test_o1_only_draining_bays_take_an_extension():
    assert extensions(taken(area={"joist": "2x12"}, framing=[member(22.5)])) == 12  # 13 bays, one capped


@pytest.mark.parametrize(
    ("x", "narrow"),
    [
        (27.5, 0),  # a bay of 26.75 - 16.75 = 10
        (27.4375, 1),  # 9.9375
        (27.49999951, 0),  # 9.99999951 is 10 to six places
        (22.5625, 2),  # 5.0625, and 31.25 - 23.3125 = 7.9375 beyond
        (22.5, 1),  # 5 is capped and has no outlet; 8 beyond
    ],
)
def test_o1_a_bay_under_outlet_min_bay_has_its_outlet_cut_narrower(x, narrow):
    job = taken(framing=[member(x)])
    assert job["hours"]["narrow_outlet"] == pytest.approx(0.15 * narrow)
    expected = [f"main: bay outlets cut narrower: {narrow} (O1)"] if narrow else []
    assert [text for text in job["warnings"] if "(O1)" in text] == expected


# ---------------------------------------------------------------------------------------------- O2


def blocking(y, area=None, framing=(), **changes):
    (row,) = estimate(area=area or {}, framing=[*framing, {"kind": "blocking", "y": y}], **changes).takeoff.blocking
    return row


@pytest.mark.parametrize(
    ("area", "y", "left", "shown", "lumber"),
    [
        ({}, "72 in", 7.25, 7.25, "2x8"),  # half-way, half the drape: 9.25 - 4 * 70.5/141
        ({}, "72.0625 in", 9.25 - 4 * 70.5625 / 141, 7.125, "2x6"),  # 7.2482
        ({}, "71.9375 in", 9.25 - 4 * 70.4375 / 141, 7.25, "2x8"),
        ({}, "1.5 in", 9.25, 9.25, "2x10"),  # at the ledger's face
        ({}, "142.5 in", 5.25, 5.25, "2x4"),  # at the rim's face, all of the drape
        ({"gutter_side": "ledger"}, "72 in", 7.25, 7.25, "2x8"),
        ({"gutter_side": "ledger"}, "37.25 in", 9.25 - 4 * 105.25 / 141, 6.25, "2x6"),  # from the rim's face 142.5
        ({"joist": "2x8"}, "142.5 in", 3.25, 3.25, ""),  # nothing dressed is as shallow
    ],
)
def test_o2_height_left_for_blocking(area, y, left, shown, lumber):
    row = blocking(y, area)
    assert row.height_left_in == pytest.approx(left, abs=1e-6)
    assert (eighths_down_in(row.height_left_in), row.lumber) == (shown, lumber)


def test_o2_in_a_part_the_run_is_the_parts():
    # part 2 runs from 74.25 to 142.5: its middle is 108.375
    beam = {"kind": "flush_beam", "y": "72 in", "plies": 3}
    row = blocking("108.375 in", framing=[beam])
    assert (row.area, row.height_left_in) == ("main/2", 7.25)


@pytest.mark.parametrize(("y", "good"), [("69.75 in", True), ("69.8125 in", False), ("74.25 in", True)])
def test_o2_blocking_in_a_beam_is_an_error(y, good):
    beam = {"kind": "flush_beam", "y": "72 in", "plies": 3}
    if good:
        assert blocking(y, framing=[beam])
    else:
        with pytest.raises(BookError, match=r"framing.csv:3: y: .*lies in a beam"):
            blocking(y, framing=[beam])


def test_o2_a_face_given_in_millimetres_is_no_error():
    # three plies at 1828.9 mm: far face 1886.05 mm, in inches a last bit under the beam's
    beam = {"kind": "flush_beam", "y": "1828.9 mm", "plies": 3}
    assert blocking("1886.05 mm", framing=[beam]).area == "main/2"


@pytest.mark.parametrize(
    ("y", "low"),
    [
        ("131.925 in", False),  # 4 * 130.425/141 = 3.7: 5.55 left, 60 % of 9.25
        ("132 in", True),  # 5.5479
        ("131.875 in", False),
    ],
)
def test_o2_less_than_the_share_of_the_joist_is_said(y, low):
    job = estimate(framing=[{"kind": "blocking", "y": y}])
    assert job.takeoff.blocking[0].low is low
    said = [str(one) for one in job.findings if one.rule == "O2"]
    assert len(said) == low
    assert all("60%" in one and "from memory" in one and "ask the designer" in one for one in said)


@pytest.mark.parametrize(("share", "low"), [(0.7837, False), (0.7839, True)])  # 7.25/9.25 = 0.78378
def test_o2_the_share_is_a_rate(share, low):
    assert blocking("72 in", rates={"blocking_share": share}).low is low


# ---------------------------------------------------------------------------------------------- O3


@pytest.mark.parametrize(
    ("nozzle", "rates", "reach"),
    [
        (3, {}, 24),  # (3 - 0.5 - 1)/0.0625
        (1.5625, {}, 1),
        (3, {"gutter_top_gap_in": 1}, 16),
        (3, {"nozzle_in_gutter_in": 2}, 8),
        (3, {"gutter_fall_in_per_ft": 0.03125}, 48),
        (3, {"gutter_fall_in_per_ft": 0}, float("inf")),
    ],
)
def test_o3_the_nozzle_stands_in_the_gutter_all_along_the_line(nozzle, rates, reach):
    (line,) = estimate(liner={"nozzle_reach_in": nozzle}, rates=rates).takeoff.lines
    assert line.reach_ft == pytest.approx(reach, abs=1e-9)


@pytest.mark.parametrize(("nozzle", "rates"), [(1.5, {}), (1.4375, {}), (1.5, {"gutter_fall_in_per_ft": 0})])
def test_o3_a_nozzle_that_does_not_stand_in_the_gutter_is_an_error(nozzle, rates):
    with pytest.raises(BookError, match=r"gutter line main: .*nozzle reaches"):
        taken(liner={"nozzle_reach_in": nozzle}, rates=rates)


@pytest.mark.parametrize(("reaches", "touches"), [((3, 3.5625), True), ((3.5625, 3), True), ((3, 3.5), False)])
def test_o3_on_a_shared_line_the_longest_nozzle_touches_first(reaches, touches):
    liners = [{"liner": name, "nozzle_reach_in": reach} for name, reach in zip("ab", reaches, strict=True)]
    areas = [{"area": name, "liner": name, "width": "8 ft", "gutter_line": "front"} for name in "ab"]
    found = [one.rule for one in estimate(areas=areas, liners=liners).findings if one.failed]
    assert found == (["O3"] if touches else [])


@pytest.mark.parametrize(
    ("nozzle", "rates", "touches"),
    [
        (3.5, {}, False),  # 3.5 - 0.5 = 3.5 - 0.5
        (3.5625, {}, True),
        (3.5625, {"gutter_depth_in": 3.5625, "gutter_profile": "box"}, False),
        (3.5, {"gutter_bottom_gap_in": 0.5625}, True),
    ],
)
def test_o3_a_nozzle_that_touches_the_bottom_is_a_failed_check(nozzle, rates, touches):
    found = [one.rule for one in estimate(liner={"nozzle_reach_in": nozzle}, rates=rates).findings if one.failed]
    assert found == (["O3"] if touches else [])
