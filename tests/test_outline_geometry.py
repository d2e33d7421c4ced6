"""Bays, catchments, members and gutter lines of outlined areas: closed forms, and shapely's own operations."""

from __future__ import annotations

import functools
import math
import random
from dataclasses import dataclass, replace

import pytest
import shapely

from baybook.outline import Outline, edges_of, outline_of, parse_outline
from baybook.problems import OutOfRange
from baybook.takeoff.cells import Band, Frame, Hole
from baybook.takeoff.cutout import crossings, edge_members, segments_of

T = 1.5
RIM, LEDGER = Frame(T, T, "rim"), Frame(T, T, "ledger")
FT = 144  # sq in of a sq ft


def feet(text):
    return parse_outline(text, lambda value: 12 * float(value))


def joists(outline, holes=(), spacing=16.0, gap=1.5):
    """Lay joists from the left at a spacing, with end, edge and trimmer joists, packed solid where they come close."""
    count = math.ceil((outline.width_in - T / 2) / spacing)
    centres = [T / 2, *(k * spacing for k in range(1, count) if k * spacing < outline.width_in - T)]
    strips = [(x - T / 2, x + T / 2) for x in [*centres, outline.width_in - T / 2]]
    strips += edge_members(outline, holes, T)
    strips += [strip for hole in holes for strip in trimmers(hole)]
    merged = []
    for left, right in sorted((round(a, 6), round(b, 6)) for a, b in strips):
        if merged and left - merged[-1][1] < gap:
            merged[-1] = (merged[-1][0], max(right, merged[-1][1]))
        else:
            merged.append((left, right))
    return merged


def trimmers(hole):
    return (hole.left_in - 2 * T, hole.left_in), (hole.right_in, hole.right_in + 2 * T)


def cut(text, frame=RIM, bands=(), holes=()):
    outline = feet(text)
    return segments_of(outline, joists(outline, holes), bands, holes, frame)


def region(outline, holes=()):
    whole = shapely.Polygon(outline.corners)
    for hole in holes:
        whole = whole.difference(shapely.box(hole.left_in, hole.near_in, hole.right_in, hole.far_in))
    return whole


# ------------------------------------------------------------------------------------------- closed forms, by hand


def test_a_rectangle():
    # 16 x 12 ft: run 144 - 1.5 - 1.5; 12 bays; a bay's water 16 x 144; the end bays from outer face to centre: the same
    for frame, low, high in ((RIM, "rim", "ledger"), (LEDGER, "ledger", "rim")):
        found = cut("0,0; 16,0; 16,12; 0,12", frame)
        assert [one.number for one in found.segments] == list(range(1, 13))
        assert {(one.piece, one.pieces, one.near_in, one.far_in, one.run_in) for one in found.segments} == {
            (0, 1, 1.5, 142.5, 141.0)
        }
        assert {(one.high, one.high_in, one.high_slant, one.low, one.line) for one in found.segments} == {
            (high, 0.0, 1.0, low, 0)
        }
        assert [one.plan_sq_in for one in found.segments] == pytest.approx([16 * 144] * 12)
        assert [one.clear_in for one in found.segments] == [13.75, *[14.5] * 10, 13.75]
        assert [one.left_in for one in found.segments] == [1.5, *(16 * k + 0.75 for k in range(1, 12))]
        assert [one.bay_sq_in for one in found.segments] == pytest.approx(
            [144 * one.clear_in for one in found.segments]
        )
        assert [one.wall_in for one in found.segments] == pytest.approx([16] * 12)
        assert found.segments[1].corners == ((16.75, 1.5), (31.25, 1.5), (31.25, 142.5), (16.75, 142.5))
        assert [(one.length_in, one.near_in, one.far_in) for one in found.members] == [(144, 0, 144)] * 13
        (line,) = found.lines
        assert (line.kind, line.length_in, len(line.stretches), line.corners) == (low, 192, 1, ())


def test_ledger_and_rim_have_thicknesses_of_their_own():
    outline = feet("0,0; 16,0; 16,12; 0,12")
    found = segments_of(outline, joists(outline), [], [], Frame(1.75, 3.0, "rim"))
    assert {(one.near_in, one.far_in, one.run_in) for one in found.segments} == {(1.75, 141.0, 139.25)}


