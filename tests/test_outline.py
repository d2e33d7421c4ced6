"""Outlines: which corners are a simple polygon, how they are written and read, and what is refused with the corner."""

from __future__ import annotations

import math
import random
import re

import pytest
import shapely

from baybook.outline import Outline, edges_of, outline_of, parse_outline, show_outline
from baybook.problems import OutOfRange
from baybook.units import parse_length

CLIPPED = "0,0; 16,0; 16,9; 12,14; 0,14"


def feet(text):
    return parse_length(text, "ft")


def in_feet(*corners):
    return [(12 * x, 12 * y) for x, y in corners]


def shown(outline):
    return show_outline(outline, lambda inches: f"{inches / 12:.12g}")


def test_a_clipped_corner():
    # 16 x 14 ft less the triangle of 4 x 5 ft at the corner: 224 - 10 = 214 sq ft
    outline = parse_outline(CLIPPED, feet)
    assert outline.corners == ((0, 0), (192, 0), (192, 108), (144, 168), (0, 168))
    assert (outline.width_in, outline.projection_in, outline.area_sq_in / 144) == (192, 168, 214)
    assert not outline.rectangle


def test_either_direction_and_any_first_corner_is_the_same_deck():
    corners = in_feet((0, 0), (16, 0), (16, 9), (12, 14), (0, 14))
    there = outline_of(corners)
    back = outline_of(corners[::-1])
    assert back.corners == (there.corners[-1], *there.corners[:-1])  # the first corner given stays the first
    assert outline_of(corners[2:] + corners[:2]).corners == there.corners[2:] + there.corners[:2]
    assert back.area_sq_in == there.area_sq_in == 214 * 144


def test_the_least_x_and_y_become_0_wherever_the_drawing_begins():
    # 100 ft to the left and 7 ft out: whole inches, so exact
    assert outline_of(in_feet((-100, 7), (-84, 7), (-84, 19), (-100, 19))) == outline_of(
        in_feet((0, 0), (16, 0), (16, 12), (0, 12))
    )


def test_corners_in_a_straight_are_dropped():
    outline = outline_of(in_feet((8, 0), (16, 0), (16, 5), (16, 12), (4, 12), (0, 12), (0, 0)))
    assert outline.corners == ((192, 0), (192, 144), (0, 144), (0, 0))
    assert outline.rectangle


def test_a_very_flat_curve_keeps_its_corners():
    # a chord of 1 in on a radius of 1,000 ft lies 1/(8*12000) = 1.04e-5 in off its arc: more than a millionth
    radius, step = 12_000, 1 / 12_000
    arc = [(radius * math.sin(k * step), radius * math.cos(k * step) - radius) for k in range(-3, 4)]
    assert len(outline_of([(-3, -100), (3, -100), *arc[::-1]]).corners) == 9


@pytest.mark.parametrize(
    ("corners", "box"),
    [
        (in_feet((0, 0), (16, 0), (16, 12), (0, 12)), True),
        ([(0, 0), (100, 0), (100, 50.0000001), (0, 50)], True),  # equal to six places
        ([(0, 0), (100, 0), (100, 50.00001), (0, 50)], False),
        ([(0, 0), (100, 10), (90, 110), (-10, 100)], False),  # a square, turned
        ([(0, 0), (100, 0), (120, 50), (20, 50)], False),  # a parallelogram
    ],
)
def test_a_rectangle_is_a_box_along_the_ledger(corners, box):
    assert outline_of(corners).rectangle is box


def test_area_of_regular_polygons_against_the_closed_form():
    # n corners on a circle of radius r: n/2 r^2 sin(2 pi/n)
    for count in (3, 5, 8, 60, 400):
        turn = 2 * math.pi / count
        corners = [(120 * math.cos(k * turn + 0.1), 120 * math.sin(k * turn + 0.1)) for k in range(count)]
        assert outline_of(corners).area_sq_in == pytest.approx(count / 2 * 120**2 * math.sin(turn), rel=1e-12)


# ---------------------------------------------------------------------------------------------------- what is refused


