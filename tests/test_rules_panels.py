"""Rules P1 to P7: panels, cap strips, splices and what the cut plan covers, each at the value where a count changes."""

from __future__ import annotations

import math

import pytest
from books import PRICE_ROWS, estimate, offer, prices_with, taken

from baybook.problems import BookError
from baybook.takeoff.panels import pieces_of_panel, width_needed_in


def part(name="main", **changes):
    return taken(**changes)["areas"][name]


def cut(projection_in, **changes):
    """Return the cut length of the example's deck at another projection; 1.5 under it unless something changes."""
    return part(area={"projection": f"{projection_in} in"}, **changes)["cut_lengths_in"][0]


def pieces(job):
    """Return the pieces of one panel, in inches, upper first."""
    return [length / 16 for length in job.takeoff.parts[0].panel_pieces]


def member(x, plies=1):
    return {"kind": "member", "x": f"{x} in", "plies": plies}


def liner_offer(feet, width, price="50.00", **more):
    return offer("liner", price, sku=f"liner-{feet}-{width}", length=f"{feet} ft", width=f"{width} in", **more)


def with_liners(*offers):
    return [row for row in PRICE_ROWS if row["item"] != "liner"] + list(offers)


# ---------------------------------------------------------------------------------------------- P1, P2, P3


@pytest.mark.parametrize(
    ("area", "rates", "run"),
    [
        ({}, {}, 141),  # 144 - 1.5 - 1.5
        ({"rim_plies": 3}, {}, 138),
        ({"joist_thickness": "1.75", "rim_plies": 2}, {}, 139),  # 144 - 1.5 - 3.5
        ({}, {"ledger_thickness_in": 3}, 139.5),
        ({"projection": "3.0625 in"}, {}, 0.0625),
    ],
)
def test_p1_clear_run(area, rates, run):
    assert part(area=area, rates=rates)["clear_run_in"] == run


@pytest.mark.parametrize("projection", ["3 in", "2.9375 in"])
def test_p1_a_clear_run_of_nothing_is_an_error(projection):
    with pytest.raises(BookError, match=r"areas.csv:2: projection: area main: .*clear run.*\(P1\)"):
        taken(area={"projection": projection})


@pytest.mark.parametrize(("y", "good"), [(76.5625, True), (76.5, False), (76, False)])
def test_p1_beams_that_leave_a_part_nothing_are_an_error(y, good):
    # three plies at 72: 69.75 to 74.25; the other's near face at y - 2.25
    framing = [{"kind": "flush_beam", "y": f"{one} in", "plies": 3} for one in (72, y)]
    if good:
        assert part("main/2", framing=framing)["clear_run_in"] == 0.0625
    else:
        with pytest.raises(BookError, match="part main/2"):
            taken(framing=framing)


@pytest.mark.parametrize(
    ("projection", "length"),
    [
        (144, 142.5),
        (144.0625, 143),
        (144.5, 143),  # a multiple stays
        (144.0000002, 142.5),  # 285.0000004 steps: still a multiple, to six places
        (143.9375, 142.5),
    ],
)
def test_p2_up_to_the_next_multiple_of_the_step(projection, length):
    assert cut(projection) == length


@pytest.mark.parametrize(
    ("liner", "rates", "length"),
    [
        ({"high_lap_in": 3}, {}, 144),
        ({"low_setback_in": 0}, {}, 145.5),
        ({}, {"trim_allowance_in": 0}, 139.5),
        ({}, {"cut_step_in": 12}, 144),
        ({}, {"cut_step_in": 0.7}, 142.8125),  # 204 * 0.7 = 142.8, up to a sixteenth
        ({"high_lap_in": 1.5625}, {"cut_step_in": 0.0625}, 142.5625),
    ],
)
def test_p2_laps_setback_trim_and_step(liner, rates, length):
    assert cut(144, liner=liner, rates=rates) == length


def test_p2_lengths_are_whole_sixteenths():
    assert cut(144.03, rates={"cut_step_in": 0.001}) == 142.5625  # 142.53