def test_a_clipped_corner():
    # 16 x 14 ft, the corner cut from (16, 9) to (12, 14): over 48 in the edge falls 60, so 1/cos = hypot(48, 60)/48
    slant = math.hypot(48, 60) / 48  # 1.600781
    found = cut("0,0; 16,0; 16,9; 12,14; 0,14")
    ten, eleven, twelve = found.segments[9:]
    # bay 10 from 144.75: highest face 168 - 0.75 * 1.25 - 1.5 * slant = 164.661
    assert ten.far_in == pytest.approx(168 - 0.75 * 60 / 48 - 1.5 * slant)
    assert ten.far_in == pytest.approx(164.6613, abs=1e-4)
    assert eleven.far_in == pytest.approx(168 - 16.75 * 1.25 - 1.5 * slant)
    # catchments: 16 wide; the edge's middle lies 8, 24, 40 in right of the corner: 168 - 10, - 30, - 50
    assert [one.plan_sq_in for one in (ten, eleven, twelve)] == pytest.approx([16 * 158, 16 * 138, 16 * 118])
    assert (found.segments[8].far_in, found.segments[8].plan_sq_in) == (166.5, 16 * 168)
    assert {one.high_slant for one in found.segments} == {1.0}
    (line,) = found.lines
    assert [one.length_in for one in line.stretches] == pytest.approx([144, math.hypot(48, 60)])
    (turn,) = line.corners
    # the edge turns by atan(60/48) = 51.340 degrees: an outside corner of 128.660
    assert (turn.kind, turn.x, turn.y) == ("outside", 144, 168)
    assert turn.angle_deg == pytest.approx(180 - math.degrees(math.atan2(60, 48)))
    # the other way round the slanted edge is the high end of the last three bays
    back = cut("0,0; 16,0; 16,9; 12,14; 0,14", LEDGER)
    assert [one.high_slant for one in back.segments] == pytest.approx([*[1.0] * 9, *[slant] * 3])
    # the joist at 160 from end to end: its left face 15.25 in right of the corner
    joist = found.members[10]
    assert joist.length_in == pytest.approx(168 - 15.25 * 1.25)


def test_a_triangle():
    # base 16 ft along the rim, tip at the house: near edges rise 144 in 96, 1.5 a foot; the tip over the joist at 96
    slant = math.hypot(96, 144) / 96
    found = cut("8,0; 16,12; 0,12")
    assert len(found.segments) == 12
    assert sum(one.plan_sq_in for one in found.segments) == pytest.approx(96 * 144)
    six = found.segments[5]  # from 80.75 to 95.25: nearest at its right, 0.75 from the tip
    assert six.near_in == pytest.approx(0.75 * 1.5 + 1.5 * slant)
    assert six.run_in == pytest.approx(142.5 - 0.75 * 1.5 - 1.5 * slant)
    assert six.plan_sq_in == pytest.approx(16 * (144 - 8 * 1.5))  # from 80 to 96, depth in the middle 144 - 12
    assert six.high_slant == pytest.approx(slant)
    assert [one.length_in for one in found.lines] == [192]
    back = cut("8,0; 16,12; 0,12", LEDGER)  # both slanted edges are one line with the tip as its corner
    (line,) = back.lines
    assert [one.length_in for one in line.stretches] == pytest.approx([math.hypot(96, 144)] * 2)
    (turn,) = line.corners
    assert turn.angle_deg == pytest.approx(2 * math.degrees(math.atan2(96, 144)))


def test_a_trapezoid():
    # depth from 8 ft at the left to 14 ft at the right, 16 ft wide: the rim rises 72 in 192
    found = cut("0,0; 16,0; 16,14; 0,8")
    slant = math.hypot(192, 72) / 192
    for one in found.segments:  # the longest line is along the right face
        assert one.run_in == pytest.approx(96 + (one.left_in + one.clear_in) * 72 / 192 - 1.5 * slant - 1.5)
    # bay k from 16(k - 1) to 16k: mean depth 96 + (16k - 8) * 3/8 = 93 + 6k
    assert [one.plan_sq_in for one in found.segments] == pytest.approx([16 * (93 + 6 * k) for k in range(1, 13)])
    assert [one.length_in for one in found.lines] == pytest.approx([math.hypot(192, 72)])


def test_an_l():
    # 16 x 8 ft and a wing of 8 ft out to 14 ft on the left; its edge joist packs with the one at 96: 94.5 to 96.75,
    # centre 95.625. Bay 6 takes to that centre, and beside the wing's edge to its outer face at 96:
    # (95.625 - 80) * 168 + 0.375 * 72 = 2625 + 27; bay 7 from 95.625 to 112, 96 deep
    found = cut("0,0; 16,0; 16,8; 8,8; 8,14; 0,14")
    assert [one.run_in for one in found.segments] == [*[165.0] * 6, *[93.0] * 6]
    assert [one.plan_sq_in for one in found.segments] == pytest.approx(
        [*[16 * 168] * 5, 2652, 16.375 * 96, *[16 * 96] * 5]
    )
    assert [(one.kind, one.length_in) for one in found.lines] == [("rim", 96), ("rim", 96)]
    assert [one.line for one in found.segments] == [*[0] * 6, *[1] * 6]
    # with the gutter at the house it is one line
    assert [(one.kind, one.length_in) for one in cut("0,0;16,0;16,8;8,8;8,14;0,14", LEDGER).lines] == [("ledger", 192)]
    packed = found.members[6]
    assert (packed.left_in, packed.right_in, packed.length_in) == (94.5, 96.75, 168)
    assert packed.plan_sq_in == pytest.approx(1.5 * 168 + 0.75 * 96)


def test_a_t():
    # a stem of 8 ft (4 to 12 ft) from the house, a head of 16 ft from 8 to 14 ft; gutter at the rim: one line of 16 ft
    text = "4,0; 12,0; 12,8; 16,8; 16,14; 0,14; 0,8; 4,8"
    found = cut(text)
    outline = feet(text)
    assert edge_members(outline, (), T) == ((0, 1.5), (48, 49.5), (142.5, 144), (190.5, 192))
    runs = {one.number: one.run_in for one in found.segments}
    # left of the joists at 48 the head only: 6 ft less ledger and rim
    assert [runs[k] for k in range(1, 13)] == [*[69.0] * 3, *[165.0] * 6, *[69.0] * 3]
    assert [one.length_in for one in found.lines] == [192]
    assert sum(one.plan_sq_in for one in found.segments) == pytest.approx((8 * 8 + 16 * 6) * FT)
    # at the house: a line on either shoulder and one at the stem
    assert [one.length_in for one in cut(text, LEDGER).lines] == [48, 96, 48]


