"""What must hold of any deck, whatever its numbers: mirror images, monotony, doubling, and the same deck in metres."""

from __future__ import annotations

import random
from dataclasses import fields, is_dataclass, replace
from decimal import Decimal
from types import MappingProxyType

import pytest
from books import PRICE_ROWS, deck, inputs_of, random_estimate, random_job
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from baybook.estimate import build_estimate
from baybook.job.records import CUT_GOODS
from baybook.report import as_data
from baybook.takeoff.members import bay_count

checked = settings(
    max_examples=60, deadline=None, derandomize=True, database=None, suppress_health_check=[HealthCheck.too_slow]
)
seeds = st.integers(0, 400)
LAYOUTS = ("left", "right", "even")
WIDE = {"made_for_in": 24, "drape_in": 4}
WIDE_PRICES = [{**row, "width": "30 in"} if row["item"] == "liner" else row for row in PRICE_ROWS]


@st.composite
def plain_areas(draw):
    """A plain area in sixteenths of an inch: width, spacing, ply, layout."""
    width = draw(st.integers(30 * 16, 480 * 16)) / 16
    spacing = draw(st.sampled_from([12.0, 13.5, 16.0, 19.1875, 24.0]))
    thickness = draw(st.sampled_from([1.5, 1.75]))
    return width, spacing, thickness, draw(st.sampled_from(LAYOUTS))


def inches(value):
    return f"{value!r} in"


def millimetres(value):
    return f"{Decimal(repr(value)) * Decimal('25.4')} mm"


def clear_widths(width, spacing, thickness, layout):
    area = {
        "width": inches(width),
        "spacing": spacing,
        "joist_thickness": thickness,
        "layout": layout,
    }
    job = build_estimate(inputs_of(deck(area=area, liner=WIDE, prices=WIDE_PRICES)))
    return [bay.clear_in for part in job.takeoff.parts for bay in part.bays]


# ---------------------------------------------------------------------------------------------- members and bays


@checked
@given(plain_areas(), st.integers(1, 64))
def test_more_width_never_means_fewer_bays(area, sixteenths):
    width, *rest = area
    assert len(clear_widths(width + sixteenths / 16, *rest)) >= len(clear_widths(width, *rest))


@checked
@given(plain_areas())
def test_no_bay_of_a_plain_area_is_wider_than_the_spacing_leaves(area):
    width, spacing, thickness, layout = area
    clear = clear_widths(*area)
    assert max(clear) <= round(spacing - thickness, 6)
    # and nothing is lost between the outer faces
    members = len(clear) + 1
    assert sum(clear) <= width - members * thickness + 1e-6
    if layout == "left":
        assert len(clear) == bay_count(width, spacing, thickness)


def mirrored(inputs):
    """Return the job seen from the other end of every ledger."""
    turn = {"left": "right", "right": "left", "even": "even"}
    widths = {area.area.casefold(): area.width_in for area in inputs.areas}

    def turned(rows):
        return tuple(
            row if row.x_in is None else replace(row, x_in=widths[row.area.casefold()] - row.x_in) for row in rows
        )

    areas = tuple(replace(area, layout=turn[area.layout]) for area in inputs.areas)
    return replace(inputs, areas=areas, framing=turned(inputs.framing), posts=turned(inputs.posts))


@checked
@given(seeds)
def test_a_mirrored_deck_has_the_same_quantities(seed):
    straight, turned = as_data(random_estimate(seed)), as_data(build_estimate(mirrored(random_job(seed))))
    for name, part in straight["areas"].items():
        other = turned["areas"][name]
        assert other["clear_widths_in"] == pytest.approx(part["clear_widths_in"][::-1], abs=3e-6)  # faces to 1e-6
        assert {k: v for k, v in other.items() if k != "clear_widths_in"} == {
            k: v for k, v in part.items() if k != "clear_widths_in"
        }
    for key in ("bays", "flow_gpm", "labour_hours", "bead_ft", "hours", "totals", "gutter_lines", "warnings"):
        assert (
            turned[key] == pytest.approx(straight[key], abs=2e-6) if key == "bead_ft" else turned[key] == straight[key]
        )
    assert {item: row["packs"] for item, row in turned["items"].items()} == {
        item: row["packs"] for item, row in straight["items"].items()
    }