@pytest.mark.parametrize(("projection", "good"), [("46.5625 in", True), ("46.5 in", False)])
def test_p2_a_setback_that_takes_the_whole_panel_is_an_error(projection, good):
    # 43.5 + 1.5 - 48 + 3 = 0
    changes = {"area": {"projection": projection}, "liner": {"low_setback_in": 48}}
    if good:
        assert part(**changes)["cut_lengths_in"][0] == 0.5
    else:
        with pytest.raises(BookError, match=r"areas.csv:2: projection: .*setback takes the whole panel"):
            taken(**changes)


@pytest.mark.parametrize(
    ("projection", "drape", "frame", "fall", "warned"),
    [
        (147, 3, 0, 0.25, False),  # 12 * 3 / 144: not below the least
        (147.0625, 3, 0, 36 / 144.0625, True),
        (146.9375, 3, 0, 36 / 143.9375, False),
        (147, 3, 0.125, 0.375, False),  # the frame falls with it
        (147, 3, -0.0625, 0.1875, True),  # or against it
        (99, 4, -0.25, 0.25, False),  # 12 * 4 / 96 - 0.25
    ],
)
def test_p3_fall_and_its_least(projection, drape, frame, fall, warned):
    area = {"projection": f"{projection} in", "frame_fall_in_per_ft": frame}
    job = estimate(area=area, liner={"drape_in": drape})
    assert job.takeoff.parts[0].fall_in_per_ft == pytest.approx(fall, abs=1e-9)
    assert [one.rule for one in job.findings] == (["P3"] if warned else [])


# ---------------------------------------------------------------------------------------------- P4


@pytest.mark.parametrize(
    ("clear", "drape", "lap", "width"),
    [
        (14.4, 5.4, 1.5, 21),  # half 7.2, drape 5.4: a side of 9
        (6, 4, 0, 10),  # 3, 4, 5
        (14.5, 0, 1.5, 17.5),  # flat
    ],
)
def test_p4_width_needed(clear, drape, lap, width):
    assert width_needed_in(clear, drape, lap) == pytest.approx(width, abs=1e-12)


@pytest.mark.parametrize(("width", "fits"), [(21, True), (20.9375, False), (20.9999996, True), (20.999999, False)])
def test_p4_an_offer_is_eligible_if_as_wide_as_the_widest_need(width, fits):
    # joists 1.6 thick: bays of 14.4, which need 21 at a drape of 5.4; 20.9375 spans 14.3217: 15.9217
    changes = {
        "area": {"joist_thickness": "1.6"},
        "liner": {"drape_in": 5.4},
        "prices": with_liners(liner_offer(12, width)),
    }
    if fits:
        assert taken(**changes)["items"]["liner"]["net"] == 12
    else:
        with pytest.raises(
            BookError, match=r"needs 21\.000 in, the widest offer is .* joists at 15\.(875|9375) in.*\(P4\)"
        ):
            taken(**changes)


@pytest.mark.parametrize(("spacing", "fits"), [("16", True), ("16.0625", False)])
def test_p4_a_liner_is_not_laid_wider_than_it_is_made_for(spacing, fits):
    changes = {"area": {"spacing": spacing}, "prices": with_liners(liner_offer(12, 24))}
    if fits:
        assert taken(**changes)["bays"] == 12
    else:
        with pytest.raises(BookError, match=r"areas.csv:2: spacing: .*16\.0625 in on centre.*16 in is the widest"):
            taken(**changes)


def test_p4_the_widest_spacing_named_is_never_over_what_the_liner_is_made_for():
    # without the joist at 96 there would be no pair to lie on: a divider's pair under wide boards leaves 21.5 between
    changes = {"framing": [{"kind": "divider", "x": "8 ft"}], "rates": {"board_width_in": 24.3125}}
    with pytest.raises(BookError, match=r"spans a clear bay of 15\.00 in at most, so joists at 16 in on centre"):
        taken(**changes)