def test_a_u():
    # 16 x 14 ft with a bight of 6 ft (5 to 11 ft) from the rim back to 5 ft
    text = "0,0; 16,0; 16,14; 11,14; 11,5; 5,5; 5,14; 0,14"
    found = cut(text)
    assert [(one.kind, one.length_in) for one in found.lines] == [("rim", 60), ("rim", 72), ("rim", 60)]
    assert sum(one.plan_sq_in for one in found.segments) == pytest.approx((16 * 14 - 6 * 9) * FT)
    assert {one.run_in for one in found.segments} == {165.0, 57.0}


def test_a_bight_from_the_side_makes_two_pieces_of_a_bay():
    # 16 x 14 ft with a bight from the right, 12 to 16 ft, from 5 to 9 ft: the last bays have two pieces each
    text = "0,0; 16,0; 16,5; 12,5; 12,9; 16,9; 16,14; 0,14"
    found = cut(text)
    last = [one for one in found.segments if one.number == 12]
    assert [(one.piece, one.pieces, one.near_in, one.far_in) for one in last] == [
        (0, 2, 1.5, 58.5),
        (1, 2, 109.5, 166.5),
    ]
    assert [one.plan_sq_in for one in last] == pytest.approx([16 * 60, 16 * 60])
    # lines: the bight's near side of 4 ft under the inner pieces; the rim's 16 ft
    assert sorted(one.length_in for one in found.lines) == [48, 192]
    assert found.lines[last[0].line].stretches[0].y0 == 60
    assert found.lines[last[1].line].length_in == 192
    # the joist at 144 packs with the edge joist at 142.5-144 and runs the whole way; the one at 160 is in two pieces
    assert [one.length_in for one in found.members if one.left_in == 159.25] == [60, 60]
    back = cut(text, LEDGER)
    assert sorted(one.length_in for one in back.lines) == [48, 192]


def test_a_curved_front_is_one_line_of_many_stretches():
    # half a circle of 8 ft radius before 16 x 4 ft, 60 chords: 2 * 96 * sin(1.5 deg) each
    arc = [(96 + 96 * math.cos(math.radians(3 * k)), 48 + 96 * math.sin(math.radians(3 * k))) for k in range(1, 60)]
    outline = outline_of([(0, 0), (192, 0), (192, 48), *arc, (0, 48)])
    found = segments_of(outline, joists(outline), [], [], RIM)
    (line,) = found.lines
    # the chords at the ends are 0.26 in wide: over the end joists, the first that meets a bay ends beyond 1.5 in:
    # 96(1 - cos 3k) > 1.5 for k >= 4 (12 degrees: 2.098), so three chords at each end serve no bay
    assert len(line.stretches) == 60 - 6
    assert line.length_in == pytest.approx(54 * 2 * 96 * math.sin(math.radians(1.5)))
    assert {turn.kind for turn in line.corners} == {"outside"}
    assert [turn.angle_deg for turn in line.corners] == pytest.approx([177] * 53)


# ------------------------------------------------------------------------------------------------- beams and openings


def test_a_flush_beam_parts_every_bay():
    # 16 x 12 ft, a beam of two plies centred at 72: parts 1.5 to 70.5 and 73.5 to 142.5; water split at 72
    found = cut("0,0; 16,0; 16,12; 0,12", bands=[Band(70.5, 73.5, 72)])
    assert len(found.segments) == 24
    for one in found.segments:
        near = one.piece == 0
        assert (one.near_in, one.far_in) == ((1.5, 70.5) if near else (73.5, 142.5))
        assert (one.high, one.high_in, one.low) == (("ledger", 0, "beam") if near else ("beam", 3, "rim"))
        assert one.plan_sq_in == pytest.approx(16 * 72)
        assert one.wall_in == pytest.approx(16 if near else 0)
    assert [(one.kind, one.length_in) for one in found.lines] == [("beam", 192), ("rim", 192)]
    assert found.lines[0].stretches[0].y0 == 70.5
    assert {one.length_in for one in found.members} == {144}


STAIR = Hole(64.75, 111.25, 48, 96, 3.0, "back")  # 46.5 by 48 in, amid 16 x 12 ft; trimmers doubled, headers 3 in


