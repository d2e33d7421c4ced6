"""Cut plans: edges of the input, ties, errors, limits, and the parts a proof rests on."""

from __future__ import annotations

import itertools
import os
import random
import subprocess
import sys
from dataclasses import replace
from time import monotonic

import pytest

from baybook.cutplan import Pattern, Piece, PlanError, Stock, Unplannable, plan_cuts, safe_count, verify_plan
from baybook.cutplan.bounds import least_price, make_cover, simple_covers
from baybook.cutplan.clock import Clock
from baybook.cutplan.exact import Exhaust
from baybook.cutplan.instance import build_instance
from baybook.cutplan.knapsack import Knapsack
from baybook.cutplan.search import Search
from baybook.cutplan.table import CountTable
from baybook.problems import OutOfRange

FT = 192


def _planned(pieces, stock, **amounts):
    """A plan that has passed the verifier; the planner says what is checked."""
    plan = plan_cuts(pieces, stock, **amounts)
    verify_plan(plan, pieces, stock, kerf=amounts.get("kerf", 0), end_trim=amounts.get("end_trim", 0))
    return plan


# --- what fits ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("length", "kerf", "end_trim", "used"),
    [
        (200, 0, 0, 1),  # 100 + 100
        (199, 0, 0, 2),
        (202, 2, 0, 1),  # one cut between them, none at the end
        (201, 2, 0, 2),
        (206, 2, 4, 1),  # the end is trimmed once
        (205, 2, 4, 2),
    ],
)
def test_two_pieces_fit_or_do_not(length, kerf, end_trim, used):
    plan = _planned([Piece(100, 2)], [Stock(length, 7)], kerf=kerf, end_trim=end_trim)
    assert (plan.cost, plan.used, plan.proven) == (7 * used, (used,), True)


@pytest.mark.parametrize(("length", "remainder"), [(100, 0), (101, 0), (102, 0), (103, 1), (150, 48)])
def test_the_remainder_is_what_is_left_after_the_last_kerf(length, remainder):
    plan = _planned([Piece(100, 1)], [Stock(length, 7)], kerf=2)
    assert plan.patterns == (Pattern(0, ((100, 1),), 1, remainder),)


def test_equal_lengths_are_one_length_in_a_pattern_longest_first():
    plan = _planned([Piece(60, 1, "A1"), Piece(100, 1), Piece(60, 1, "B1")], [Stock(220, 5)])
    assert plan.patterns == (Pattern(0, ((100, 1), (60, 2)), 1, 0),)


@pytest.mark.parametrize("pieces", [[], [Piece(100, 0)]])
def test_nothing_to_cut_costs_nothing(pieces):
    plan = _planned(pieces, [Stock(250, 300)])
    assert (plan.patterns, plan.cost, plan.lower_bound, plan.proven, plan.used) == ((), 0, 0, True, (0,))


# --- stock: offcuts, equal stock, prices ----------------------------------------------------------------------------


def test_an_offcut_is_used_where_its_scrap_value_is_less_than_new_stock():
    # Three 8 ft 4 in pieces: two from a 20 ft stick, the third from the 10 ft offcut at 4.00, not from a second stick.
    plan = _planned([Piece(1600, 3)], [Stock(20 * FT, 8249), Stock(10 * FT, 400, 1, "rack")])
    assert (plan.cost, plan.used, plan.proven) == (8649, (1, 1), True)


def test_an_offcut_dearer_than_new_stock_stays_where_it_is():
    plan = _planned([Piece(1600, 1)], [Stock(10 * FT, 300), Stock(10 * FT, 400, 1, "rack")])
    assert plan.used == (1, 0)


def test_equal_offcuts_in_two_places_are_both_used_up_before_new_stock():
    stock = [Stock(120, 9), Stock(125, 9, 1, "van"), Stock(120, 9, 2, "rack")]
    plan = _planned([Piece(110, 4)], stock)
    assert (plan.cost, plan.used) == (36, (1, 1, 2))


def test_stock_that_is_longer_and_cheaper_takes_the_place_of_shorter():
    assert _planned([Piece(90, 3)], [Stock(100, 9), Stock(200, 8)]).used == (0, 2)


