"""The planner: from pieces and stock to a plan of proven least cost (P7)."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from baybook.cutplan.clock import Clock
from baybook.cutplan.instance import Cutting, Instance, build_instance
from baybook.cutplan.knapsack import table_size
from baybook.cutplan.model import Pattern, Piece, Plan, Stock, Unplannable
from baybook.cutplan.search import Search
from baybook.cutplan.ties import nicest
from baybook.cutplan.verify import verify_plan
from baybook.problems import OutOfRange

__all__ = ["plan_cuts", "safe_count"]

NODES = 3000
"""The usual limit on linear programs."""
CELLS = 1 << 27
"""The most cells a knapsack table may have; finer lengths are planned in coarser units."""


def plan_cuts(
    pieces: Sequence[Piece],
    stock: Sequence[Stock],
    *,
    kerf: int = 0,
    end_trim: int = 0,
    min_remainder: int = 0,
    node_limit: int = NODES,
    time_budget_s: float | None = None,
) -> Plan:
    """Return the cheapest way to cut the pieces from the stock (P7).

    The cutting stock problem in one dimension with several stock lengths, of which some are limited. The bound comes
    from column generation [1]_ and is established in whole numbers; the plan has passed `verify_plan`. Of plans of
    equal cost one with few distinct patterns is taken, then one with a large single remainder, then the first in a
    fixed order: the same input gives the same plan on every run, unless a time budget ends the search.

    Parameters
    ----------
    pieces : sequence of Piece
        What is to be cut; the same length may occur several times. [1/16 in]
    stock : sequence of Stock
        What it may be cut from: lengths on sale, and offcuts with their supply and scrap value. [1/16 in], [cent]
    kerf : int
        Width lost at each cut. [1/16 in], >= 0
    end_trim : int
        Lost once from each stock piece, offcuts too, before the first cut. [1/16 in], >= 0
    min_remainder : int
        A remainder shorter than this is scrap and does not count in choosing among plans of equal cost. [1/16 in], >= 0
    node_limit : int
        The search ends after so many linear programs. [1], >= 0
    time_budget_s : float or None
        The search ends after this time; None sets no limit. [s], >= 0

    Returns
    -------
    Plan
        The plan, its cost, a bound below which no plan can cost, and why it is not proven if it is not.

    Raises
    ------
    Unplannable
        If a piece is longer than every stock, or the supply does not suffice. The message names the piece.
    OutOfRange
        If a length, count, price or width is not what it must be.

    Examples
    --------
    Two 8 ft 4 in pieces come out of each 20 ft stock piece; the third one out of the 10 ft offcut.

    >>> from baybook.cutplan import Piece, Stock, plan_cuts
    >>> plan = plan_cuts([Piece(1600, 3)], [Stock(3840, 8249), Stock(1920, 400, 1, "rack")])
    >>> plan.cost, plan.used, plan.proven
    (8649, (1, 1), True)
    >>> plan_cuts([Piece(3841, 1, "porch 7")], [Stock(3840, 8249)])
    Traceback (most recent call last):
    baybook.cutplan.model.Unplannable: Piece porch 7 is 3841 long; the longest stock leaves 3840 after end trim. Take \