def test_p4_the_widest_need_may_be_an_apron_or_a_strip():
    with pytest.raises(BookError, match=r"needs 24\.000 in"):
        taken(area={"gutter_side": "ledger"}, rates={"apron_in": 24})
    assert taken(rates={"apron_in": 24})["bays"] == 12  # a rim-side gutter has none


@pytest.mark.parametrize(
    ("widths", "stock"),
    [
        ((20, 24), 20),
        ((24, 20), 20),
        ((19, 24), 24),
        ((19.560495, 24), 19.560495),  # 19.5604951 to six places
        ((19.560494, 24), 24),
    ],
)
def test_p4_stock_width_is_the_narrowest_eligible(widths, stock):
    # w of the widest bay is 19.560495
    job = estimate(prices=with_liners(*(liner_offer(12, width) for width in widths)))
    off = [bay.trim_off_in for bay in job.takeoff.parts[0].bays]
    assert off == pytest.approx([stock - 18.907938] + [stock - 19.560495] * 10 + [stock - 18.907938], abs=1e-6)


@pytest.mark.parametrize("spacings", [("12", "16"), ("16", "12")])
def test_p4_the_widest_need_is_that_of_all_areas_of_the_liner(spacings):
    # at 12 on centre w = 2 * sqrt(5.25^2 + 16) + 3 = 16.2; both areas take the 20 in that the one at 16 needs
    areas = [{"area": name, "spacing": spacing} for name, spacing in zip("ab", spacings, strict=True)]
    job = estimate(areas=areas, prices=with_liners(liner_offer(12, 17, "1.00"), liner_offer(16, 20)))
    assert [one.planned for one in job.cuts[0].bought] == [28]  # 16 + 12 panels, none on the narrower sheets


# ---------------------------------------------------------------------------------------------- P5


@pytest.mark.parametrize(
    ("rows", "strips", "lengths"),
    [
        # bays of 5 beside joists 1, 2, 3 ...: strips of 8 in, floor(20/8) = 2 side by side
        (1, 1, 1),
        (2, 2, 1),
        (3, 3, 2),
        (4, 4, 2),
        (5, 5, 3),
    ],
)
def test_p5_narrow_strips_lie_side_by_side(rows, strips, lengths):
    framing = [member(16 * k + 6.5) for k in range(1, rows + 1)]
    job = estimate(framing=framing)
    assert job.takeoff.parts[0].strips == strips
    # the bays beside them are 8 wide and drain
    assert len(job.takeoff.cut[0].pieces) == 12 + lengths


@pytest.mark.parametrize(
    ("gap", "lengths"),
    [
        (5, 1),  # strips of 5 + 5 = 10: floor(30/10) = 3
        (5.0625, 2),  # 10.0625: floor(2.98) = 2
    ],
)
def test_p5_the_number_side_by_side_turns_at_the_whole(gap, lengths):
    job = estimate(
        framing=[member(16 * k + 1.5 + gap) for k in (1, 2, 3)],
        liner={"side_lap_in": 2.5},
        rates={"narrow_bay_in": 5.0625},
        prices=with_liners(liner_offer(16, 30)),
    )
    assert (job.takeoff.parts[0].narrow_bays, len(job.takeoff.cut[0].pieces)) == (3, 12 + lengths)


def test_p5_each_kind_is_cut_as_wide_as_its_widest():
    # bays of 5 and 3: all strips 8 wide, two side by side, so three of them take two lengths
    framing = [member(22.5), member(36.5), member(52.5)]  # gaps 5, 3, 3
    job = estimate(framing=framing)
    only = job.takeoff.parts[0]
    assert (only.narrow_bays, only.narrow_strip_in, only.wide_members) == (3, 8, 0)
    assert len(job.takeoff.cut[0].pieces) == 12 + 2


@pytest.mark.parametrize(
    ("share", "strips"),
    [(1.5, 1), (2, 0), (1.9375, 1)],  # limits 2.25, 3, 2.90625 against a doubled joist of 3
)
def test_p5_a_member_wider_than_its_share_of_the_lap_is_capped(share, strips):
    job = estimate(framing=[member(96, 2)], rates={"wide_member": share})
    only = job.takeoff.parts[0]
    assert (only.wide_members, only.wide_strip_in) == (strips, 3 * strips)
    assert len(job.takeoff.cut[0].pieces) == 12 + strips