@pytest.mark.parametrize(
    ("corners", "words"),
    [
        (in_feet((0, 0), (16, 0)), r"^2 corners: an outline needs at least 3"),
        ([(k, k * k) for k in range(401)], r"^401 corners: an outline has 400 at most"),
        (in_feet((0, 0), (16, 0), (16, 0), (0, 9)), r"^corner 3 \(16, 0\): the same place as corner 2 \(16, 0\)"),
        (in_feet((0, 0), (16, 0), (0, 9), (0, 0)), r"^corner 1 \(0, 0\): the same place as corner 4 \(0, 0\)"),
        (
            in_feet((0, 0), (16, 0), (16, 9), (16, 4), (0, 9)),
            r"^corner 3 \(16, 9\): the edge from it to corner 4 \(16, 4\) goes back over the one from corner 2 ",
        ),
        (in_feet((0, 0), (16, 0), (8, 0)), r"^corner 1 \(0, 0\): .* goes back over"),
        (
            in_feet((0, 0), (16, 9), (16, 0), (0, 9)),
            r"^corner 1 \(0, 0\): the edge from it to corner 2 \(16, 9\) crosses the edge from corner 3 .* corner 4 ",
        ),
        (
            in_feet((0, 0), (16, 0), (16, 9), (8, 0), (0, 9)),
            r"^corner 4 \(8, 0\): it touches the edge from corner 1 \(0, 0\) to corner 2 \(16, 0\)",
        ),
        (  # two boxes that share a corner
            in_feet((0, 0), (8, 0), (8, 6), (16, 6), (16, 12), (8, 12), (8, 6), (0, 6)),
            r"^corner 7 \(8, 6\): the outline was at this place before, at corner 3 \(8, 6\)",
        ),
        (  # edges that lie on one another for a stretch
            in_feet((0, 0), (16, 0), (16, 9), (12, 9), (12, 0), (4, 0), (4, 9), (0, 9)),
            r"^corner 5 \(12, 0\): it touches the edge from corner 1",
        ),
        ([(0, 0), (0.01, 0), (0.01, 12), (0, 12)], r"^corner 1 \(0, 0\): .* less than a square inch"),
        ([(0, 0), (float("nan"), 0), (0, 12)], r"^corner 2 \(nan, 0\): both must be lengths"),
        ([(0, 0), (192, 0), (0, float("inf"))], r"^corner 3 \(0, inf\)"),
    ],
)
def test_what_is_no_simple_polygon_is_refused_with_its_corner(corners, words):
    with pytest.raises(OutOfRange, match=words):
        outline_of(corners)


def test_touching_is_judged_to_a_millionth_of_an_inch():
    def notched(gap_in):  # a notch from the far edge down to a gap above the near one
        return [(0, 0), (192, 0), (192, 100), (96, gap_in), (0, 100)]

    assert len(outline_of(notched(1e-5)).corners) == 5
    with pytest.raises(OutOfRange, match=r"^corner 4 \(8, .*\): it touches"):
        outline_of(notched(5e-7))


def test_a_spike_is_judged_to_a_millionth_of_an_inch():
    def spiked(wide_in):  # from (192, 100) out to x = 292 and back, so much lower
        return [(0, 0), (192, 0), (192, 100 - wide_in), (292, 100), (192, 100), (0, 100)]

    assert outline_of(spiked(1e-3)).width_in == 292
    with pytest.raises(OutOfRange, match=r"^corner 4 .* goes back over"):
        outline_of(spiked(1e-7))


def test_random_chains_are_refused_exactly_when_shapely_calls_them_invalid():
    rng = random.Random(12)
    refused = 0
    for _ in range(600):
        count = rng.randint(3, 12)
        turn = 2 * math.pi / count
        radii = [rng.uniform(40, 200) for _ in range(count)]
        corners = [(r * math.cos(k * turn), r * math.sin(k * turn)) for k, r in enumerate(radii)]
        for _ in range(rng.randint(0, 2)):
            k = rng.randrange(count - 1)
            corners[k], corners[k + 1] = corners[k + 1], corners[k]
        if shapely.Polygon(corners).is_valid:
            assert outline_of(corners).area_sq_in == pytest.approx(shapely.Polygon(corners).area, rel=1e-12)
        else:
            refused += 1
            with pytest.raises(OutOfRange, match=r"^corner \d+ .* crosses the edge from corner \d+") as why:
                outline_of(corners)
            numbers = [int(number) - 1 for number in re.findall(r"corner (\d+)", str(why.value))]
            one, other = (
                shapely.LineString([corners[start], corners[end]]) for start, end in (numbers[:2], numbers[2:])
            )
            assert one.crosses(other)  # the two edges named are two that cross
    assert 100 < refused < 500


# ------------------------------------------------------------------------------------------------- written and read


@pytest.mark.parametrize(
    "text",
    [
        CLIPPED,
        CLIPPED + ";",
        CLIPPED + "; 0,0",
        CLIPPED + " ; 0 , 0 ; ",
        "0 ft,0in; 16',0; 192 in,9'; 12 ft 0 in,14'; 0,4.2672 m",
    ],
)
def test_an_outline_is_read_as_people_write_it(text):
    assert parse_outline(text, feet).corners == ((0, 0), (192, 0), (192, 108), (144, 168), (0, 168))