longer stock or splice the piece.

    References
    ----------
    .. [1] P. C. Gilmore and R. E. Gomory, "A linear programming approach to the cutting-stock problem", Operations
       Research 9 (1961) 849-859. From memory.
    """
    _check(pieces, stock, kerf=kerf, end_trim=end_trim, min_remainder=min_remainder, node_limit=node_limit)
    if not any(piece.count for piece in pieces):
        return Plan((), 0, 0, proven=True, reason="", used=(0,) * len(stock))
    instance = build_instance(pieces, stock, kerf, end_trim)
    cuttings, bound, reason = _search(instance, Clock(node_limit, time_budget_s))
    for kind, cut in cuttings[0]:
        if not instance.kinds[kind].stock:
            _refuse(pieces, instance.lengths[cut[0][0]], reason)
    cutting = nicest(instance, cuttings, min_remainder)
    listed = _patterns(instance, cutting, stock, kerf, end_trim)
    patterns = tuple(sorted(listed, key=lambda pattern: -stock[pattern.stock].length))
    used = tuple(sum(p.times for p in patterns if p.stock == index) for index in range(len(stock)))
    cost = sum(item.price * count for item, count in zip(stock, used, strict=True))
    bound *= instance.price_unit
    plan = Plan(patterns, cost, bound, proven=bound == cost, reason=reason if bound < cost else "", used=used)
    verify_plan(plan, pieces, stock, kerf=kerf, end_trim=end_trim)
    return plan


def safe_count(pieces: Sequence[Piece], stock: Sequence[Stock], *, kerf: int = 0, end_trim: int = 0) -> tuple[int, ...]:
    """Return the stock to buy when no plan is at hand: a stock piece for each piece.

    Each piece takes the cheapest stock of unlimited supply that is long enough; ties go to the shortest, then to the
    first.

    Parameters
    ----------
    pieces, stock : sequence of Piece, Stock
        As for `plan_cuts`. [1/16 in], [cent]
    kerf : int
        Without effect where each stock piece gives one piece; taken so that the call reads like `plan_cuts`. [1/16 in]
    end_trim : int
        Lost once from each stock piece. [1/16 in], >= 0

    Returns
    -------
    tuple of int
        How many of each stock, in the order given. [1]

    Raises
    ------
    Unplannable
        If a piece is longer than every stock of unlimited supply. The message names the piece.
    OutOfRange
        If a length, count, price or width is not what it must be.

    Examples
    --------
    >>> from baybook.cutplan import Piece, Stock, safe_count
    >>> safe_count([Piece(1600, 3), Piece(2400, 1)], [Stock(1920, 4999), Stock(3840, 8249)])
    (3, 1)
    """
    unlimited = [item for item in stock if item.supply is None]
    _check(pieces, unlimited, kerf=kerf, end_trim=end_trim)
    order = sorted((item.price, item.length, index) for index, item in enumerate(stock) if item.supply is None)
    counts = [0] * len(stock)
    for piece in pieces:
        if piece.count:
            counts[next(i for _, length, i in order if length - end_trim >= piece.length)] += piece.count
    return tuple(counts)


def _search(instance: Instance, clock: Clock) -> tuple[list[Cutting], int, str]:
    """Return cuttings, the best first, the bound, and why they may not meet."""
    cells = table_size(instance)
    if cells <= CELLS:
        search = Search(instance, clock)
        search.run()
        return [search.best, *search.starts], search.bound, search.reason
    step = -(-cells // (CELLS // 16))
    cuttings = list(Search(instance, clock).starts)
    coarse = instance.coarse(step, up=True)
    if any(coarse.kinds[k].size >= coarse.sizes[0] for k in coarse.ample):
        above = Search(coarse, clock)
        above.run()
        cuttings.append(above.best)
    below = Search(instance.coarse(step, up=False), clock)
    below.run()
    cuttings.sort(key=instance.cost)
    return cuttings, below.bound, below.reason or "Not proven: the lengths are too fine to plan with exactly."


def _check(pieces: Sequence[Piece], stock: Sequence[Stock], **amounts: int) -> None:
    """Refuse what is no length, count, price or width, and pieces longer than the longest of the stock."""
    for name, amount in amounts.items():
        if amount < 0:
            raise OutOfRange(f"{name} is {amount}; it must be 0 or more.")
    for piece in pieces:
        if piece.length < 1 or piece.count < 0:
            raise OutOfRange(f"{_name(piece)}: length {piece.length} must be over 0 and count {piece.count} 0 or more.")
    for item in stock:
        if item.length < 1 or item.price < 0 or (item.supply is not None and item.supply < 0):
            raise OutOfRange(
                f"Stock {item.name or item.length}: length {item.length} must be over 0, "
                f"price {item.price} and supply {item.supply} 0 or more."
            )
    longest = max((item.length for item in stock if item.supply != 0), default=0) - amounts["end_trim"]
    for piece in pieces:
        if piece.count and piece.length > longest:
            raise Unplannable(
                f"{_name(piece)} is {piece.length} long; the longest stock leaves {max(longest, 0)} after end trim. "
                "Take longer stock or splice the piece."
            )


def _name(piece: Piece) -> str:
    return f"Piece {piece.label or piece.length}"


def _refuse(pieces: Sequence[Piece], length: int, reason: str) -> None:
    """Say that there is not enough stock for a piece of this length."""
    name = next(_name(piece) for piece in pieces if piece.length == length)
    found = f"no plan was found ({reason})" if reason else "there is not enough stock"
    raise Unplannable(f"{name} is {length} long and finds no place: {found}. Add stock of that length or longer.")


def _patterns(
    instance: Instance, cutting: Cutting, stock: Sequence[Stock], kerf: int, end_trim: int
) -> Iterator[Pattern]:
    """Yield the patterns of a cutting, kind by kind and the frequent ones first, each with the stock it is cut from."""
    for kind, members in enumerate(instance.kinds):
        here = sorted((-times, cut) for (k, cut), times in cutting.items() if k == kind)
        left = [stock[index].supply for index in members.stock]
        for negative, cut in here:
            times = -negative
            lengths = tuple((instance.lengths[item], count) for item, count in cut)
            taken = sum((length + kerf) * count for length, count in lengths) + end_trim
            for at, index in enumerate(members.stock):
                have = left[at]
                share = times if have is None else min(times, have)
                if share:
                    left[at] = None if have is None else have - share
                    times -= share
                    yield Pattern(index, lengths, share, max(0, stock[index].length - taken))