def test_p5_member_strips_are_cut_as_wide_as_the_widest_member():
    # 3 and 4.5 wide: floor(20/4.5) = 4 side by side
    rows = [member(16 * k, 2) for k in (2, 4, 6, 8)] + [member(160, 3)]
    job = estimate(framing=rows)
    assert job.takeoff.parts[0].wide_strip_in == 4.5
    assert len(job.takeoff.cut[0].pieces) == 12 + 2


def test_p5_end_members_are_not_capped():
    assert estimate(framing=[member(2.25)]).takeoff.parts[0].wide_members == 0  # 0 to 3


@pytest.mark.parametrize(("count", "lengths"), [(6, 1), (7, 2)])
def test_p5_member_strips_are_a_kind_of_their_own(count, lengths):
    # doubled joists 3 wide: floor(20/3) = 6 side by side; one narrow bay more takes a length of its own
    doubled = [member(16 * k, 2) for k in range(1, count + 1)]
    assert len(estimate(framing=doubled).takeoff.cut[0].pieces) == 12 + lengths
    both = [*doubled, member(16 * 9 + 6.5)]
    assert len(estimate(framing=both).takeoff.cut[0].pieces) == 12 + 1 + lengths


def test_p5_strips_pool_only_within_their_part():
    beam = {"kind": "flush_beam", "y": "6 ft", "plies": 1}
    job = estimate(framing=[member(22.5), beam])
    # a part each: 12 panels and 1 strip of its own cut length
    assert [len(job.takeoff.cut[0].pieces), job.takeoff.tasks["piece"]] == [26, 26]


@pytest.mark.parametrize(("other", "aprons"), [("16 ft", 1), ("14 ft 8 in", 2)])
def test_p5_aprons_pool_by_length_over_the_areas_of_one_liner(other, aprons):
    # 9 wide: floor(20/9) = 2 of one length side by side
    areas = [
        {"area": "a", "gutter_side": "ledger"},
        {"area": "b", "gutter_side": "ledger", "width": other, "spacing": "16"},
    ]
    job = estimate(areas=areas)
    panels = sum(one.outlets for one in job.takeoff.parts)
    assert len(job.takeoff.cut[0].pieces) == panels + aprons
    assert job.takeoff.tasks["piece"] == panels + 2  # both are placed


@pytest.mark.parametrize(
    ("width", "apron"),
    [
        ("16 ft", [192]),  # one 16-ft sheet
        ("193 in", [192, 6]),  # the rest of 1 is made 6, as a gutter's
        ("204 in", [192, 12]),
        ("202.03 in", [192, 10.0625]),  # up to a sixteenth
    ],
)
def test_p5_an_apron_is_pieced_as_a_gutter(width, apron):
    job = estimate(area={"width": width, "gutter_side": "ledger"})
    assert [length / 16 for length in job.takeoff.areas[0].apron_pieces] == apron


# ---------------------------------------------------------------------------------------------- P6


@pytest.mark.parametrize(
    ("length", "expected"),
    [
        (192, [192]),  # as long as the longest stock
        (192.5, [168.5, 36]),  # 192.5 - 180 = 12.5 becomes 36, the piece above gives 23.5
        (215.5, [191.5, 36]),  # 35.5
        (216, [192, 36]),  # exactly the shortest piece
        (216.5, [192, 36.5]),
        (372, [192, 192]),  # (372 - 12)/180 = 2
        (372.5, [192, 168.5, 36]),
    ],
)
def test_p6_pieces_lap_like_shingles(length, expected):
    job = estimate(area={"projection": f"{length + 1.5} in"})
    assert pieces(job) == expected
    assert sum(expected) - 12 * (len(expected) - 1) == length  # laps taken off, the panel is whole
    assert ("P6" in [one.rule for one in job.findings]) is (len(expected) > 1)
    assert job.takeoff.tasks["piece"] == 12 * len(expected)