@pytest.mark.parametrize("frame", [RIM, LEDGER])
def test_an_opening_amid_the_deck_sends_the_water_back(frame):
    found = cut("0,0; 16,0; 16,12; 0,12", frame, holes=[STAIR])
    split = [one for one in found.segments if one.pieces == 2]
    # bays between the trimmers' inner faces at 64.75 and 111.25: joists at 80 and 96 between them
    assert [one.number for one in split[::2]] == [5, 6, 7]
    before, behind = split[::2], split[1::2]
    assert {(one.near_in, one.far_in) for one in before} == {(1.5, 45.0)}
    assert {(one.near_in, one.far_in) for one in behind} == {(99.0, 142.5)}
    assert {(one.high, one.high_in, one.low) for one in before} == {("header", 3.0, "ledger")}
    assert {(one.high, one.high_in, one.low) for one in behind} == {("header", 3.0, "rim")}
    assert "header" not in {one.kind for one in found.lines}
    # trimmers 61.75-64.75 and 111.25-114.25 (packed with the joists at 64 and 112), centres 63.25 and 112.75: what lies
    # beside the opening goes to the bays outside it
    side, other = ("ledger", "rim") if frame is RIM else ("rim", "ledger")
    assert [(one.kind, one.length_in) for one in found.lines if one.kind == side] == [(side, 112.75 - 63.25)]
    # the other side is whole: its bays run from end to end or end behind the opening
    assert [one.length_in for one in found.lines if one.kind == other] == [192]
    assert [one.plan_sq_in for one in before] == pytest.approx([16.75 * 48, 16 * 48, 16.75 * 48])
    four = next(one for one in found.segments if one.number == 4)
    assert four.plan_sq_in == pytest.approx((63.25 - 48) * 144 + 1.5 * 48)
    assert [(one.near_in, one.far_in) for one in found.members if one.left_in == 79.25] == [(0, 48), (96, 144)]
    assert [one.length_in for one in found.members if one.left_in == 61.75] == [144]


@pytest.mark.parametrize("frame", [RIM, LEDGER])
def test_an_opening_with_a_gutter_at_its_header_lets_the_water_keep_its_way(frame):
    found = cut("0,0; 16,0; 16,12; 0,12", frame, holes=[replace(STAIR, gutter="header")])
    before, behind = ([one for one in found.segments if one.pieces == 2 and one.piece == piece] for piece in (0, 1))
    first, last = (before, behind) if frame is RIM else (behind, before)
    assert {one.low for one in first} == {"header"}
    assert {one.high for one in last} == {"header"}
    (line,) = [one for one in found.lines if one.kind == "header"]
    assert line.length_in == pytest.approx(112.75 - 63.25)  # between the trimmers' centres
    assert {one.line for one in first} == {found.lines.index(line)}
    assert line.stretches[0].y0 == (45.0 if frame is RIM else 99.0)


def test_between_two_openings_the_water_has_nowhere_else_to_go():
    # two openings in the same bays, with 34 in between their headers
    holes = [Hole(64.75, 111.25, 30, 50, 3, "back"), Hole(64.75, 111.25, 90, 110, 3, "back")]
    for frame, y in ((RIM, 87), (LEDGER, 53)):
        found = cut("0,0; 16,0; 16,12; 0,12", frame, holes=holes)
        middle = [one for one in found.segments if one.pieces == 3 and one.piece == 1]
        assert {(one.high, one.low, one.near_in, one.far_in) for one in middle} == {("header", "header", 53, 87)}
        (line,) = [one for one in found.lines if one.kind == "header"]
        assert line.stretches[0].y0 == y
    # where only one of them sends it back, it goes to the other's gutter
    mixed = [holes[0], replace(holes[1], gutter="header")]
    for frame in (RIM, LEDGER):
        found = cut("0,0; 16,0; 16,12; 0,12", frame, holes=mixed)
        assert 87 in {one.stretches[0].y0 for one in found.lines if one.kind == "header"}
        assert 53 not in {one.stretches[0].y0 for one in found.lines if one.kind == "header"}


def test_two_openings_side_by_side_make_two_lines_at_the_house():
    holes = [Hole(32.75, 47.25, 48, 96, 1.5, "back"), Hole(128.75, 143.25, 48, 96, 1.5, "back")]
    found = cut("0,0; 16,0; 16,12; 0,12", holes=holes)
    assert [one.kind for one in found.lines] == ["rim", "ledger", "ledger"]
    assert [one.length_in for one in found.lines] == [192, 14.5 + 3, 14.5 + 3]  # half of each doubled trimmer


def test_an_opening_at_the_edge_takes_the_edge():
    # a stair that opens the rim: 46.5 in wide, from 108 out
    hole = Hole(64.75, 111.25, 108, 144, 3, "back")
    found = cut("0,0; 16,0; 16,12; 0,12", holes=[hole])
    short = [one for one in found.segments if one.far_in < 142]
    assert {(one.far_in, one.pieces, one.low) for one in short} == {(105, 1, "ledger")}
    assert sum(one.plan_sq_in for one in found.segments) == pytest.approx(192 * 144 - 46.5 * 36)
    # the gutter stops at either side of it
    rims = [one.stretches[0] for one in found.lines if one.kind == "rim"]
    assert [(one.x0, one.x1) for one in rims] == [(0, 64.75), (111.25, 192)]
    (back,) = [one for one in found.lines if one.kind == "ledger"]
    assert back.length_in == pytest.approx(112.75 - 63.25)


# ------------------------------------------------------------------------------------------------------- rare shapes