def test_a_text_reads_back_as_the_same():
    assert shown(parse_outline(CLIPPED, feet)) == CLIPPED
    rng = random.Random(4)
    for _ in range(50):
        count = rng.randint(3, 40)
        turn = 2 * math.pi / count
        corners = [
            (round(r * math.cos(k * turn) * 16) / 16, round(r * math.sin(k * turn) * 16) / 16)
            for k in range(count)
            for r in (rng.uniform(100, 300),)
        ]
        outline = outline_of(corners[:: rng.choice((1, -1))])
        text = show_outline(outline, lambda inches: f"{inches!r} in")
        assert parse_outline(text, feet) == outline
        assert show_outline(parse_outline(text, feet), lambda inches: f"{inches!r} in") == text


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", r"^0 corners"),
        (" ; ", r"^corner 1 is empty: write two lengths with a comma between, such as 16,9"),
        ("0,0; 16,0;; 0,9", r"^corner 3 is empty"),
        ("0,0; 16; 0,9", r"^corner 2 is 16: write two lengths with a comma between"),
        ("0,0; 16,5,9; 0,9", r"^corner 2 is 16,5,9: .*decimals with a point"),
        ("0,0; 16,x; 0,9", r"^corner 2 \(16,x\): x "),
        ("0,0; 16,; 0,9", r"^corner 2 \(16,\): "),
        ("0,0; " * 500, r"^500 corners: an outline has 400 at most"),
        ("0,0; 16,0; 16,9; 0,9; 0,9", r"^corner 5 \(0, 9\): the same place as corner 4"),
        ("0,0; 0,0", r"^1 corners"),
        ("0,0; " + "9" * 5000 + "; 0,9", r"^corner 2 is 9{57}\.\.\.: write"),
    ],
)
def test_what_cannot_be_read_is_named_with_its_corner(text, words):
    with pytest.raises(OutOfRange, match=words):
        parse_outline(text, feet)


def test_a_comma_in_a_length_is_left_to_the_reader_of_lengths():
    # "bare" None: a metric book refuses a number without a unit; the sentence keeps the corner
    with pytest.raises(OutOfRange, match=r"^corner 2 \(4 m,3\): 3 "):
        parse_outline("0 m,0 m; 4 m,3; 0 m,3 m", lambda text: parse_length(text, None))
    assert parse_outline("0 m,0 m; 4 m,0 m; 0 m,3 m", lambda text: parse_length(text, None)).width_in == pytest.approx(
        4000 / 25.4
    )


# ------------------------------------------------------------------------------------------------------------- edges


def test_edges_by_side_chain_and_angle():
    # bay front 16 ft wide: sides to 8 ft, slants of 4 ft by 4 ft (45 degrees), front of 8 ft at 12 ft: inner angles 135
    near, left, front, right = sorted(
        edges_of(parse_outline("0,0; 16,0; 16,8; 12,12; 4,12; 0,8", feet)), key=lambda edge: (not edge.near, edge.x0)
    )
    assert [edge.near for edge in (near, left, front, right)] == [True, False, False, False]
    assert [edge.place for edge in (near, left, front, right)] == [0, 0, 1, 2]
    assert left.chain == front.chain == right.chain != near.chain
    assert [edge.slant for edge in (near, left, front, right)] == pytest.approx([1, math.sqrt(2)] * 2)
    assert [edge.turn_deg for edge in (left, front)] == pytest.approx([135, 135])
    assert right.turn_deg == pytest.approx(135)  # at the corner where the side begins
    assert near.turn_deg == pytest.approx(90)


def test_an_edge_parallel_to_the_joists_ends_a_chain():
    # an L: two far edges, the step of 6 ft between them
    edges = edges_of(parse_outline("0,0; 16,0; 16,8; 8,8; 8,14; 0,14", feet))
    assert len({edge.chain for edge in edges}) == len(edges) == 3


def test_a_tip_without_a_parallel_edge_parts_near_from_far():
    # a triangle with its corners at both ends of the far edge: near chain of two edges, far chain of one
    edges = edges_of(parse_outline("8,0; 16,12; 0,12", feet))
    assert sorted((edge.near, edge.place) for edge in edges) == [(False, 0), (True, 0), (True, 1)]
    assert len({edge.chain for edge in edges}) == 2


def test_the_y_of_an_edge_is_exact_at_its_ends_and_clamped_past_them():
    edge = next(edge for edge in edges_of(Outline(((0, 0), (7, 0), (7, 0.3), (0, 0.1)))) if not edge.near)
    assert [edge.y_at(x) for x in (-1, 0, 7, 9)] == [0.1, 0.1, 0.3, 0.3]
    assert edge.y_at(3.5) == pytest.approx(0.2)
