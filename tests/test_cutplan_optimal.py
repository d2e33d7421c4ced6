"""Cut plans against known optima: jobs made by cutting whole sticks, an arc-flow model, and a published example."""

from __future__ import annotations

import random
from itertools import pairwise

import pytest

from baybook.cutplan import Piece, Stock, Unplannable, plan_cuts, verify_plan

# --- an independent oracle -----------------------------------------------------------------------------------------
#
# The arc-flow model of the cutting stock problem (J. M. Valerio de Carvalho, "Exact solution of bin-packing problems
# using column generation and branch-and-bound", Annals of Operations Research 86 (1999) 629-659; from memory): a stock
# piece is a path 0 -> length over arcs that are pieces or waste. It shares no code with the planner; HiGHS solves it as
# one mixed-integer program.


def _arcs(sizes, demands, longest):
    """Arcs (from, to, item), longer pieces nearer to 0, no more of a piece on a path than are asked for."""
    arcs, reached = set(), {0}
    for item in sorted(range(len(sizes)), key=lambda i: -sizes[i]):
        front, met = set(reached), set(reached)
        for _ in range(demands[item]):
            front = {at + sizes[item] for at in front if at + sizes[item] <= longest}
            arcs |= {(at - sizes[item], at, item) for at in front}
            met |= front
        reached = met
    return sorted(arcs), sorted(reached)


def _arc_flow_cost(pieces, stock, kerf, end_trim):
    """The least cost, or None if there is no plan."""
    import highspy
    import numpy as np

    asked = {}
    for piece in pieces:
        asked[piece.length + kerf] = asked.get(piece.length + kerf, 0) + piece.count
    sizes, demands = list(asked), list(asked.values())
    room = [item.length - end_trim + kerf for item in stock]
    total = sum(demands)
    arcs, nodes = _arcs(sizes, demands, max(room))
    ends = sorted({*nodes, *(r for r in room if r >= 0)})
    row = {at: number for number, at in enumerate(ends)}
    columns = []  # (cost, most, entries)
    for start, end, item in arcs:
        columns.append((0, demands[item], [(row[start], -1), (row[end], 1), (len(ends) + item, 1)]))
    for start, end in pairwise(ends):
        columns.append((0, total, [(row[start], -1), (row[end], 1)]))
    for item, r in zip(stock, room, strict=True):
        if r > 0:
            most = total if item.supply is None else min(item.supply, total)
            columns.append((item.price, most, [(row[0], 1), (row[r], -1)]))
    solver = highspy.Highs.__mro__[1]()
    for name, value in {"output_flag": False, "threads": 1, "mip_rel_gap": 0.0, "mip_abs_gap": 0.5}.items():
        solver.setOptionValue(name, value)
    rows = len(ends) + len(sizes)
    wanted = np.array([*(0.0 for _ in ends), *(float(d) for d in demands)])
    solver.addRows(rows, wanted, wanted, 0, np.zeros(rows, np.int32), np.zeros(0, np.int32), np.zeros(0))
    count = len(columns)
    starts = np.cumsum([0, *(len(entries) for _, _, entries in columns)], dtype=np.int32)
    index = np.array([r for _, _, entries in columns for r, _ in entries], np.int32)
    values = np.array([v for _, _, entries in columns for _, v in entries], float)
    costs = np.array([cost for cost, _, _ in columns], float)
    most = np.array([top for _, top, _ in columns], float)
    solver.addCols(count, costs, np.zeros(count), most, len(index), starts[:-1], index, values)
    kinds = np.array([highspy.HighsVarType.kInteger] * count)
    solver.changeColsIntegrality(count, np.arange(count, dtype=np.int32), kinds)
    solver.run()
    if solver.getModelStatus() == highspy.HighsModelStatus.kInfeasible:
        return None
    assert solver.getModelStatus() == highspy.HighsModelStatus.kOptimal
    return round(solver.getInfo().objective_function_value)


