"""Rules G1 to G9: members, bays, parts and beams, each at the value where a count changes."""

from __future__ import annotations

import pytest
from books import deck, estimate, inputs_of, taken

from baybook.estimate import build_estimate
from baybook.takeoff.members import bay_count


def strips(area=None, framing=(), rates=None):
    """Return (left, right) of every member of the one area."""
    members = estimate(area=area or {}, framing=framing, rates=rates).takeoff.areas[0].members
    return [(member.left_in, member.right_in) for member in members]


def part(changes, name="main"):
    return taken(**changes)["areas"][name]


def member(x, plies=1):
    return {"kind": "member", "x": f"{x} in", "plies": plies}


def failed(job, rule):
    return [one for one in job.findings if one.rule == rule and one.failed]


# ---------------------------------------------------------------------------------------------- G1, G2


@pytest.mark.parametrize(
    ("thickness", "first", "last"), [(None, (0, 1.5), (190.5, 192)), ("1.75", (0, 1.75), (190.25, 192))]
)
def test_g1_end_joists_stand_on_the_outer_faces(thickness, first, last):
    found = strips({"joist_thickness": thickness})
    assert (found[0], found[-1]) == (first, last)


@pytest.mark.parametrize(
    ("width", "last_field", "end"),
    [
        # k = 12 stands if 192 - 0.75 < width - 1.5, that is over 192.75
        ("192.75 in", (175.25, 176.75), (191.25, 192.75)),  # the last bay is s - t = 14.5
        ("192.8125 in", (175.25, 176.75), (189.8125, 192.8125)),  # k = 12 at min(192, 190.5625), tight: one member
        ("194.25 in", (175.25, 176.75), (191.25, 194.25)),  # k = 12 at exactly 192 = width - 2.25, tight all the same
        ("195.75 in", (191.25, 192.75), (194.25, 195.75)),  # a gap of 1.5 to the end joist: a bay
    ],
)
def test_g2_left_the_joist_that_would_run_into_the_end_joist_is_set_tight(width, last_field, end):
    assert strips({"width": width})[-2:] == [last_field, end]


def test_g2_no_rounding_noise_adds_a_joist():
    # 12 * 16.4 - 0.75 = 196.05 = width - 1.5 exactly: k = 12 does not stand
    liner = {"made_for_in": 20}
    areas = taken(area={"width": "197.55 in", "spacing": "16.4"}, liner=liner)["areas"]
    assert (areas["main"]["members"], areas["main"]["clear_widths_in"][-1]) == (13, 14.9)


def test_g2_right_is_the_mirror_image():
    # width 200: left joists at 16 ... 192; right at 200 - 16k
    left, right = strips({"width": "200 in"}), strips({"width": "200 in", "layout": "right"})
    assert right == [(200 - b, 200 - a) for a, b in reversed(left)]
    assert right[1] == (7.25, 8.75)  # k = 12: 200 - 192 = 8


@pytest.mark.parametrize(
    ("width", "bays", "clear"),
    [
        ("192 in", 12, 14.375),  # ceil(190.5/16) = 12 spaces of 15.875
        ("193.5 in", 12, 14.5),  # 192/16 is 12 exactly: spaces of 16
        ("193.5625 in", 13, 192.0625 / 13 - 1.5),
    ],
)
def test_g2_even_makes_equal_spaces_no_wider_than_the_spacing(width, bays, clear):
    found = part({"area": {"width": width, "layout": "even"}})
    assert found["bays"] == bays
    assert found["clear_widths_in"] == pytest.approx([clear] * bays, abs=2e-6)


# ---------------------------------------------------------------------------------------------- G3


@pytest.mark.parametrize(
    ("x", "plies", "expected"),
    [
        (100, 1, (99.25, 100.75)),
        (100, 2, (98.5, 101.5)),  # the plies in all, centred
        (96, 3, (93.75, 98.25)),  # over the field joist at 96: one member
        (0.5, 3, (0, 2.75)),  # -1.75 to 2.75: cut off at the outer face
        (192, 2, (190.5, 192)),  # the outer half is cut off
    ],
)
def test_g3_a_member_is_centred_and_cut_off_at_the_outer_face(x, plies, expected):
    assert expected in strips(framing=[member(x, plies)])