def test_the_greatest_slant_counts_at_an_end_of_two_edges():
    # the rim turns amid the bay from 96 to 112: level to 100, then falling 1 in 1
    outline = feet("0,0; 16,0; 16,4.33333333333333333; 8.33333333333333333,12; 0,12")
    found = segments_of(outline, joists(outline), [], [], LEDGER)
    assert [one.high_slant for one in found.segments] == pytest.approx([*[1.0] * 6, *[math.sqrt(2)] * 6])
    assert found.segments[6].far_in == 142.5


def test_a_beam_across_a_bight_carries_two_gutters():
    # a U of 16 x 14 ft, the bight from 5 to 11 ft back to 5 ft out; a beam at 120 stands in both arms
    found = cut("0,0; 16,0; 16,14; 11,14; 11,5; 5,5; 5,14; 0,14", bands=[Band(118.5, 121.5, 120)])
    beams = [one.stretches[0] for one in found.lines if one.kind == "beam"]
    assert [(one.x0, one.x1, one.y0) for one in beams] == [(0, 60, 118.5), (132, 192, 118.5)]


def test_an_edge_that_an_opening_takes_whole_needs_no_joist():
    outline = feet("0,0; 16,0; 16,12; 0,12")
    assert edge_members(outline, [], T) == ((0, 1.5), (190.5, 192))
    assert edge_members(outline, [Hole(150, 192, 0, 144, 3, "back")], T) == ((0, 1.5),)
    assert edge_members(outline, [Hole(150, 192, 0, 100, 3, "back")], T) == ((0, 1.5), (190.5, 192))
    assert edge_members(outline, [Hole(150, 190, 0, 144, 3, "back")], T) == ((0, 1.5), (190.5, 192))


def test_half_a_member_goes_with_the_bay_it_faces_even_where_that_bay_is_closed():
    # a notch falls 10 in 1 to (95, 0.5): to 1.6 in off its tip ledger and slanted rim leave nothing, so bay 6 is closed
    # along the joist at 95.25, bay 7 open from its other face at 96.75
    tip = 95
    outline = outline_of([(0, 0), (192, 0), (192, 144), (tip + 14.35, 144), (tip, 0.5), (tip - 14.35, 144), (0, 144)])
    members = [(0, 1.5), *((16 * k - 0.75, 16 * k + 0.75) for k in range(1, 12)), (190.5, 192)]
    found = segments_of(outline, members, [], [], RIM)
    six, seven = ([one for one in found.segments if one.number == number] for number in (6, 7))
    assert len(six) == len(seven) == 1
    assert max(x for x, _ in six[0].corners) < 95.25 - 1
    assert min(x for x, _ in seven[0].corners) == 96.75
    whole = region(outline)
    assert six[0].plan_sq_in == pytest.approx(whole.intersection(shapely.box(80, 0, 96, 144)).area)
    assert seven[0].plan_sq_in == pytest.approx(whole.intersection(shapely.box(96, 0, 112, 144)).area)


def test_what_an_opening_cuts_off_goes_to_the_nearest_bay():
    # an opening over the whole depth leaves the left end joist alone: 1.5 x 144 sq in, nearest bay 5 behind the opening
    hole = Hole(1.5, 64.75, 0, 144, 3, "back")
    outline = feet("0,0; 16,0; 16,12; 0,12")
    found = segments_of(outline, joists(outline, [hole]), [], [hole], RIM)
    assert sum(one.plan_sq_in for one in found.segments) == pytest.approx((192 - 63.25) * 144)
    least = min(one.number for one in found.segments)
    assert [one.plan_sq_in for one in found.segments if one.number == least] == pytest.approx(
        [(80 - 64.75 + 1.5) * 144]
    )


def test_no_bay_no_segments():
    outline = feet("0,0; 0.25,0; 0.25,12; 0,12")  # two joists side by side
    found = segments_of(outline, [(0, 3)], [], [], RIM)
    assert (found.segments, found.lines) == ((), ())
    assert [one.length_in for one in found.members] == [144]
    shallow = feet("0,0; 16,0; 16,0.25; 0,0.25")  # ledger and rim back to back
    assert segments_of(shallow, joists(shallow), [], [], RIM).segments == ()
    bare = segments_of(outline, [], [], [], RIM)
    assert (bare.segments, bare.members, bare.lines) == ((), (), ())


@pytest.mark.parametrize("step_cm", [400, 401, 407.3, 533.34])
def test_a_metric_drawing_makes_no_slivers(step_cm):
    # centimetres are no whole sixteenths nor millionths: edges and the rounded faces along them differ by a hair
    points = [(0, 0), (731, 0), (731, 243.9), (step_cm, 243.9), (step_cm, 427), (0, 427)]
    outline = outline_of([(x / 2.54, y / 2.54) for x, y in points])
    members = joists(outline)
    found = segments_of(outline, members, [], [], RIM)
    assert [(one.number, one.pieces) for one in found.segments] == [(k, 1) for k in range(1, len(members))]
    assert [line.length_in for line in found.lines] == pytest.approx([step_cm / 2.54, (731 - step_cm) / 2.54])
    assert {round(one.run_in, 6) for one in found.segments} == {round(427 / 2.54 - 3, 6), round(243.9 / 2.54 - 3, 6)}


# ------------------------------------------------------------------------------------------------- random outlines


def hull(rng):
    points = [(rng.uniform(0, 300), rng.uniform(0, 240)) for _ in range(rng.randint(4, 30))]
    return list(shapely.convex_hull(shapely.MultiPoint(points)).exterior.coords)[:-1]