def _instance(seed):
    """A small job: one to four stock lengths, some of them limited, prices regular or wild, kerf and trim or none."""
    chance = random.Random(seed)
    longest = chance.choice([30, 60, 120, 250])
    stock = []
    for _ in range(chance.randint(1, 4)):
        length = chance.randint(longest // 3, longest)
        price = chance.choice([length, length * 7 + chance.randint(0, 40), chance.randint(0, 300), 100])
        stock.append(Stock(length, price, chance.choice([None, None, 1, 2, 5])))
    kerf, trim = chance.choice([(0, 0), (0, 0), (1, 0), (2, 3), (0, 4)])
    top = max(item.length for item in stock) - trim
    low = max(1, top // chance.choice([3, 5, 8, 12]))
    pieces = [Piece(chance.randint(low, top), chance.choice([1, 1, 2, 3, 6])) for _ in range(chance.randint(1, 9))]
    return pieces, stock, kerf, trim


@pytest.mark.parametrize("block", range(10))
def test_agrees_with_arc_flow(block):
    for seed in range(50 * block, 50 * block + 50):
        pieces, stock, kerf, trim = _instance(seed)
        expected = _arc_flow_cost(pieces, stock, kerf, trim)
        try:
            plan = plan_cuts(pieces, stock, kerf=kerf, end_trim=trim)
        except Unplannable:
            assert expected is None, seed
            continue
        verify_plan(plan, pieces, stock, kerf=kerf, end_trim=trim)
        assert (plan.cost, plan.proven) == (expected, True), seed


# --- optimal by construction ---------------------------------------------------------------------------------------


def _cut_up(chance, length, shortest, longest, step):
    """Cut a stick into pieces without waste."""
    left, pieces = length, []
    while left:
        choices = [p for p in range(shortest, min(longest, left) + 1, step) if left - p == 0 or left - p >= shortest]
        if not choices:
            return _cut_up(chance, length, shortest, longest, step)
        pieces.append(chance.choice(choices))
        left -= pieces[-1]
    return pieces


def _zero_waste_job(seed):
    """Sticks of one to three lengths cut up whole; at one price for length no plan can cost less than these sticks."""
    chance = random.Random(seed)
    step = chance.choice([1, 8, 8, 24])
    lengths = chance.sample([1536, 1920, 2304, 2688, 3072, 3840], chance.randint(1, 3))
    rate = chance.randint(2, 9)
    shortest = -(-chance.choice([192, 384, 768]) // step) * step
    pieces, cost, most = [], 0, chance.choice([10, 40, 120, 300])
    while len(pieces) < most:
        length = chance.choice(lengths)
        cut = _cut_up(chance, length, shortest, max(shortest, chance.choice([1536, 3072]) // step * step), step)
        if pieces and len(pieces) + len(cut) > most:
            break
        pieces += cut
        cost += length * rate
    chance.shuffle(pieces)
    return [Piece(length, 1) for length in pieces], [Stock(length, length * rate) for length in lengths], cost


@pytest.mark.parametrize("block", range(10))
def test_zero_waste_jobs_cost_what_was_cut_up(block):
    for seed in range(30 * block, 30 * block + 30):
        pieces, stock, cost = _zero_waste_job(seed)
        plan = plan_cuts(pieces, stock)
        verify_plan(plan, pieces, stock)
        assert (plan.cost, plan.proven) == (cost, True), seed


# --- a published example -------------------------------------------------------------------------------------------


def test_the_paper_mill_needs_73_rolls():
    # The well-known paper-mill example of the cutting-stock literature: rolls of 5,600 mm, 13 widths, least number of
    # rolls 73. Widths, counts and answer from memory.
    widths = {
        1380: 22, 1520: 25, 1560: 12, 1710: 14, 1820: 18, 1880: 18, 1930: 20,
        2000: 10, 2050: 12, 2100: 14, 2140: 16, 2150: 18, 2200: 20,
    }  # fmt: skip
    plan = plan_cuts([Piece(width, count) for width, count in widths.items()], [Stock(5600, 1)])
    assert (plan.cost, plan.proven) == (73, True)
