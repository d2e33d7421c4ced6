"""Water checks on the worked deck: 16 x 12 ft, 12 bays, 9.974 gpm; each expected number is worked out beside it."""

from __future__ import annotations

import pytest
from books import JOB, csv_text, estimate

from baybook.water import flow_gpm

CODE = {"code": "Harbor County", "edition": "2021"}


def rows(what, **changes):
    return [row for row in estimate(**changes).water.rows if row.what == what]


def row(what, **changes):
    """The row that decides."""
    (found,) = [one for one in rows(what, **changes) if one.governs]
    return found


def codes(*typed):
    return csv_text([{"job": JOB, **CODE, **one} for one in typed])


def failed(**changes):
    return [(one.rule, one.where) for one in estimate(**changes).findings if one.failed]


def looks(rule, **changes):
    return [one.where for one in estimate(**changes).findings if one.rule == rule and not one.failed]


# ---------------------------------------------------------------------------------------------- bays and outlets


def test_a_bay_is_a_v_and_takes_its_width_of_the_flow():
    # widths 2 x 13.75 + 10 x 14.5 = 172.5; the narrowest takes 9.974025 x 13.75 / 172.5
    # V 13.75 x 4: 27.5 sq in, wetted 2 x sqrt(6.875^2 + 4^2) = 15.908, R 0.14406 ft; fall 48/141/12 = 0.028369
    # 1.486/0.010 x 0.14406^(2/3) x sqrt(0.028369) x 27.5/144 x 448.83 = 589.5 gpm
    found = row("bay")
    assert found.flow_gpm == pytest.approx(0.79503, abs=5e-6)
    assert found.capacity_gpm == pytest.approx(589.5, abs=0.1)
    assert found.passes
    assert "Manning" in found.method


def test_the_busiest_outlet_is_the_widest_bays():
    # 9.974025 x 14.5 / 172.5; a 2 x 3 in opening under 1 in: weir 27.0, orifice 29.0 (check value, HEC-22 from memory)
    found = row("bay outlet")
    assert found.flow_gpm == pytest.approx(0.83840, abs=5e-6)
    assert (found.method, round(found.capacity_gpm, 1)) == ("weir", 27.0)


def test_all_bays_together_take_the_whole_flow():
    made = estimate(framing=[{"kind": "member", "x": "22.5 in", "plies": 1}])  # a capped bay of 5 in, one of 8
    (part,) = made.takeoff.parts
    drained = [bay.clear_in for bay in part.bays if bay.drains]
    narrowest = next(one for one in made.water.rows if one.what == "bay")
    assert narrowest.flow_gpm * sum(drained) / min(drained) == pytest.approx(part.flow_gpm)


@pytest.mark.parametrize(
    ("change", "why"),
    [
        ({"area": {"frame_fall_in_per_ft": "-0.3405"}}, "no fall"),  # 48/141 = 0.340426
        ({"liner": {"drape_in": 0}, "area": {"frame_fall_in_per_ft": "0.25"}}, "no drape"),
    ],
)
def test_a_bay_that_cannot_run_off_is_a_failed_check(change, why):
    assert failed(**change) == [("W2", "main bay")]
    assert why in row("bay", **change).note


def test_a_bay_that_just_falls_passes():
    assert failed(area={"frame_fall_in_per_ft": "-0.3404"}) == []


def test_a_bay_steeper_than_the_equation_counts_as_steep_as_it_reaches():
    steep, limit = (row("bay", area={"frame_fall_in_per_ft": fall}) for fall in ("1.5", "0.859574"))  # 48/141 + it
    assert steep.capacity_gpm == pytest.approx(limit.capacity_gpm, rel=1e-5)


# ---------------------------------------------------------------------------------------------- gutters


def test_a_k_style_gutter_by_manning():
    # 5 in: bottom 3.375, top 5, depth 3.5; 3 in of water: spread 1.625/3.5 = 0.46429
    # section (3.375 + 0.46429 x 1.5) x 3 = 12.214 sq in, wetted 6.375 + 3 x sqrt(1 + 0.46429^2) = 9.6826, R 0.10512 ft
    # 1.486/0.012 x 0.10512^(2/3) x sqrt(0.0625/12) x 12.214/144 x 448.83 = 75.8 gpm
    found = row("gutter")
    assert found.capacity_gpm == pytest.approx(75.8, abs=0.05)
    assert found.flow_gpm == pytest.approx(9.974, abs=5e-4)  # one leader at the end: all of it
    assert (found.method, found.governs) == ("Manning, uniform flow", True)


def test_the_gutter_by_en_12056_stands_beside_it():
    # 14.656 sq in = 9,455.6 mm2; 0.9 x 3.48e-5 x 9,455.6^1.25 = 2.920 L/s = 46.29 gpm; 192/3.5 = 54.86 depths: x 0.9932
    en = rows("gutter")[1]
    assert en.capacity_gpm == pytest.approx(45.97, abs=0.02)
    assert (en.governs, en.edition) == (False, "2000, constants from memory")