@pytest.mark.parametrize("lap", [0, 6, 12, 30])
@pytest.mark.parametrize("length", [193, 250.5, 400, 777.5, 1000])
def test_p6_pieces_cover_the_panel_and_none_is_short(lap, length):
    found = [one / 16 for one in pieces_of_panel(round(length * 16), 192 * 16, lap, 36)]
    assert sum(found) - lap * (len(found) - 1) == length
    assert len(found) == math.ceil((length - lap) / (192 - lap))
    assert all(36 <= one <= 192 for one in found)


def test_p6_the_shortest_piece_is_in_whole_sixteenths_rounded_up():
    # 36.01 is 36.0625; 192.5 - 180 = 12.5 becomes that
    found = estimate(area={"projection": "194 in"}, rates={"min_piece_in": 36.01})
    assert pieces(found) == [192 - 23.5625, 36.0625]


def test_p6_the_pieces_of_a_panel_are_told_apart():
    labels = [label for _, label in estimate(area={"projection": "194 in"}).takeoff.cut[0].pieces]
    assert labels[:4] == ["main-1a", "main-1b", "main-2a", "main-2b"]
    assert [label for _, label in estimate().takeoff.cut[0].pieces][:2] == ["main-1", "main-2"]


def test_p6_strips_are_spliced_like_panels():
    job = estimate(area={"projection": "194 in"}, framing=[member(22.5)])  # 192.5
    assert len(job.takeoff.cut[0].pieces) == 13 * 2


@pytest.mark.parametrize(("projection", "good"), [("193.5 in", True), ("193.5625 in", False)])
def test_p6_without_splices_a_longer_panel_is_an_error_naming_the_area(projection, good):
    changes = {"area": {"area": "upper deck", "projection": projection}, "rates": {"splices": "no"}}
    if good:
        assert taken(**changes)["bays"] == 12
    else:
        with pytest.raises(BookError, match=r"area upper deck: .*192\.5 in .*splices are not allowed.*\(P6\)"):
            taken(**changes)


@pytest.mark.parametrize(
    ("more", "expected"),
    [
        ({"width": 20}, [198.5]),  # 20 ft, eligible: one piece
        ({"width": 19}, [174.5, 36]),  # too narrow for the bays
        ({"width": 20, "valid_to": "2026-06-14"}, [174.5, 36]),  # run out the day before
        ({"width": 20, "valid_to": "2026-06-15"}, [198.5]),
        ({"width": 20, "currency": "CAD"}, [174.5, 36]),
    ],
)
def test_p6_the_longest_stock_is_the_longest_eligible_on_the_quote_date(more, expected):
    # 198.5: pieces of 192 and 18.5, which becomes 36
    row = liner_offer(20, more["width"], **{key: value for key, value in more.items() if key != "width"})
    assert pieces(estimate(area={"projection": "200 in"}, more_prices=[row])) == expected


def test_p6_no_eligible_stock_is_an_error():
    with pytest.raises(BookError, match="liner"):
        taken(prices=with_liners())


# ---------------------------------------------------------------------------------------------- P7


def test_p7_spare_panels_are_cut_but_not_placed():
    plain, spare = taken(), taken(rates={"spare_panels": 2})
    assert (plain["items"]["liner"]["net"], spare["items"]["liner"]["net"]) == (12, 14)
    assert spare["items"]["staples"] == plain["items"]["staples"]
    assert (spare["hours"], spare["bead_ft"]) == (plain["hours"], plain["bead_ft"])


def test_p7_a_spare_is_as_long_as_the_longest_panel():
    areas = [{"area": "a"}, {"area": "b", "projection": "8 ft"}]
    pieces_of = estimate(areas=areas, rates={"spare_panels": 1}).takeoff.cut[0].pieces
    assert sorted(length / 16 for length, _ in pieces_of) == [94.5] * 12 + [142.5] * 13


