"""Rules T1 to T3, T6 and T7: tape, bead, staples, posts and waste, each at the value where a count changes.

T4 and T5, the gutter's parts, are in test_rules_gutters.
"""

from __future__ import annotations

import pytest
from books import estimate, taken

from baybook.problems import BookError


def net(item, **changes):
    return taken(**changes)["items"][item]["net"]


def member(x, plies=1):
    return {"kind": "member", "x": f"{x} in", "plies": plies}


# ---------------------------------------------------------------------------------------------- T1


@pytest.mark.parametrize(
    ("framing", "tape_width", "strips"),
    [
        ([], 4, 13),
        ([member(96, 2)], 4, 13),  # doubled, 3 wide: one strip
        ([member(96, 3)], 4, 14),  # tripled, 4.5 wide: two
        ([member(96, 3)], 4.5, 13),  # as wide as the tape
        ([member(96, 3)], 4.4375, 14),
        ([member(96, 6)], 4.5, 14),  # 9 = 2 * 4.5
        ([member(96, 6)], 3, 15),
        ([member(0.75, 3)], 4, 13),  # the end member, 3 wide once cut off at the face
        ([member(2.25, 2)], 4, 13),  # 0.75 to 3.75: the end member, 3.75 wide
        ([member(2.25, 3)], 4, 14),  # to 4.5
        ([], 1.5, 13),
        ([], 1.4375, 26),
    ],
)
def test_t1_strips_of_tape_on_every_member(framing, tape_width, strips):
    assert net("seam_tape", framing=framing, liner={"tape_width_in": tape_width}) == strips * 12


def test_t1_the_whole_projection_not_the_clear_run():
    assert net("seam_tape", area={"projection": "10 ft"}) == 13 * 10


def test_t1_each_liner_has_its_own_tape():
    liners = [{"liner": "a"}, {"liner": "b", "tape_width_in": 1}]
    job = estimate(areas=[{"area": "one", "liner": "a"}, {"area": "two", "liner": "b"}], liners=liners)
    tape = {need.liner: need.net for need in job.takeoff.needs if need.item == "seam_tape"}
    assert tape == {"a": 13 * 12, "b": 13 * 2 * 12}


# ---------------------------------------------------------------------------------------------- T2

BEAD_FT = (10 * 19.560495 + 2 * 18.907938) / 12  # of the example's outlets


def test_t2_bead_at_every_outlet():
    assert taken()["bead_ft"] == pytest.approx(BEAD_FT, abs=1e-6)


def test_t2_a_capped_bay_has_no_bead():
    # a member at 22.5 makes of one bay a capped one of 5 and one of 31.25 - 23.25 = 8: w = 2 * sqrt(16 + 16) + 3
    assert taken(framing=[member(22.5)])["bead_ft"] == pytest.approx(BEAD_FT + (14.313708 - 19.560495) / 12, abs=1e-6)


@pytest.mark.parametrize(
    ("projection", "beads"),
    [("193.5 in", 1), ("193.5625 in", 2), ("373.5 in", 2), ("373.5625 in", 3)],  # cut 192, 192.5, 372, 372.5 of 192
)
def test_t2_and_at_every_splice_of_a_panel(projection, beads):
    assert taken(area={"projection": projection})["bead_ft"] == pytest.approx(BEAD_FT * beads, abs=3e-6)


def test_t2_spliced_strips_get_none():
    plain, capped = (
        taken(area={"projection": "194 in"}, framing=rows)["bead_ft"] for rows in ([], [member(96, 2), member(22.5)])
    )
    # the doubled joist narrows two bays to 13.75 (18.907938); member at 22.5 as above; each counts twice
    assert capped - plain == pytest.approx(2 * (2 * (18.907938 - 19.560495) + 14.313708 - 19.560495) / 12, abs=1e-5)