def test_a_level_gutter_is_for_en_12056():
    flat = {"gutter_fall_in_per_ft": 0}
    manning, en = rows("gutter", rates=flat)
    assert (manning.capacity_gpm, manning.governs, manning.passes) == (0.0, False, False)
    assert en.governs
    assert en.capacity_gpm > 0
    assert failed(rates=flat) == []


@pytest.mark.parametrize(("width", "covered"), [("58.3125 ft", True), ("58.375 ft", False)])
def test_en_12056_covers_runs_of_200_depths(width, covered):
    # 200 x 3.5 = 700 in = 58.333 ft one way; a reach of 60 ft and spacing out of the way keep one leader
    rates = {"gutter_fall_in_per_ft": 0.025, "leader_spacing_ft": 100, "leader_capacity_gpm": 100}
    en = rows("gutter", area={"width": width}, rates=rates)[1]
    assert (en.capacity_gpm > 0) is covered


def test_the_run_takes_its_share_of_the_flow():
    # 30 ft, reach 24: two leaders at the ends, each run half of the line
    found = row("gutter", area={"width": "30 ft"})
    assert found.flow_gpm == pytest.approx(flow_gpm(5.0, 360.0) / 2)


def test_a_gutter_that_does_not_carry_is_a_failed_check_with_what_would_pass():
    # 1,600 sq ft of roof at 5 in/h: 93.1 gpm in one run (a leader that carries it all); K-style 5 in carries 75.8,
    # 6 in: 4 x 6 x 4.5 in, 4 in of water: section (4 + 0.4444 x 2) x 4 = 19.56, wetted 8 + 4 x 1.0943 = 12.377,
    # R 0.13166 ft: 141.0 gpm. Two leaders at the ends take half of it each.
    change = {"area": {"roof_area": "1600"}, "rates": {"leader_capacity_gpm": 100}}
    found = row("gutter", **change)
    assert found.flow_gpm == pytest.approx(flow_gpm(5.0, 1792.0))
    assert not found.passes
    assert (found.least_size, found.leaders) == ("k-style 6 in", 2)
    (finding,) = [one for one in estimate(**change).findings if one.failed and one.where == "main gutter"]
    assert "k-style 6 in would pass or 2 leaders would pass" in finding.message
    assert "75.78 are carried" in finding.message


def test_a_size_that_only_just_carries():
    capacity = row("gutter").capacity_gpm
    area = capacity / flow_gpm(5.0, 1.0) - 192
    for more, passes in ((-0.001, True), (0.001, False)):
        change = {"area": {"roof_area": f"{area + more:.6f}"}, "rates": {"leader_capacity_gpm": 100}}
        assert row("gutter", **change).passes is passes


# ---------------------------------------------------------------------------------------------- the adopted code


def test_the_adopted_code_decides_where_it_has_the_size():
    typed = codes({"kind": "gutter", "size": "K-style 5 in", "fall": 0.0625, "capacity_gpm": 9.9})
    found = row("gutter", codes=typed)
    assert (found.method, found.edition) == ("adopted code table", "Harbor County, 2021")
    assert (found.capacity_gpm, found.passes) == (9.9, False)  # 9.974 comes; Manning would let it pass
    assert failed(codes=typed) == [("W2", "main gutter")]
    assert [one.governs for one in rows("gutter", codes=typed)] == [False, False, True]


def test_editions_of_one_code_differ_by_two():
    """A table in sq ft at 1 in/h, 3,520 sq ft = 36.6 gpm (older editions, value from memory), against 74 gpm (2018)."""
    old = codes({"kind": "gutter", "size": "half-round 5 in", "area_sq_ft": 3520})
    new = codes({"kind": "gutter", "size": "half-round 5 in", "capacity_gpm": 74})
    carried = [
        row("gutter", codes=table, rates={"gutter_profile": "half-round 5 in"}).capacity_gpm for table in (old, new)
    ]
    assert carried == pytest.approx([36.57, 74], abs=0.01)
    assert carried[1] / carried[0] == pytest.approx(2, abs=0.05)


def test_of_several_falls_the_steepest_that_is_no_steeper_counts():
    typed = codes(
        *({"kind": "gutter", "size": "k-style 5 in", "fall": fall, "capacity_gpm": gpm} for fall, gpm in
          ((None, 20), (0.03125, 30), (0.0625, 40), (0.125, 50)))
    )  # fmt: skip
    found = {fall: row("gutter", codes=typed, rates={"gutter_fall_in_per_ft": fall}).capacity_gpm
             for fall in (0.02, 0.03125, 0.06, 0.0625, 0.1)}  # fmt: skip
    assert found == {0.02: 20, 0.03125: 30, 0.06: 30, 0.0625: 40, 0.1: 40}