# ---------------------------------------------------------------------------------------------- orders and money


@checked
@given(seeds)
def test_an_order_is_never_less_than_its_net_quantity(seed):
    for line in random_estimate(seed).lines:
        assert round(line.order, 6) >= round(line.net, 6)
        assert not line.taken or line.packs * line.taken.offer.pack_qty >= round(line.order, 4) - 1e-4


@checked
@given(seeds)
def test_what_is_bought_and_on_hand_holds_all_that_is_cut(seed):
    for cut in random_estimate(seed).cuts:
        need = sum(length for length, _ in cut.cut.pieces)
        have = sum(one.planned * one.length for one in cut.bought) + sum(one.used * one.length for one in cut.offcuts)
        assert have >= need


@checked
@given(seeds, st.randoms(use_true_random=False), st.sampled_from(["0.01", "0.50", "25.00"]))
def test_the_price_never_falls_when_one_pack_price_rises(seed, chance, rise):
    before = random_estimate(seed)
    at = chance.randrange(len(before.inputs.prices))
    prices = list(before.inputs.prices)
    # pieces of one length counted by the estimator are bought whatever the plan of the others says
    assume(not (prices[at].item in CUT_GOODS and any(row.length_in for row in before.inputs.overrides)))
    prices[at] = replace(prices[at], pack_price=prices[at].pack_price + Decimal(rise))
    after = build_estimate(replace(before.inputs, prices=tuple(prices)))
    assume(all(cut.plan.proven for cut in (*before.cuts, *after.cuts)))
    assert after.totals.price >= before.totals.price


@checked
@given(seeds, st.integers(0, 1000))
def test_the_order_of_price_and_framing_rows_changes_nothing(seed, shuffle):
    inputs = random_job(seed)
    chance = random.Random(shuffle)
    prices, framing = (tuple(chance.sample(rows, len(rows))) for rows in (inputs.prices, inputs.framing))
    turned = as_data(build_estimate(replace(inputs, prices=prices, framing=framing)))
    straight = as_data(random_estimate(seed))
    assert sorted(turned.pop("warnings")) == sorted(straight.pop("warnings"))
    assert turned == straight


@checked
@given(seeds)
def test_the_totals_add_up(seed):
    job = random_estimate(seed)
    found = job.totals
    parts = found.materials + found.labour + found.other + found.overhead + found.contingency + found.profit + found.tax
    assert found.price == parts
    assert found.cost == found.materials + found.labour + found.other
    assert found.materials == sum(
        (line.cost for line in job.lines), sum((cut.cost for cut in job.cuts), Decimal(0))
    ) + sum((one.cost for one in job.extras if one.extra.kind == "material"), Decimal(0))
    assert found.labour - sum((one.cost for one in job.extras if one.extra.kind == "labour"), Decimal(0)) == sum(
        (line.cost for line in job.labour), Decimal(0)
    )


# ---------------------------------------------------------------------------------------------- twice, and in metres