def test_g3_a_divider_is_a_pair_that_replaces_the_joist_between():
    # 5.5 + 0.1875 between the centres: 96 -+ 2.84375, two plies each
    found = strips(framing=[{"kind": "divider", "x": "8 ft"}])
    assert found[5:9] == [(79.25, 80.75), (91.65625, 94.65625), (97.34375, 100.34375), (111.25, 112.75)]
    assert len(found) == 14


@pytest.mark.parametrize(
    ("x", "expected"),
    [
        # with one ply a joint, the pair's left strip is centred at x - 2.84375; the field joist stands at 96
        (98.84375, (95.25, 96.75)),  # the two coincide
        (98.90625, (95.25, 96.8125)),  # the joist's centre is outside the pair by 1/16: it stays, both are drawn
        (98.78125, (95.1875, 96.6875)),  # inside by 1/16: left out
    ],
)
def test_g3_a_field_joist_is_left_out_only_between_the_centres_of_the_pair(x, expected):
    found = strips(framing=[{"kind": "divider", "x": f"{x} in"}], rates={"joint_plies": 1})
    assert expected in found


@pytest.mark.parametrize(
    ("borders", "overhang", "expected"),
    [
        (1, 0, [(0, 1.5), (4.1875, 7.1875), (15.25, 16.75)]),  # joint at 5.6875
        (2, 0, [(0, 1.5), (4.1875, 7.1875), (9.875, 12.875), (15.25, 16.75)]),  # and at 11.375
        (1, 1.1875, [(0, 1.5), (3, 6), (15.25, 16.75)]),  # joint at 4.5: a gap of 1.5 stays open
        (1, 1.25, [(0, 5.9375), (15.25, 16.75)]),  # joint at 4.4375: a gap of 1.4375 is packed
    ],
)
def test_g3_borders_stand_under_their_joints_on_both_sides(borders, overhang, expected):
    found = strips({"borders": borders}, rates={"border_overhang_in": overhang})
    assert found[: len(expected)] == expected
    assert found[-len(expected) :] == [(192 - b, 192 - a) for a, b in reversed(expected)]


# ---------------------------------------------------------------------------------------------- G4, G5


@pytest.mark.parametrize(
    ("x", "members"),
    [
        (19, 14),  # gap 18.25 - 16.75 = 1.5: not under pack_gap, a bay
        (18.9375, 13),  # 1.4375
        (18.99999951, 14),  # 1.49999951 is 1.5 to six places
        (18.999999, 13),  # 1.499999 is not
        (17.5, 13),  # touching
        (17, 13),  # overlapping
    ],
)
def test_g4_a_gap_under_pack_gap_is_packed(x, members):
    assert len(strips(framing=[member(x)])) == members


@pytest.mark.parametrize(("x", "members"), [(17.5, 13), (17.5625, 14)])
def test_g4_a_gap_of_nothing_merges_even_with_pack_gap_0(x, members):
    assert len(strips(framing=[member(x)], rates={"pack_gap_in": 0})) == members


@pytest.mark.parametrize(("x_mm", "bays"), [(484.5, 13), (484.4, 12)])
def test_g4_a_metric_limit_is_compared_to_six_places(x_mm, bays):
    # face of the joist at 16.75 in = 425.45 mm, the member's at x - 19.05: 484.5 leaves 40 mm, the limit,
    # 1.574803149... in, while faces and gap are held to six places
    rates = {"pack_gap_in": "40 mm"}
    assert taken(framing=[{"kind": "member", "x": f"{x_mm} mm", "plies": 1}], rates=rates)["bays"] == bays


@pytest.mark.parametrize(
    ("x", "outlets"),
    [
        (22.5, 12),  # a bay of 21.75 - 16.75 = 5: not drained
        (22.5625, 13),  # 5.0625
        (22.4375, 12),
        (22.50000049, 12),  # 5.00000049 is 5 to six places
        (22.500001, 13),
    ],
)
def test_g5_a_bay_as_wide_as_narrow_bay_does_not_drain(x, outlets):
    main = part({"framing": [member(x)]})
    assert (main["bays"], main["outlets"]) == (13, outlets)
    assert len(main["cut_lengths_in"]) == 13  # narrow bays are listed too


@pytest.mark.parametrize(("x_mm", "outlets"), [(571.4, 12), (571.5, 13)])
def test_g5_a_metric_limit_is_compared_to_six_places(x_mm, outlets):
    # 425.45 + 126.9 + 19.05; 126.9 mm is 4.996062992... in
    framing = [{"kind": "member", "x": f"{x_mm} mm", "plies": 1}]
    assert part({"framing": framing, "rates": {"narrow_bay_in": "126.9 mm"}})["outlets"] == outlets