def test_a_size_the_code_lacks_is_said_and_the_other_method_decides():
    typed = codes({"kind": "gutter", "size": "half-round 5 in", "capacity_gpm": 74})
    assert row("gutter", codes=typed).method == "Manning, uniform flow"
    assert looks("W2", codes=typed) == ["gutter"]


def test_leaders_by_the_code_and_by_wyly_eaton():
    typed = codes(
        {"kind": "leader", "size": "2x3", "capacity_gpm": 9.0}, {"kind": "leader", "size": "3x4", "capacity_gpm": 30}
    )
    plain, adopted = rows("leaders", codes=typed)
    # 2 in, 7/24 full: 22.6431 gpm (NSPC 2006 Table 13.6.1 prints 23)
    assert (round(plain.capacity_gpm, 4), plain.governs, plain.passes) == (22.6431, False, True)
    assert (adopted.capacity_gpm, adopted.governs, adopted.passes) == (9.0, True, False)
    assert (adopted.least_size, adopted.leaders) == ("3x4", 2)  # 9.974/9


def test_rows_of_a_job_stand_in_for_those_of_all():
    everyone = {"job": "", "kind": "gutter", "size": "k-style 5 in", "capacity_gpm": 60}
    mine = {"kind": "gutter", "size": "k-style 5 in", "capacity_gpm": 50, "edition": "2024"}
    assert row("gutter", codes=codes(everyone)).capacity_gpm == 60
    assert row("gutter", codes=codes(everyone, mine)).capacity_gpm == 50


# ---------------------------------------------------------------------------------------------- drops and leaders


@pytest.mark.parametrize(("leaders", "share"), [(1, 1), (2, 2), (3, 2), (4, 3)])
def test_the_busiest_drop_at_the_ends(leaders, share):
    spacing = {"leader_spacing_ft": 16 / leaders + 0.001}
    found = row("gutter drop", rates=spacing)
    assert found.flow_gpm == pytest.approx(9.974025 / share, abs=1e-6)


def test_drops_in_the_middle_share_evenly():
    found = row("gutter drop", area={"leader_at": "middle"}, rates={"leader_spacing_ft": 4})
    assert found.flow_gpm == pytest.approx(9.974025 / 4, abs=1e-6)


def test_a_drop_under_the_gutters_water():
    # 2 x 3 in under 3 in: orifice 0.67 x 6/144 x sqrt(64.348 x 0.25) x 448.83 = 50.26, weir 140.3
    found = row("gutter drop")
    assert (found.method, round(found.capacity_gpm, 1)) == ("orifice", 50.3)


def test_a_leader_between_two_others_is_said_to_take_more():
    # 60 gpm and 2x3: three leaders by flow; the middle one takes 30, more than 22.64
    roof = f"{60 / flow_gpm(5.0, 1.0) - 192:.4f}"
    assert looks("W3", area={"roof_area": roof}) == ["main"]
    assert looks("W3", area={"roof_area": roof, "leader_at": "middle"}) == []
    assert looks("W3") == []


# ---------------------------------------------------------------------------------------------- reach and heights


def test_reach_one_way_two_ways_and_to_the_middle():
    # 30 ft: nozzle 3 - 0.5 = 2.5 in the gutter at the high end, less 1/16 a foot: 0.625, 1.5625, 1.5625; 1 is asked
    found = {
        one.way: (one.run_ft, one.nozzle_low_in, one.holds) for one in estimate(area={"width": "30 ft"}).water.reaches
    }
    assert found == {
        "as planned": (15, 1.5625, True),
        "one way": (30, 0.625, False),
        "two ways": (15, 1.5625, True),
        "to the middle": (15, 1.5625, True),
    }


def test_heights_movement_and_joints():
    # joist bottom 98.75: gutter top 98.25 and, 16 ft on, 97.25; 3.5 deep; 1.54 in x 16/100 x 120/100 = 0.29568
    (facts,) = estimate().water.lines
    assert (facts.top_high_in, facts.top_low_in, facts.under_low_in, facts.joints) == (98.25, 97.25, 93.75, 0)
    assert facts.movement_in == pytest.approx(0.29568)
    (long,) = estimate(area={"width": "82 ft"}, rates={"gutter_material": "copper"}).water.lines
    assert long.joints == 2  # over 80 ft
    assert long.movement_in == pytest.approx(1.12 * 82 / 3 * 120 / 10_000)