def test_stock_of_price_zero_and_prices_with_a_common_divisor():
    pieces = [Piece(50, 5), Piece(30, 3)]  # 50 + 50 twice from the 100s; 50 + 30 and 30 + 30 from the free 80s
    assert _planned(pieces, [Stock(100, 0)]).proven
    mixed = _planned(pieces, [Stock(100, 5000), Stock(80, 0, 2)])
    assert (mixed.cost, mixed.used, mixed.proven) == (10000, (2, 2), True)


def test_only_limited_stock_that_just_suffices():
    # 60+40, 60+40, 50+50 fill the three; any other mix leaves a piece over.
    plan = _planned([Piece(60, 2), Piece(50, 2), Piece(40, 2)], [Stock(100, 7, 3)])
    assert (plan.used, plan.proven) == ((3,), True)


# --- what cannot be planned -----------------------------------------------------------------------------------------


def test_a_piece_longer_than_all_stock_is_named():
    with pytest.raises(Unplannable, match="Piece Porch 7 is 251 long; the longest stock leaves 250"):
        plan_cuts([Piece(100, 3), Piece(251, 1, "Porch 7")], [Stock(250, 300), Stock(900, 1, 0)])


def test_end_trim_counts_against_the_longest_stock():
    with pytest.raises(Unplannable, match="leaves 246 after end trim"):
        plan_cuts([Piece(250, 1)], [Stock(250, 300)], end_trim=4)


def test_a_piece_the_supply_does_not_reach_is_named():
    with pytest.raises(Unplannable, match="Piece A3 is 100 long and finds no place: there is not enough stock"):
        plan_cuts([Piece(100, 3, "A3")], [Stock(150, 300, 2)])


def test_supply_that_suffices_in_length_but_not_in_pieces():
    # 3 x 100 is as long as 5 x 60, yet each stick gives one piece.
    with pytest.raises(Unplannable, match="Piece 60"):
        plan_cuts([Piece(60, 5)], [Stock(100, 300, 3)])


@pytest.mark.parametrize(
    ("pieces", "stock", "amounts", "match"),
    [
        ([Piece(0, 1)], [Stock(10, 1)], {}, "Piece 0: length 0 must be over 0"),
        ([Piece(5, -1)], [Stock(10, 1)], {}, "count -1"),
        ([Piece(5, 1)], [Stock(-10, 1)], {}, "length -10"),
        ([Piece(5, 1)], [Stock(10, -1, name="S-10")], {}, "Stock S-10: .* price -1"),
        ([Piece(5, 1)], [Stock(10, 1, -2)], {}, "supply -2"),
        ([Piece(5, 1)], [Stock(10, 1)], {"kerf": -1}, "kerf is -1; it must be 0 or more"),
        ([Piece(5, 1)], [Stock(10, 1)], {"end_trim": -1}, "end_trim is -1"),
        ([Piece(5, 1)], [Stock(10, 1)], {"min_remainder": -1}, "min_remainder is -1"),
        ([Piece(5, 1)], [Stock(10, 1)], {"node_limit": -1}, "node_limit is -1"),
    ],
)
def test_what_is_no_length_count_or_price_is_refused(pieces, stock, amounts, match):
    with pytest.raises(OutOfRange, match=match):
        plan_cuts(pieces, stock, **amounts)


def test_safe_count_takes_the_cheapest_that_holds_one():
    stock = [Stock(250, 300), Stock(120, 90, 5), Stock(160, 200), Stock(150, 200)]
    assert safe_count([Piece(100, 3), Piece(200, 2), Piece(1, 0)], stock) == (2, 0, 0, 3)
    assert safe_count([Piece(150, 1)], stock, end_trim=1) == (0, 0, 1, 0)
    with pytest.raises(Unplannable, match="Piece 251"):
        safe_count([Piece(251, 1)], [*stock, Stock(900, 1, 4)])


# --- ties -----------------------------------------------------------------------------------------------------------


def test_of_equal_plans_one_with_few_patterns():
    # Six sticks either way: 2 x 60 + 30 in each, or e.g. 60 + 3 x 30 and 2 x 60 mixed.
    plan = _planned([Piece(60, 12), Piece(30, 6)], [Stock(150, 5)])
    assert [(pattern.pieces, pattern.times) for pattern in plan.patterns] == [(((60, 2), (30, 1)), 6)]


