"""An independent check of a plan: it knows pieces, stock and plan, and nothing of how the plan was found."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from itertools import pairwise

from baybook.cutplan.model import Pattern, Piece, Plan, PlanError, Stock

__all__ = ["verify_plan"]


def verify_plan(
    plan: Plan, pieces: Sequence[Piece], stock: Sequence[Stock], *, kerf: int = 0, end_trim: int = 0
) -> None:
    """Check that a plan can be cut, cuts what is asked for, and adds up (P7).

    Parameters
    ----------
    plan : Plan
        The plan to check.
    pieces, stock : sequence of Piece, Stock
        What it was made from, in the same order. [1/16 in], [cent]
    kerf : int
        Width lost at each cut. [1/16 in], >= 0
    end_trim : int
        Lost once from each stock piece before the first cut. [1/16 in], >= 0

    Raises
    ------
    PlanError
        With one sentence on the first thing that is wrong.

    Examples
    --------
    >>> from baybook.cutplan import Piece, Stock, plan_cuts, verify_plan
    >>> pieces, stock = [Piece(1600, 3)], [Stock(3840, 8249)]
    >>> verify_plan(plan_cuts(pieces, stock), pieces, stock)
    >>> verify_plan(plan_cuts(pieces[:0], stock), pieces, stock)
    Traceback (most recent call last):
    baybook.cutplan.model.PlanError: 3 pieces of length 1600 are asked for and the plan cuts 0.
    """
    asked: Counter[int] = Counter()
    for piece in pieces:
        asked[piece.length] += piece.count
    cut: Counter[int] = Counter()
    used = [0] * len(stock)
    for number, pattern in enumerate(plan.patterns, start=1):
        _check_pattern(f"Pattern {number}", pattern, stock, kerf, end_trim)
        used[pattern.stock] += pattern.times
        for length, count in pattern.pieces:
            cut[length] += count * pattern.times
    for length in sorted(asked.keys() | cut.keys()):
        if asked[length] != cut[length]:
            raise PlanError(f"{asked[length]} pieces of length {length} are asked for and the plan cuts {cut[length]}.")
    _check_sums(plan, stock, used)


def _check_pattern(name: str, pattern: Pattern, stock: Sequence[Stock], kerf: int, end_trim: int) -> None:
    """Check one pattern: it is well formed, fits its stock, and its remainder is right."""
    if not 0 <= pattern.stock < len(stock):
        raise PlanError(f"{name} cuts stock {pattern.stock}; there are {len(stock)}, counted from 0.")
    if pattern.times < 1 or not pattern.pieces or any(count < 1 for _, count in pattern.pieces):
        raise PlanError(f"{name} must be cut at least once and hold at least one of each of its pieces.")
    lengths = [length for length, _ in pattern.pieces]
    if any(longer <= shorter for longer, shorter in pairwise(lengths)):
        raise PlanError(f"{name} must name each length once, longest first; it names {lengths}.")
    whole = stock[pattern.stock].length
    count = sum(n for _, n in pattern.pieces)
    taken = sum(length * n for length, n in pattern.pieces)
    need = taken + kerf * (count - 1) + end_trim
    if need > whole:
        raise PlanError(f"{name} needs {need} with kerf and end trim; its stock is {whole} long.")
    left = max(0, whole - need - kerf)
    if pattern.remainder != left:
        raise PlanError(f"{name} leaves {left}; the plan says {pattern.remainder}.")


def _check_sums(plan: Plan, stock: Sequence[Stock], used: Sequence[int]) -> None:
    """Check the stock used against its supply, and cost and bound against each other."""
    for index, (item, count) in enumerate(zip(stock, used, strict=True)):
        if item.supply is not None and count > item.supply:
            raise PlanError(f"Stock {index} ({item.length} long) is used {count} times; there are {item.supply}.")
    if plan.used != tuple(used):
        raise PlanError(f"The patterns use {tuple(used)} of the stock; the plan says {plan.used}.")
    cost = sum(item.price * count for item, count in zip(stock, used, strict=True))
    if plan.cost != cost:
        raise PlanError(f"The stock used costs {cost}; the plan says {plan.cost}.")
    if plan.lower_bound > cost:
        raise PlanError(f"The plan costs {cost} and claims that none can cost less than {plan.lower_bound}.")
    if plan.proven != (plan.lower_bound == cost):
        raise PlanError(f"A plan is proven when its lower bound {plan.lower_bound} is its cost {cost}, and only then.")
    if plan.proven == bool(plan.reason):
        raise PlanError("A plan has a reason when it is not proven, and only then.")