def test_height_below_is_held_against_what_is_asked():
    beam = [{"kind": "dropped_beam", "y": "6 ft", "plies": 3, "depth": "9.25"}]
    heights = [(one.below, one.height_in) for one in estimate(framing=beam).water.heights]
    assert heights == [("joists", 98.75), ("dropped beam", 89.5), ("gutter", 93.75)]
    assert looks("T5", framing=beam) == []
    assert looks("T5", framing=beam, rates={"min_headroom_in": 89.5}) == []
    assert looks("T5", framing=beam, rates={"min_headroom_in": 93.75}) == ["main"]
    assert looks("T5", framing=beam, rates={"min_headroom_in": 94}) == ["main", "main"]


def test_a_profile_not_as_deep_as_the_rate_is_said():
    assert looks("W2", rates={"gutter_profile": "half-round 5 in"}) == [
        "half-round 5 in"
    ]  # 2.5 deep, the rate says 3.5
    assert (
        looks("W2", rates={"gutter_profile": "half-round 5 in", "gutter_depth_in": 2.5, "gutter_bottom_gap_in": 0})
        == []
    )


# ---------------------------------------------------------------------------------------------- posts


def posts(*given):
    return csv_text([{"job": JOB, "area": "main", "where": "inside", **one} for one in given])


@pytest.mark.parametrize(
    ("side", "y", "wrong"),
    [
        # the low end's face is at 144 - 1.5 = 142.5, the last 12 in begin at 130.5; half the post and a ply: 3.25
        ("rim", "127.25 in", False),
        ("rim", "127.3125 in", True),
        # gutter at the ledger: its face is at 1.5, the outlet's end goes to 13.5
        ("ledger", "16.75 in", False),
        ("ledger", "16.6875 in", True),
    ],
)
def test_blocking_of_a_post_where_the_outlet_goes(side, y, wrong):
    found = failed(area={"gutter_side": side, "posts_through": 1}, posts=posts({"x": "8.5 ft", "y": y}))
    assert found == ([("O2", "main posts")] if wrong else [])


@pytest.mark.parametrize(
    ("post", "wrong"),
    [
        ({"x": "16 in", "size": "1.5"}, False),  # as wide as the joist at 15.25 to 16.75
        ({"x": "16 in", "size": "1.5625"}, True),
        ({"x": "16 in"}, True),  # 3.5 where nothing is said
        ({"x": "24 in"}, True),  # in the middle of a bay
        ({"x": "24 in", "where": "outside"}, False),
        ({"x": "0.75 in", "size": "1.5"}, False),  # on the end joist
    ],
)
def test_only_a_post_in_a_bay_is_blocked(post, wrong):
    found = failed(area={"posts_through": 1}, posts=posts({"y": "11 ft 6 in", **post}))
    assert found == ([("O2", "main posts")] if wrong else [])


def test_a_post_in_a_capped_bay_keeps_no_water_back():
    member = [{"kind": "member", "x": "22.5 in", "plies": 1}]  # 16.75 to 21.75 is capped
    assert failed(framing=member, posts=posts({"x": "19.25 in", "y": "11 ft 6 in"})) == []


def test_height_left_for_the_blocking_of_a_post():
    # half-way: 9.25 - 2; three quarters: 9.25 - 3 = 6.25, over 60 % of 9.25 = 5.55; 131 of 141 in from the ledger: 5.53
    made = estimate(
        area={"posts_through": 3},
        rates={"outlet_end_in": 0},
        posts=posts(*({"x": "8.5 ft", "y": f"{1.5 + along} in"} for along in (70.5, 105.75, 131))),
    )
    assert [one.height_left_in for one in made.water.posts] == pytest.approx([7.25, 6.25, 5.533688], abs=1e-6)
    assert [one.low for one in made.water.posts] == [False, False, True]
    assert [one.where for one in made.findings if one.rule == "O2"] == ["main posts"]


def test_a_post_belongs_to_the_part_it_stands_in():
    beam = [{"kind": "flush_beam", "y": "6 ft", "plies": 3}]
    made = estimate(
        framing=beam, area={"posts_through": 2}, posts=posts({"x": "8.5 ft", "y": "5 ft"}, {"x": "8.5 ft", "y": "7 ft"})
    )
    # the beam is 4.5 wide: part 1 ends at 69.75, and 60 + 3.25 is past 57.75; part 2 ends at 142.5
    assert [(one.part, one.at_outlet) for one in made.water.posts] == [("main/1", True), ("main/2", False)]


def test_posts_counted_and_posts_listed():
    listed = posts(
        {"x": "8.5 ft", "y": "6 ft"}, {"x": "4.5 ft", "y": "6 ft"}, {"x": "4 ft", "y": "12 ft", "where": "outside"}
    )
    assert looks("T6", posts=listed) == ["main"]
    assert looks("T6", posts=listed, area={"posts_through": 2}) == []
    assert looks("T6", area={"posts_through": 2}) == []  # none listed: nothing to compare