def test_of_equal_plans_one_large_remainder():
    # Two sticks of 100 hold 40, 30, 20, 20 with 90 over: all but the 40 fit one stick, which leaves 60 of the other
    # (70 + 40), or all but a 20 (90 + 20), which leaves 80.
    plan = _planned([Piece(40, 1), Piece(30, 1), Piece(20, 2)], [Stock(100, 5)], min_remainder=24)
    assert max(pattern.remainder for pattern in plan.patterns) == 80


def test_the_order_of_the_input_does_not_move_the_plan():
    chance = random.Random(5)
    pieces = [Piece(chance.randint(20, 90), 1) for _ in range(30)]
    stock = [Stock(200, 1999), Stock(160, 1699)]
    shuffled = random.Random(6).sample(pieces, len(pieces))
    assert plan_cuts(pieces, stock) == plan_cuts(shuffled, stock)


# --- the verifier ---------------------------------------------------------------------------------------------------


def _tampered():
    pieces, stock = [Piece(100, 3), Piece(40, 1)], [Stock(250, 300), Stock(120, 100, 1)]
    plan = plan_cuts(pieces, stock)
    first, *rest = plan.patterns
    yield "4 pieces of length 100 are asked for", replace(plan), [Piece(100, 4), Piece(40, 1)], stock
    yield "0 pieces of length 40 are asked for", replace(plan), [Piece(100, 3)], stock
    yield "there are 0", plan, pieces, [stock[0], replace(stock[1], supply=0)]
    for message, pattern in [
        ("needs 300", replace(first, pieces=((100, 3),))),
        ("cuts stock 2", replace(first, stock=2)),
        ("cut at least once", replace(first, times=0)),
        ("at least one of each", replace(first, pieces=((100, 2), (40, 0)))),
        ("longest first", replace(first, pieces=((40, 1), (100, 2)))),
        ("longest first", replace(first, pieces=((100, 1), (100, 1), (40, 1)))),
        (f"leaves {first.remainder}", replace(first, remainder=first.remainder + 1)),
    ]:
        yield message, replace(plan, patterns=(pattern, *rest)), pieces, stock
    for message, change in [
        ("costs 400; the plan says 399", {"cost": 399}),
        ("the plan says \\(2, 1\\)", {"used": (2, 1)}),
        ("none can cost less than 401", {"lower_bound": 401}),
        ("and only then", {"lower_bound": 399}),
        ("and only then", {"proven": False}),
        ("has a reason", {"reason": "tired"}),
        ("has a reason", {"proven": False, "lower_bound": 399}),
    ]:
        yield message, replace(plan, **change), pieces, stock


@pytest.mark.parametrize(("message", "plan", "pieces", "stock"), list(_tampered()))
def test_a_tampered_plan_is_found_out(message, plan, pieces, stock):
    with pytest.raises(PlanError, match=message):
        verify_plan(plan, pieces, stock)


# --- limits ---------------------------------------------------------------------------------------------------------


def _long_job():
    """150 lengths from 20 stocks of a like price for length: no proof within a second."""
    chance = random.Random(0)
    lengths = chance.sample(range(2000, 10001), 20)
    stock = [Stock(length, int(10 * length**0.95) + chance.randint(0, 99)) for length in lengths]
    return [Piece(chance.randint(100, 6000), chance.randint(1, 20)) for _ in range(150)], stock


def test_a_time_budget_ends_the_search_with_plan_and_gap():
    pieces, stock = _long_job()
    start = monotonic()
    plan = _planned(pieces, stock, time_budget_s=0.3)
    assert monotonic() - start < 2.0  # generous: a busy machine must not fail this
    assert not plan.proven
    assert 0.9 * plan.cost < plan.lower_bound < plan.cost
    assert plan.reason == "Not proven: the time budget of 0.3 s was used up."


@pytest.mark.parametrize("nodes", [0, 1, 7])
def test_a_node_limit_ends_the_search_with_plan_and_gap(nodes):
    pieces, stock = _long_job()
    plan = _planned(pieces, stock, node_limit=nodes)
    assert plan == plan_cuts(pieces, stock, node_limit=nodes)
    assert not plan.proven
    assert 0 < plan.lower_bound < plan.cost
    assert plan.reason == f"Not proven: the limit of {nodes} nodes was reached."