@st.composite
def framed_decks(draw):
    """One area with framing, as a function of how lengths are written."""
    width = draw(st.integers(60 * 16, 400 * 16)) / 16
    projection = draw(st.integers(60 * 16, 300 * 16)) / 16
    joists = draw(
        st.lists(
            st.tuples(st.integers(32, int(width * 16) - 32), st.integers(1, 3)), max_size=3, unique_by=lambda x: x[0]
        )
    )
    beam = draw(st.one_of(st.none(), st.sampled_from([0.4, 0.5, 0.6])))
    spacing, depth = draw(st.sampled_from([12.0, 16.0])), draw(st.sampled_from([7.25, 9.25, 11.25]))
    more = {
        "layout": draw(st.sampled_from(LAYOUTS)),
        "rim_plies": draw(st.integers(1, 3)),
        "gutter_fix": draw(st.sampled_from(["joists", "nailer"])),
        "leader_at": draw(st.sampled_from(["end", "middle"])),
        "borders": draw(st.integers(0, 2)),
        "posts_through": draw(st.integers(0, 4)),
    }
    wall = draw(st.sampled_from([0.0, 96.0, 100.5]))
    side = draw(st.sampled_from(["rim", "ledger"]))

    def write(length, sides=None, names=("main",)):
        area = {
            "width": length(width),
            "projection": length(projection),
            "spacing": length(spacing),
            "joist": length(depth),
            "height": length(150.0),
            "wall_height": length(wall),
            "gutter_side": sides or side,
            **more,
        }
        framing = [{"kind": "member", "x": length(x / 16), "plies": plies} for x, plies in joists]
        if beam:
            framing.append({"kind": "flush_beam", "y": length(round(projection * beam)), "plies": 3})
        return {
            "areas": [{"area": name, **area} for name in names],
            "framing": [{"area": name, **row} for name in names for row in framing],
        }

    return write


@checked
@given(framed_decks())
def test_a_second_identical_area_doubles_every_net_quantity_but_the_jobs_own_hours(write):
    # on the rim side: aprons of several areas share lengths of liner
    one = build_estimate(inputs_of(deck(**write(inches, "rim", ("main",))))).takeoff
    two = build_estimate(inputs_of(deck(**write(inches, "rim", ("main", "other"))))).takeoff
    for single, double in zip(one.needs, two.needs, strict=True):
        assert (double.item, double.net) == (single.item, pytest.approx(2 * single.net, rel=1e-12))
    for single, double in zip(one.cut, two.cut, strict=True):
        lengths = [length for length, _ in single.pieces]
        assert sorted(length for length, _ in double.pieces) == sorted(lengths * 2)
    assert dict(two.tasks) == pytest.approx({task: n * (1 if task == "job" else 2) for task, n in one.tasks.items()})
    assert (two.bays, two.bead_ft, two.flow_gpm) == pytest.approx((2 * one.bays, 2 * one.bead_ft, 2 * one.flow_gpm))


def numbers_in(value, path=""):
    """Yield (path, number or text) of everything in a take-off but what was read from the book."""
    if is_dataclass(value):
        for one in fields(value):
            if one.name not in {"area", "liner", "place", "offers"} or isinstance(getattr(value, one.name), str):
                yield from numbers_in(getattr(value, one.name), f"{path}.{one.name}")
    elif isinstance(value, dict | MappingProxyType):
        for key, inner in value.items():
            yield from numbers_in(inner, f"{path}[{key}]")
    elif isinstance(value, tuple | list):
        for at, inner in enumerate(value):
            yield from numbers_in(inner, f"{path}[{at}]")
    else:
        yield path, value


@checked
@given(framed_decks())
def test_the_metric_twin_of_a_book_has_the_same_physics(write):
    def in_units(length, rain, **more):
        prices = [
            {
                **row,
                **{
                    key: length(float(row[key].split()[0]) * (12 if key == "length" else 1))
                    for key in row
                    if key in {"length", "width"}
                },
            }
            for row in PRICE_ROWS
        ]
        return build_estimate(inputs_of(deck(**write(length), prices=prices, job={"rainfall": rain}, **more)))

    here, there = in_units(inches, "5 in/h"), in_units(millimetres, "127 mm/h", rates={"units": "metric"})
    for (path, ours), (same, theirs) in zip(numbers_in(here.takeoff), numbers_in(there.takeoff), strict=True):
        assert path == same
        assert theirs == (pytest.approx(ours, rel=1e-9, abs=1e-9) if isinstance(ours, float) else ours), path
    assert here.totals == there.totals