def star(rng):
    count = rng.randint(4, 40)
    turn, start = 2 * math.pi / count, rng.uniform(0, 7)
    radii = [rng.uniform(70, 160) for _ in range(count)]
    return [(r * math.cos(start + k * turn), r * math.sin(start + k * turn)) for k, r in enumerate(radii)]


def rectilinear(rng):
    boxes = []
    for _ in range(rng.randint(2, 8)):
        x, y = 6 * rng.randrange(40), 6 * rng.randrange(30)
        boxes.append(shapely.box(x, y, x + 6 * rng.randint(4, 20), y + 6 * rng.randint(4, 16)))
    whole = shapely.union_all(boxes)
    largest = max(shapely.get_parts(whole), key=lambda one: one.area)
    return list(largest.exterior.coords)[:-1]


SHAPES = {"hull": hull, "star": star, "rectilinear": rectilinear}


@dataclass(frozen=True)
class Case:
    """A random outline with joists, perhaps beams and openings."""

    name: str
    outline: Outline
    members: list
    bands: list
    holes: list
    frame: Frame

    def cut(self):
        return segments_of(self.outline, self.members, self.bands, self.holes, self.frame)

    def mirrored(self):
        """Return the same deck seen from below: left and right exchanged."""
        wide = self.outline.width_in
        return replace(
            self,
            outline=outline_of([(wide - x, y) for x, y in self.outline.corners]),
            members=sorted((wide - right, wide - left) for left, right in self.members),
            holes=[replace(hole, left_in=wide - hole.right_in, right_in=wide - hole.left_in) for hole in self.holes],
        )

    def turned(self):
        """Return the same deck with its house at the other side: ledger and rim exchanged."""
        deep, frame = self.outline.projection_in, self.frame
        return replace(
            self,
            outline=outline_of([(x, deep - y) for x, y in self.outline.corners]),
            bands=[Band(deep - band.far_in, deep - band.near_in, deep - band.centre_in) for band in self.bands],
            holes=[replace(hole, near_in=deep - hole.far_in, far_in=deep - hole.near_in) for hole in self.holes],
            frame=Frame(frame.rim_in, frame.ledger_in, "ledger" if frame.gutter_side == "rim" else "rim"),
        )


def opening(rng, outline):
    """Place an opening well within an outline, if there is room for one."""
    inside = shapely.Polygon(outline.corners).buffer(-9)
    if inside.is_empty:
        return []
    for _ in range(10):
        x, y = rng.uniform(5, outline.width_in), rng.uniform(5, outline.projection_in)
        wide, deep = rng.uniform(15, 60), rng.uniform(15, 60)
        if inside.contains(shapely.box(x, y, x + wide, y + deep)):
            return [Hole(x, x + wide, y, y + deep, rng.choice((1.5, 3)), rng.choice(("back", "header")))]
    return []


@functools.cache
def cut_of(kind, seed):
    return case(kind, seed).cut()


@functools.cache
def case(kind, seed, plain=False):
    rng = random.Random(f"{kind} {seed}")
    while True:
        try:
            outline = outline_of(SHAPES[kind](rng))
        except OutOfRange:  # a box touches another at a corner
            assert kind == "rectilinear"
            continue
        break
    frame = Frame(1.5, rng.choice((1.5, 3)), rng.choice(("rim", "ledger")))
    holes = [] if plain or seed % 3 else opening(rng, outline)
    bands = []
    if not plain and seed % 4 == 1:
        y = rng.uniform(20, outline.projection_in - 20)
        bands = [Band(y - 1.5, y + 1.5, y)]
    spacing = rng.choice((12, 16, 24))
    return Case(f"{kind} {seed}", outline, joists(outline, holes, spacing), bands, holes, frame)


MANY = [(kind, seed) for kind in SHAPES for seed in range(170)]  # 510 outlines
PLAIN = [(kind, 1000 + seed) for kind in SHAPES for seed in range(60)]


def same(values):
    return pytest.approx(values, rel=1e-6, abs=1e-6)


def test_the_random_cases_are_what_they_should_be():
    cases = [case(*one) for one in MANY]
    cuts = [cut_of(*one) for one in MANY]
    assert sum(bool(one.holes) for one in cases) > 60
    assert sum(bool(one.bands) for one in cases) > 100
    assert sum(max((s.pieces for s in cut.segments), default=0) > 1 for cut in cuts) > 150
    assert {line.kind for cut in cuts for line in cut.lines} == {"rim", "ledger", "beam", "header"}
    assert {turn.kind for cut in cuts for line in cut.lines for turn in line.corners} == {"outside", "inside"}