def test_lengths_too_fine_for_a_table_are_planned_in_coarser_units():
    # Metres in hundredths of a micrometre, without a common divisor.
    chance = random.Random(3)
    pieces = [Piece(chance.randint(10**8, 4 * 10**8), 1) for _ in range(12)]
    plan = _planned(pieces, [Stock(6 * 10**8 + 1, 100)])
    assert 0.5 * plan.cost <= plan.lower_bound <= plan.cost


def test_many_pieces_of_few_lengths():
    # 3,000 pieces: 1,000 sticks of 60 + 50 + 40, and no stick holds more than three.
    plan = _planned([Piece(60, 1000), Piece(50, 1000), Piece(40, 1000)], [Stock(150, 999)])
    assert (plan.cost, plan.proven) == (999_000, True)


@pytest.mark.parametrize("more", [0, 1, 3])
def test_a_job_whose_relaxed_bound_is_out_of_reach(more):
    # A classic of the literature (stock 132; 44, 33, 12; from memory): relaxed plans make do with one stick less than
    # any plan. The proof is that no way of cutting with that little waste works out.
    pieces = [Piece(44, 2 + 3 * more), Piece(33, 3 + 4 * more), Piece(12, 6 + 11 * more)]
    plan = _planned(pieces, [Stock(132, 1)])
    assert (plan.cost, plan.proven) == (3 + 3 * more, True)


# --- what other programs see ----------------------------------------------------------------------------------------

JOB = """
import random, sys
from baybook.cutplan import Piece, Stock, plan_cuts
chance = random.Random(1)
pieces = [Piece(8 * chance.randint(90, 380), 1, f"A{n}") for n in range(60)]
stock = [Stock(1920, 4949), Stock(2688, 6997), Stock(3072, 8249), Stock(1700, 420, 2), Stock(1300, 310, 1)]
plan = plan_cuts(pieces, stock, kerf=2)
assert "highspy" in sys.modules
"""


def _run(code, seed="0"):
    environment = {**os.environ, "PYTHONHASHSEED": seed}
    result = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, env=environment)
    return result.stdout, result.stderr


def test_the_solver_prints_nothing():
    assert _run(JOB) == ("", "")


def test_every_process_finds_the_same_plan():
    plans = {_run(JOB + "print(plan)", seed)[0] for seed in ("0", "1", "20000")}
    assert len(plans) == 1
    assert "proven=True" in plans.pop()


def test_import_and_ordinary_decks_load_no_solver():
    code = """
import sys
from baybook.cutplan import Piece, Stock, plan_cuts
assert plan_cuts([Piece(2280, 12), Piece(1140, 4)], [Stock(2304, 5997), Stock(3072, 8249)]).proven
print([name for name in ("numpy", "highspy") if name in sys.modules])
"""
    assert _run(code)[0] == "[]\n"


# --- the parts a proof rests on -------------------------------------------------------------------------------------


def _small(seed):
    """A small instance and some of all its patterns, by kind."""
    chance = random.Random(seed)
    pieces = [Piece(chance.randint(5, 40), chance.randint(1, 3)) for _ in range(chance.randint(1, 5))]
    lengths = chance.sample(range(40, 90), chance.randint(1, 3))
    stock = [Stock(length, chance.randint(0, 60), chance.choice([None, 1, 3])) for length in lengths]
    return build_instance(pieces, [*stock, Stock(60, 40)], 0, 0), chance


def _all_cuts(instance, kind):
    ranges = [range(demand + 1) for demand in instance.demands]
    cuts = (tuple((i, n) for i, n in enumerate(counts) if n) for counts in itertools.product(*ranges))
    return [cut for cut in cuts if instance.load(cut) <= instance.kinds[kind].size]


@pytest.mark.parametrize("seed", range(40))
def test_the_knapsack_is_exact(seed):
    instance, chance = _small(seed)
    values = [chance.choice([0, chance.randint(1, 99)]) for _ in instance.sizes]
    knapsack = Knapsack(instance)
    worth = knapsack.solve(values, instance.demands)
    for kind in range(len(instance.kinds)):
        cuts = _all_cuts(instance, kind)
        assert worth[kind] == max(sum(values[i] * n for i, n in cut) for cut in cuts)
        found = knapsack.patterns(kind, 99)
        assert set(found) <= set(cuts)
        assert not found or sum(values[i] * n for i, n in found[0]) == worth[kind]