# ---------------------------------------------------------------------------------------------- G6

BEAM = {"kind": "flush_beam", "y": "6 ft", "plies": 3}  # 69.75 to 74.25


def test_g6_a_flush_beam_makes_parts_with_run_length_outlets_and_line_of_their_own():
    job = taken(framing=[BEAM])
    one, two = job["areas"]["main/1"], job["areas"]["main/2"]
    assert (one["clear_run_in"], two["clear_run_in"]) == (68.25, 68.25)  # 69.75 - 1.5; 142.5 - 74.25
    assert (one["cut_lengths_in"][0], two["cut_lengths_in"][0]) == (70, 73)  # + 1.5: 69.75; + 4.5: 72.75
    assert (job["bays"], one["members"], two["members"]) == (24, 13, 13)
    assert list(job["gutter_lines"]) == ["main/1", "main"]  # the part at the rim has the area's line
    assert job["items"]["seam_tape"]["net"] == 156  # members count once


def test_g6_on_the_ledger_side_part_1_has_the_areas_line_and_laps_turn_round():
    job = taken(framing=[BEAM], area={"gutter_side": "ledger"})
    assert list(job["gutter_lines"]) == ["main", "main/2"]
    lengths = [job["areas"][name]["cut_lengths_in"][0] for name in ("main/1", "main/2")]
    assert lengths == [73, 71]  # part 1 begins at the beam: + 4.5; part 2 at the rim: + 1.5 + 1 = 70.75


@pytest.mark.parametrize(("y", "first", "second"), [("72 in", 96, 96), ("60 in", 80, 112)])
def test_g6_plan_area_splits_at_the_beams_centre(y, first, second):
    job = taken(framing=[{**BEAM, "y": y}])
    assert [job["areas"][name]["plan_area_sq_ft"] for name in ("main/1", "main/2")] == [first, second]


@pytest.mark.parametrize(
    ("side", "framing", "ends"),
    [
        ("rim", [], ["rim"]),
        ("ledger", [], ["ledger"]),
        ("rim", [BEAM], ["beam", "rim"]),
        ("ledger", [BEAM], ["ledger", "beam"]),
    ],
)
def test_g6_every_bay_knows_what_stands_at_its_low_end(side, framing, ends):
    parts = estimate(area={"gutter_side": side}, framing=framing).takeoff.parts
    assert [{bay.low_end for bay in one.bays} for one in parts] == [{end} for end in ends]


def test_g6_wall_and_roof_water_goes_to_part_1():
    dry, wet = (taken(framing=[BEAM], area=area)["gutter_lines"] for area in ({}, {"roof_area": "48 sq ft"}))
    assert wet["main"]["flow_gpm"] == dry["main"]["flow_gpm"]
    assert wet["main/1"]["flow_gpm"] == pytest.approx(1.5 * dry["main/1"]["flow_gpm"], abs=2e-6)  # 96 + 48


def test_g6_two_beams_make_three_parts_in_order_of_y_whatever_the_order_of_rows():
    rows = [{**BEAM, "y": "8 ft"}, {**BEAM, "y": "4 ft"}]
    job = taken(framing=rows)
    assert list(job["areas"]) == ["main/1", "main/2", "main/3"]
    assert [one["clear_run_in"] for one in job["areas"].values()] == [44.25, 43.5, 44.25]
    assert list(job["gutter_lines"]) == ["main/1", "main/2", "main"]


# ---------------------------------------------------------------------------------------------- G7


@pytest.mark.parametrize(
    ("width", "bays"),
    [
        (192, 12),
        (193, 12),
        (194, 12),
        (195, 12),
        (195.6875, 12),  # g = 195.6875 - 2.25 - 192 = 1.4375
        (195.75, 13),  # g = 1.5
        (209, 13),
    ],
)
def test_g7_the_count_without_laying_out_is_that_of_the_layout(width, bays):
    assert bay_count(width, 16) == bays
    assert part({"area": {"width": f"{width} in"}})["bays"] == bays