def test_p7_spares_are_cut_for_every_liner():
    liners = [{"liner": "one"}, {"liner": "two"}]
    areas = [{"area": "a", "liner": "one"}, {"area": "b", "liner": "two", "projection": "8 ft"}]
    cuts = estimate(areas=areas, liners=liners, rates={"spare_panels": 1}).takeoff.cut
    assert [(cut.liner, len(cut.pieces)) for cut in cuts[:2]] == [("one", 13), ("two", 13)]


@pytest.mark.parametrize(
    ("rates", "stock", "cost"),
    [
        ({}, {"144": 6}, "246.00"),  # two panels of 72 in a 12-ft piece
        ({"kerf_in": 0.125}, {"192": 6}, "324.00"),  # 144.125 no longer: two in a 16-ft piece at 54
        ({"end_trim_in": 0.0625}, {"192": 6}, "324.00"),
    ],
)
def test_p7_kerf_and_end_trim(rates, stock, cost):
    sticks = prices_with({"gutter": {"length": "20 ft"}})  # so that no gutter piece is as long as its stick
    plan = taken(area={"projection": "73.5 in"}, rates=rates, prices=sticks)["cut_plan"]["liner"]
    assert (plan["stock"], plan["cost"], plan["proven"]) == (stock, cost, True)


def test_p7_offcuts_on_hand_are_used_at_their_scrap_value():
    # 10 % of the lowest price by length, 54/192 = 0.28125 an inch: 144 * 0.028125 = 4.05; 143, enough for 142.5: 4.02
    rows = [
        {"item": "liner", "length": "12 ft", "quantity": 2, "location": "rack"},
        {"item": "liner", "length": "143 in", "quantity": 1, "location": "van"},
        {"item": "liner", "length": "142 in", "quantity": 5, "location": "yard"},  # too short for any
    ]
    job = taken(stock=rows)
    plan = job["cut_plan"]["liner"]
    assert (plan["stock"], plan["cost"]) == ({"144": 9}, "381.12")  # 9 * 41 + 2 * 4.05 + 4.02
    assert [(one["length_in"], one["used"]) for one in plan["offcuts"]] == [(144, 2), (143, 1)]
    assert (job["items"]["liner"]["packs"], job["items"]["liner"]["cost"]) == (9, "381.12")


@pytest.mark.parametrize(("length", "used"), [("142.5 in", True), ("142.49 in", False), ("142.53 in", True)])
def test_p7_stock_is_counted_in_whole_sixteenths_rounded_down(length, used):
    # a panel of 142.5; 142.49 is 142.4375
    plan = taken(stock=[{"item": "liner", "length": length, "quantity": 1}])["cut_plan"]["liner"]
    assert ("offcuts" in plan) is used


@pytest.mark.parametrize(("length", "taken_"), [("142.5 in", "142.5"), ("142.49 in", "192"), ("142.53 in", "142.5")])
def test_p7_new_stock_likewise(length, taken_):
    row = offer("liner", "1.00", sku="odd", length=length, width="20 in")
    stock = taken(prices=with_liners(row, liner_offer(16, 20)))["cut_plan"]["liner"]["stock"]
    assert stock == {taken_: 12}


def test_p7_an_offcut_serves_its_own_item_only():
    # a gutter stick on hand is no leader and no liner, though long enough for a leader
    job = taken(stock=[{"item": "gutter", "length": "13 ft", "quantity": 9}])
    assert {item for item, plan in job["cut_plan"].items() if "offcuts" in plan} == {"gutter"}


def test_p7_an_offcut_no_cheaper_than_new_stock_is_not_needed():
    # at 100 % an offcut of 144 costs 144 * 0.28125 = 40.50 against 41.00: used; one of 150 costs 42.19: left
    rows = [{"item": "liner", "length": f"{length} in", "quantity": 1} for length in (144, 150)]
    plan = taken(stock=rows, rates={"offcut_value": "100%"})["cut_plan"]["liner"]
    assert (plan["cost"], plan["stock"]) == ("491.50", {"144": 11})
    assert [one["length_in"] for one in plan["offcuts"]] == [144]