@pytest.mark.parametrize("seed", range(40))
def test_every_plan_satisfies_every_cover(seed):
    instance, chance = _small(seed)
    search = Search(instance, Clock(500, None))
    search.run()
    covers = [*simple_covers(instance), *search.covers]
    for _ in range(30):  # plans by chance: place the pieces in any order, each in any stock with room
        bins, supply = [], [kind.supply for kind in instance.kinds]
        order = [item for item, demand in enumerate(instance.demands) for _ in range(demand)]
        chance.shuffle(order)
        for item in order:
            size = instance.sizes[item]
            opened = [b for b in bins if b[1] >= size]
            fresh = [k for k, kind in enumerate(instance.kinds) if supply[k] and kind.size >= size]
            if opened and chance.random() < 0.7:
                chance.choice(opened)[1] -= size
            else:
                kind = chance.choice(fresh)
                supply[kind] -= 1
                bins.append([kind, instance.kinds[kind].size - size])
        counts = [sum(b[0] == k for b in bins) for k in range(len(instance.kinds))]
        assert all(cover.holds(counts) for cover in covers)
        assert search.bound <= sum(kind.price * n for kind, n in zip(instance.kinds, counts, strict=True))


@pytest.mark.parametrize("seed", range(60))
def test_bounds_and_lists_of_counts_agree_with_trying_all(seed):
    instance, chance = _small(seed)
    kinds = range(len(instance.kinds))
    covers = [
        make_cover(instance, [chance.choice([0, chance.randint(1, 10**12)]) for _ in kinds], chance.randint(0, 10**13))
        for _ in range(chance.randint(1, 4))
    ]
    least = tuple(chance.randint(0, 2) for _ in kinds)
    most = tuple(low + chance.randint(0, 5) for low in least)
    below = chance.choice([60, 300, 10**6])
    ranges = [range(low, high + 1) for low, high in zip(least, most, strict=True)]
    prices = [kind.price for kind in instance.kinds]

    def price(counts):
        return sum(p * n for p, n in zip(prices, counts, strict=True))

    every = list(itertools.product(*ranges))
    for cover in covers:
        held = [price(counts) for counts in every if cover.holds(counts)]
        bound = least_price(cover, instance, (least, most))
        assert bound is None if not held else bound <= min(held)
    left = sorted(
        (price(counts), counts) for counts in every if all(c.holds(counts) for c in covers) and price(counts) < below
    )
    table = CountTable(instance, covers, (least, most), below)
    assert table.complete
    for expected in left:  # one by one, cheapest first
        assert (table.price(), table.cheapest()) == expected
        table.exclude(expected[1])
    assert (table.price(), table.cheapest()) == (below, None)


@pytest.mark.parametrize("seed", range(60))
def test_the_exhaustive_search_finds_a_packing_or_shows_there_is_none(seed):
    instance, chance = _small(seed)
    counts = [min(kind.supply, chance.randint(0, 2)) for kind in instance.kinds]
    search = Exhaust(instance, Clock(0, None), 100_000)
    found = search.run(instance.demands, counts)
    assert search.complete
    assert (found is not None) == _packable(instance, counts)
    if found is not None:
        assert all(sum(kind == k for kind, _ in found) <= count for k, count in enumerate(counts))
        assert all(instance.load(cut) <= instance.kinds[kind].size for kind, cut in found)
        for item, demand in enumerate(instance.demands):
            assert sum(dict(cut).get(item, 0) for _, cut in found) == demand


def _packable(instance, counts):
    """All sets of pieces that some filling of the stock pieces holds, one stock piece after the other."""
    reached = {tuple(0 for _ in instance.demands)}
    for kind, count in enumerate(counts):
        cuts = [dict(cut) for cut in _all_cuts(instance, kind)]
        for _ in range(count):
            more = {tuple(n + cut.get(i, 0) for i, n in enumerate(held)) for held in reached for cut in cuts}
            reached = {held for held in more if all(n <= d for n, d in zip(held, instance.demands, strict=True))}
    return instance.demands in reached