@pytest.mark.parametrize("spacing", [12, 13.5, 16])
@pytest.mark.parametrize("sixteenths", range(0, 320, 7))
def test_g7_agrees_at_other_widths_and_spacings(spacing, sixteenths):
    width = 150 + sixteenths / 16
    k = -(-(width - 0.75) // spacing) - 1  # ceil less one
    gap = width - 2.25 - k * spacing
    expected = k + 1 if round(gap, 6) >= 1.5 else k
    job = build_estimate(inputs_of(deck(area={"width": f"{width} in", "spacing": spacing})))
    assert job.takeoff.bays == bay_count(width, spacing) == expected


# ---------------------------------------------------------------------------------------------- G8

LEDGER = {"gutter_side": "ledger"}


@pytest.mark.parametrize(
    ("area", "rates", "length"),
    [
        ({}, {}, 143.5),  # 141 + 1.5 + 1 - 3 + 3
        ({"rim_plies": 2}, {}, 143.5),  # 139.5 + 3 + 1 - 3 + 3
        ({}, {"rim_turn_down_in": 2}, 144.5),
    ],
)
def test_g8_the_lap_covers_the_rim_and_turns_down(area, rates, length):
    assert part({"area": LEDGER | area, "rates": rates})["cut_lengths_in"][0] == length


def test_g8_tape_at_the_high_edge_an_apron_and_more_pipe():
    rim, ledger = taken(), taken(area=LEDGER)
    assert ledger["items"]["seam_tape"]["net"] - rim["items"]["seam_tape"]["net"] == 16  # one strip, the width
    assert ledger["items"]["liner"]["net"] - rim["items"]["liner"]["net"] == 1  # 192 long in one piece of a 16-ft sheet
    assert ledger["gutter_lines"]["main"]["leader_length_in"] == 105.75 + 60
    assert ledger["items"]["leader"]["net"] == 2  # 165.75 = 120 + 45.75


@pytest.mark.parametrize(("sides", "more"), [(("rim", "rim"), 0), (("rim", "ledger"), 60), (("ledger", "ledger"), 60)])
def test_g8_a_shared_line_leads_away_if_any_of_its_areas_drains_to_the_ledger(sides, more):
    areas = [
        {"area": name, "gutter_side": side, "gutter_line": "front", "width": "8 ft"}
        for name, side in zip("ab", sides, strict=True)
    ]
    assert taken(areas=areas)["gutter_lines"]["front"]["leader_length_in"] == 105.75 + more


def test_g8_lines_of_inner_parts_lead_away_too():
    lines = taken(framing=[BEAM], area=LEDGER)["gutter_lines"]
    assert {name: line["leader_length_in"] for name, line in lines.items()} == {"main": 165.75, "main/2": 165.75}


# ---------------------------------------------------------------------------------------------- G9


@pytest.mark.parametrize(
    ("area", "y", "fails"),
    [
        ({}, 133.75, False),  # rim's face 142.5, the beam's 133.75 + 2.25: 6.5 clear
        ({}, 133.8125, True),  # 6.4375
        ({}, 143, True),  # under the rim itself
        ({"rim_plies": 2}, 132.25, False),  # rim's face 141
        ({"rim_plies": 2}, 132.3125, True),
        (LEDGER, 10.25, False),  # ledger's face 1.5; 10.25 - 2.25 - 1.5 = 6.5
        (LEDGER, 10.1875, True),
        (LEDGER, 0, True),
        ({}, 10.1875, False),  # the high end has no gutter
        (LEDGER, 133.8125, False),
    ],
)
def test_g9_a_dropped_beam_leaves_room_for_the_gutter(area, y, fails):
    framing = [{"kind": "dropped_beam", "y": f"{y} in", "plies": 3, "depth": "11.25 in"}]
    job = estimate(area=area, framing=framing)
    assert bool(failed(job, "G9")) is fails
    assert len(job.takeoff.parts) == 1  # it splits nothing


@pytest.mark.parametrize(
    ("side", "y", "where"),
    [
        ("rim", 61, None),  # the flush beam's face 69.75: 69.75 - 61 - 2.25 = 6.5
        ("rim", 61.0625, "main/1"),
        ("rim", 133.8125, "main/2"),
        ("ledger", 83, None),  # its other face 74.25
        ("ledger", 82.9375, "main/2"),
        ("ledger", 10.1875, "main/1"),
    ],
)
def test_g9_is_checked_at_the_low_end_of_its_part(side, y, where):
    framing = [BEAM, {"kind": "dropped_beam", "y": f"{y} in", "plies": 3}]
    job = estimate(area={"gutter_side": side}, framing=framing)
    assert [one.where for one in failed(job, "G9")] == ([where] if where else [])