@pytest.mark.parametrize(("kind", "seed"), MANY)
def test_areas_against_shapely(kind, seed):
    one, found = case(kind, seed), cut_of(kind, seed)
    whole = region(one.outline, one.holes)
    assert whole.is_valid
    members = shapely.union_all([shapely.box(left, -1, right, 1e4) for left, right in one.members])
    steel = whole.intersection(members).area
    assert sum(piece.plan_sq_in for piece in found.members) == same(steel)
    for left, right in one.members:
        parts = shapely.get_parts(whole.intersection(shapely.box(left, -1, right, 1e4)))
        expected = sorted((part.bounds[1], part.bounds[3], part.area) for part in parts if part.area > 1e-6)
        mine = [piece for piece in found.members if piece.left_in == left]
        assert sorted((p.near_in, p.far_in, p.plan_sq_in) for p in mine) == [same(e) for e in expected]
    assert found.segments, one.name
    between = sum(segment.bay_sq_in for segment in found.segments)
    assert between + steel == same(whole.area)
    assert between == same(whole.difference(members).area)
    assert sum(segment.plan_sq_in for segment in found.segments) == same(whole.area)
    near = sum(edge.x1 - edge.x0 for edge in edges_of(one.outline) if edge.near)
    assert sum(segment.wall_in for segment in found.segments) == same(near)


def chords(outline, holes, x):
    """Cut the deck along one line with shapely: (near y, far y) of every piece."""
    line = shapely.LineString([(x, -1), (x, outline.projection_in + 1)])
    parts = shapely.get_parts(region(outline, holes).intersection(line))
    return sorted((part.bounds[1], part.bounds[3]) for part in parts if part.length > 1e-6)


def slant_at(outline, x, y):
    """1/cos of the edge of an outline that passes a point, found by trying every edge; nothing if none does."""
    corners = outline.corners
    for (x0, y0), (x1, y1) in zip(corners, (*corners[1:], corners[0]), strict=True):
        if min(x0, x1) < x < max(x0, x1) and abs(y0 + (y1 - y0) * (x - x0) / (x1 - x0) - y) < 1e-6:
            return math.hypot(x1 - x0, y1 - y0) / abs(x1 - x0)
    return None


def clear_at(one, x):
    """What is clear along one line, from the rules alone."""
    clear = shapely.MultiLineString([])
    solid = [shapely.box(-1, band.near_in, 1e4, band.far_in) for band in one.bands]
    solid += [
        shapely.box(hole.left_in, hole.near_in - hole.header_in, hole.right_in, hole.far_in + hole.header_in)
        for hole in one.holes
    ]
    for near, far in chords(one.outline, one.holes, x):
        low, high = slant_at(one.outline, x, near), slant_at(one.outline, x, far)
        start = near + (one.frame.ledger_in * low if low else 0)
        end = far - (one.frame.rim_in * high if high else 0)
        if end - start > 1e-6:
            clear = clear.union(shapely.LineString([(x, start), (x, end)]))
    for box in solid:
        clear = clear.difference(box)
    return sorted((part.bounds[1], part.bounds[3]) for part in shapely.get_parts(clear) if part.length > 1e-5)


@pytest.mark.parametrize(("kind", "seed"), MANY)
def test_what_is_clear_against_lines_through_the_bays(kind, seed):
    one, found = case(kind, seed), cut_of(kind, seed)
    rng = random.Random(seed)
    shapes = [shapely.Polygon(segment.corners) for segment in found.segments]
    for number, ((_, left), (right, _)) in enumerate(zip(one.members, one.members[1:], strict=False), 1):
        x = rng.uniform(left, right)
        expected = clear_at(one, x)
        line = shapely.LineString([(x, -1), (x, 1e4)])
        mine = []
        for segment, shape in zip(found.segments, shapes, strict=True):
            if segment.number == number:
                parts = shapely.get_parts(shape.intersection(line))
                mine += [(part.bounds[1], part.bounds[3]) for part in parts if part.length > 1e-5]
        assert sorted(mine) == [pytest.approx(pair, abs=2e-5) for pair in expected]


@pytest.mark.parametrize(("kind", "seed"), MANY)
def test_runs_and_shapes_of_segments(kind, seed):
    one, found = case(kind, seed), cut_of(kind, seed)
    whole = region(one.outline, one.holes).buffer(1e-5)
    assert [(s.number, s.piece) for s in found.segments] == sorted((s.number, s.piece) for s in found.segments)
    for segment in found.segments:
        shape = shapely.Polygon(segment.corners)
        assert shape.is_valid
        assert whole.contains(shape)
        left, near, right, far = shape.bounds
        assert (near, far) == pytest.approx((segment.near_in, segment.far_in), abs=1e-5)
        assert segment.run_in == segment.far_in - segment.near_in > 0
        assert segment.left_in - 1e-6 <= left < right <= segment.left_in + segment.clear_in + 1e-6
        assert segment.clear_in == pytest.approx(one.members[segment.number][0] - one.members[segment.number - 1][1])
        assert segment.plan_sq_in >= segment.bay_sq_in - 1e-6
        assert segment.bay_sq_in >= shape.area - 1e-4
        assert {segment.high, segment.low} <= {"ledger", "rim", "beam", "header"}
        assert segment.high_slant >= 1


@pytest.mark.parametrize(("kind", "seed"), [one for one in PLAIN if one[0] == "hull"])
def test_the_catchment_of_a_bay_of_a_convex_deck_is_the_deck_between_its_members_centres(kind, seed):
    one = case(kind, seed, plain=True)
    found = one.cut()
    numbers = [segment.number for segment in found.segments]
    assert len(set(numbers)) == len(numbers)
    whole = region(one.outline)
    bounds = [0, *((left + right) / 2 for left, right in one.members[1:-1]), one.outline.width_in]
    for segment in found.segments:
        if {segment.number - 1, segment.number + 1} - {0, len(one.members)} <= set(numbers):
            strip = shapely.box(bounds[segment.number - 1], -1, bounds[segment.number], 1e4)
            assert segment.plan_sq_in == pytest.approx(whole.intersection(strip).area, abs=1e-3)


