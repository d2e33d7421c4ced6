"""The planner: from pieces and stock to a plan of proven least cost (P7)."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from baybook.cutplan.heuristics import simple_cuttings
from baybook.cutplan.instance import Cutting, Instance, build_instance, build_plan, check_input
from baybook.cutplan.knapsack import Knapsack
from baybook.cutplan.master import SCALE, Master, quiet_solver
from baybook.cutplan.model import Piece, Plan, Stock, Unplannable
from baybook.cutplan.verify import verify_plan

__all__ = ["plan_cuts"]


def plan_cuts(
    pieces: Sequence[Piece],
    stock: Sequence[Stock],
    *,
    kerf: int = 0,
    end_trim: int = 0,
    min_remainder: int = 0,
    node_limit: int = 1000,
    time_budget_s: float | None = None,
) -> Plan:
    """Return the cheapest way to cut the pieces from the stock (P7)."""
    check_input(pieces, stock, kerf=kerf, end_trim=end_trim, min_remainder=min_remainder)
    if not any(piece.count for piece in pieces):
        return Plan((), 0, 0, proven=True, reason="", used=(0,) * len(stock))
    instance = build_instance(pieces, stock, kerf, end_trim)
    best = min(simple_cuttings(instance), key=instance.cost)
    need = sum(size * demand for size, demand in zip(instance.sizes, instance.demands, strict=True))
    bound = _bound(instance, [kind.size for kind in instance.kinds], need)
    if bound < instance.cost(best):
        bound, best = _improve(instance, bound, best, node_limit, time_budget_s)
    if any(not instance.kinds[kind].stock for kind, _ in best):
        name = _unserved(instance, best, pieces)
        raise Unplannable(f"Piece {name} finds no place: there is not enough stock. Add stock or take pieces away.")
    plan = build_plan(instance, best, bound, "The bound does not reach the cost.", stock, kerf, end_trim)
    verify_plan(plan, pieces, stock, kerf=kerf, end_trim=end_trim)
    return plan


def _unserved(instance: Instance, cutting: Cutting, pieces: Sequence[Piece]) -> str:
    item = next(cut[0][0] for kind, cut in cutting if not instance.kinds[kind].stock)
    length = instance.lengths[item]
    return next(piece.label or str(length) for piece in pieces if piece.length == length)


def _bound(instance: Instance, most: Sequence[int], need: int) -> int:
    """Return the least price at which counts n with sum(n * most) >= need, each within its supply, may be had."""
    kinds = sorted(
        (kind.price / worth, kind.price, worth, kind.supply)
        for kind, worth in zip(instance.kinds, most, strict=True)
        if worth
    )
    cost_num, left = 0, need
    for _, price, worth, supply in kinds:
        if worth * supply >= left:
            return cost_num + -(-price * left // worth)
        cost_num += price * supply
        left -= worth * supply
    return cost_num


def _improve(
    instance: Instance, bound: int, best: Cutting, node_limit: int, budget: float | None
) -> tuple[int, Cutting]:
    master, knapsack = Master(instance), Knapsack(instance)
    for cutting in simple_cuttings(instance):
        master.add(cutting)
    while True:
        relaxed = master.solve()
        worth = knapsack.solve(relaxed.item_values)
        need = sum(v * d for v, d in zip(relaxed.item_values, instance.demands, strict=True))
        bound = max(bound, _bound(instance, worth, need))
        new = [
            (k, cut)
            for k, value in enumerate(relaxed.kind_values)
            if worth[k] > value + SCALE // 10**7
            for cut in knapsack.improving(k, value + SCALE // 10**7, 60)
        ]
        if not master.add(new) or bound >= instance.cost(best):
            break
    found = _integer(instance, master, node_limit, budget)
    return bound, min([best, found], key=instance.cost) if found else best


def _integer(instance: Instance, master: Master, node_limit: int, budget: float | None) -> Cutting | None:
    """Solve the restricted master over whole numbers."""
    import numpy as np

    solver = quiet_solver(
        mip_max_nodes=node_limit, mip_rel_gap=0.0, **({} if budget is None else {"time_limit": budget})
    )
    columns = master.columns
    kinds, items = instance.kinds, len(instance.sizes)
    starts = np.cumsum([0, *(len(cut) + 1 for _, cut in columns)], dtype=np.int32)
    rows = np.array([row for k, cut in columns for row in (*(i for i, _ in cut), items + k)], dtype=np.int32)
    values = np.array([value for _, cut in columns for value in (*(n for _, n in cut), 1)], dtype=float)
    none = np.zeros(0, np.int32)
    lower = np.array([*instance.demands, *(0 for _ in kinds)], dtype=float)
    upper = np.array([*(np.inf for _ in range(items)), *(kind.supply for kind in kinds)], dtype=float)
    solver.addRows(len(lower), lower, upper, 0, np.zeros(len(lower), np.int32), none, np.zeros(0))
    costs = np.array([float(kinds[k].price) for k, _ in columns])
    count = len(columns)
    solver.addCols(count, costs, np.zeros(count), np.full(count, np.inf), len(rows), starts[:-1], rows, values)
    import highspy

    solver.changeColsIntegrality(
        count, np.arange(count, dtype=np.int32), np.array([highspy.HighsVarType.kInteger] * count)
    )
    solver.run()
    if solver.getInfo().primal_solution_status != 2:
        return None
    left = list(instance.demands)
    cutting: Counter[tuple[int, tuple[tuple[int, int], ...]]] = Counter()
    for (k, cut), times in zip(columns, solver.getSolution().col_value, strict=True):
        for _ in range(round(times)):
            kept = tuple((i, min(n, left[i])) for i, n in cut if left[i])
            for i, n in kept:
                left[i] -= n
            if kept:
                cutting[k, kept] += 1
    return None if any(left) else cutting