@pytest.mark.parametrize(
    ("rates", "feet"),
    [
        ({}, 30.9437),  # 18.227 / (pi/4 * 0.0625) / 12
        ({"bead_diameter_in": 0.5}, 7.73592),  # a quarter
        ({"cartridge_fl_oz": 20.2}, 61.8874),
    ],
)
def test_t2_cartridge_yield(rates, feet):
    assert net("sealant", rates=rates) == pytest.approx(BEAD_FT / feet, rel=2e-5)


# ---------------------------------------------------------------------------------------------- T3


@pytest.mark.parametrize(
    ("projection", "each"),
    [
        ("145.5 in", 26),  # cut 144: 2 * (12 + 1)
        ("145.5625 in", 28),  # 144.5: 2 * (13 + 1)
        ("133.5 in", 24),  # 132
        ("193.5625 in", 2 * (15 + 1) + 2 * (3 + 1)),  # spliced: 168.5 and 36
    ],
)
def test_t3_staples_along_both_edges_of_every_piece(projection, each):
    assert net("staples", area={"projection": projection}) == 12 * each + 12 * 6


@pytest.mark.parametrize(
    ("changes", "staples"),
    [
        ({"rates": {"staple_spacing_in": 142.5}}, 12 * 4 + 72),  # 142.5: one step, two staples an edge
        ({"rates": {"staple_spacing_in": 142.4375}}, 12 * 6 + 72),
        ({"rates": {"staples_per_outlet": 0}}, 312),
        ({"framing": [member(22.5)]}, 12 * 26 + 26 + 72),  # a strip is a piece as placed
        ({"framing": [member(22.5), member(38.5)]}, 12 * 26 + 2 * 26 + 72),  # though two are slit from one length
        ({"framing": [member(96, 2)]}, 12 * 26 + 26 + 72),
        ({"area": {"gutter_side": "ledger"}}, 12 * 26 + 34 + 72),  # the apron, 192: 2 * (16 + 1)
    ],
)
def test_t3_staples_of_outlets_strips_and_aprons(changes, staples):
    assert net("staples", **changes) == staples


# ---------------------------------------------------------------------------------------------- T6, T7


@pytest.mark.parametrize("posts", [0, 1, 7])
def test_t6_posts_through_the_liner(posts):
    job = taken(area={"posts_through": posts}, rates={"post_tape_ft": 3.5, "post_bead_ft": 1.25})
    assert job["items"]["seam_tape"]["net"] == 156 + 3.5 * posts
    assert job["bead_ft"] == pytest.approx(BEAD_FT + 1.25 * posts, abs=1e-6)


@pytest.mark.parametrize(
    ("item", "waste", "order", "packs"),
    [
        ("hanger", "10%", 14.3, 15),
        ("hanger", "0%", 13, 13),
        ("elbow", "33.333333%", 4, 4),  # 3.99999999 is 4 to six places
        ("elbow", "33.34%", 4.0002, 5),
        ("seam_tape", "0%", 156, 4),
        ("seam_tape", "28.205%", 199.9998, 4),  # of 50 ft
        ("seam_tape", "28.206%", 200.00136, 5),
        ("bay_outlet", "8", 12.96, 13),
    ],
)
def test_t7_waste_on_the_net_quantity_before_packs(item, waste, order, packs):
    row = taken(rates={f"waste_{item}": waste})["items"][item]
    assert (row["order"], row["packs"]) == (pytest.approx(order, abs=1e-6), packs)


def test_t7_waste_by_default():
    # tape 5 %, sealant and staples 10 %, nothing else
    items = taken()["items"]
    shares = {item: row["order"] / row["net"] for item, row in items.items()}
    wasted = {"seam_tape": 1.05, "sealant": 1.1, "staples": 1.1}
    assert shares == pytest.approx({item: wasted.get(item, 1) for item in items}, abs=2e-6)


@pytest.mark.parametrize("item", ["liner", "gutter", "leader"])
def test_t7_cut_goods_get_no_percentage(item):
    with pytest.raises(BookError, match=rf"rates.csv:2: waste_{item}: cut goods get no waste percentage"):
        taken(rates={f"waste_{item}": "5%"})