@pytest.mark.parametrize(("kind", "seed"), MANY)
def test_lines_lie_where_the_water_leaves(kind, seed):
    one, found = case(kind, seed), cut_of(kind, seed)
    rings = region(one.outline, one.holes).boundary
    serving = {number: [] for number in range(len(found.lines))}
    for segment in found.segments:
        serving[segment.line].append(segment)
        assert segment.low == found.lines[segment.line].kind
    shore = {"rim": 0.0, "ledger": 0.0}
    for number, line in enumerate(found.lines):
        assert serving[number]
        assert len(line.corners) == len(line.stretches) - 1
        for stretch in line.stretches:
            assert stretch.x0 < stretch.x1
            assert stretch.length_in == pytest.approx(math.dist((stretch.x0, stretch.y0), (stretch.x1, stretch.y1)))
            if line.kind in shore:
                assert rings.buffer(1e-5).contains(
                    shapely.LineString([(stretch.x0, stretch.y0), (stretch.x1, stretch.y1)])
                )
                shore[line.kind] += stretch.length_in
        for before, turn, after in zip(line.stretches, line.corners, line.stretches[1:], strict=False):
            assert (before.x1, before.y1) == (turn.x, turn.y) == (after.x0, after.y0)
            inner = (
                shapely.Point(turn.x, turn.y)
                .buffer(1e-3, quad_segs=256)
                .intersection(shapely.Polygon(one.outline.corners))
            )
            assert turn.angle_deg == pytest.approx(inner.area / (math.pi * 1e-6) * 360, abs=0.1)
            assert turn.kind == ("outside" if turn.angle_deg < 180 else "inside")
    length = {
        near: sum(math.dist((e.x0, e.y0), (e.x1, e.y1)) for e in edges_of(one.outline) if e.near is near)
        for near in (True, False)
    }
    assert shore["rim"] <= length[False] + 1e-6
    assert shore["ledger"] <= length[True] + 1e-6


def told(found, number=lambda number: number, word=lambda word: word):
    """Everything a cutout says that no point of view may change, in an order of its own."""
    segments = sorted(
        (
            number(one.number),
            round(one.run_in, 5),
            round(one.plan_sq_in, 3),
            round(one.bay_sq_in, 3),
            word(one.high),
            word(one.low),
            round(one.high_in, 6),
            round(one.high_slant, 6),
            one.pieces,
            round(found.lines[one.line].length_in, 4),
        )
        for one in found.segments
    )
    members = sorted((round(one.length_in, 5), round(one.plan_sq_in, 3)) for one in found.members)
    lines = sorted(
        (word(line.kind), round(line.length_in, 4), *sorted((t.kind, round(t.angle_deg, 6)) for t in line.corners))
        for line in found.lines
    )
    return segments, members, lines


def close(one, other):
    """Compare what was told, numbers to a thousandth."""
    for left, right in zip(one, other, strict=True):
        assert len(left) == len(right)
        for a, b in zip(left, right, strict=True):
            assert len(a) == len(b)
            for x, y in zip(a, b, strict=True):
                assert x == (pytest.approx(y, rel=1e-6, abs=2e-3) if isinstance(y, float) else y)


@pytest.mark.parametrize(("kind", "seed"), MANY)
def test_mirror_shift_turn_and_another_first_corner_change_nothing(kind, seed):
    one, found = case(kind, seed), cut_of(kind, seed)
    bays = len(one.members)
    # left and right exchanged: bay k is bay bays - k
    close(told(found), told(one.mirrored().cut(), number=lambda number: bays - number))
    # house and rim exchanged, water still to the same side of the deck: the words change, nothing else
    words = {"ledger": "rim", "rim": "ledger"}
    close(told(found), told(one.turned().cut(), word=lambda word: words.get(word, word)))
    # a drawing begun elsewhere, the other way round and from another corner
    rng = random.Random(seed)
    corners = list(one.outline.corners)
    first, dx, dy = rng.randrange(len(corners)), rng.uniform(-500, 500), rng.uniform(-500, 500)
    moved = [(x + dx, y + dy) for x, y in [*corners[first:], *corners[:first]]][:: rng.choice((1, -1))]
    close(told(found), told(replace(one, outline=outline_of(moved)).cut()))


def test_crossings_counted_before_anything_is_cut():
    """A block of 20 by 3 ft, two notches of a foot from the right: bays at 1 ft past the first are in three pieces."""
    corners = [(0, 0), (20, 0), (20, 1), (1, 1), (1, 2), (20, 2), (20, 3), (1, 3), (1, 4), (20, 4), (20, 5), (0, 5)]
    outline = outline_of([(x * 12.0, y * 12.0) for x, y in corners])
    members = [(at * 12.0, at * 12.0 + 1.5) for at in range(20)] + [(238.5, 240.0)]
    assert crossings(outline, members) == 1 + 19 * 3
