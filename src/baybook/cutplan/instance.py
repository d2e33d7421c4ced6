"""The planner's own picture of a job: whole numbers only, equal things merged, useless things gone.

With kerf k a stock piece of length L holds pieces l while the sum of (l + k) stays within L - end_trim + k. These
enlarged sizes are divided by their greatest common divisor, and each stock is shortened to the largest sum of pieces
that fits it.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from math import gcd
from typing import TypeAlias

from baybook.cutplan.model import Pattern, Piece, Plan, Stock, Unplannable
from baybook.problems import OutOfRange

__all__ = ["Cut", "Cutting", "Instance", "Kind", "build_instance", "build_plan", "check_input"]

Cut: TypeAlias = tuple[tuple[int, int], ...]
"""The pieces of one pattern: (item index, how many), by item index."""
Cutting: TypeAlias = Mapping[tuple[int, Cut], int]
"""How often each kind (by index) is cut in each way."""


@dataclass(frozen=True, slots=True)
class Kind:
    """Stock of one usable size and one price; `stock` holds its indices in the order they are used up."""

    size: int
    price: int
    supply: int
    stock: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Instance:
    """Items longest first, kinds largest first; prices in units of `price_unit` cents."""

    lengths: tuple[int, ...]
    sizes: tuple[int, ...]
    demands: tuple[int, ...]
    kinds: tuple[Kind, ...]
    price_unit: int

    def cost(self, cutting: Cutting) -> int:
        """Return the price of a cutting in price units."""
        return sum(self.kinds[kind].price * times for (kind, _), times in cutting.items())


def check_input(pieces: Sequence[Piece], stock: Sequence[Stock], **amounts: int) -> None:
    """Refuse what is no length, count, price or width; see `plan_cuts` for what is raised."""
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
    longest = max((item.length for item in stock if item.supply != 0), default=0) - amounts.get("end_trim", 0)
    for piece in pieces:
        if piece.count and piece.length > longest:
            raise Unplannable(
                f"{_name(piece)} is {piece.length} long; the longest stock leaves {max(longest, 0)} after end trim. "
                "Take longer stock or splice the piece."
            )


def _name(piece: Piece) -> str:
    return f"Piece {piece.label or piece.length}"


def build_instance(pieces: Sequence[Piece], stock: Sequence[Stock], kerf: int, end_trim: int) -> Instance:
    """Merge and shorten checked input; at least one piece must be asked for."""
    asked: Counter[int] = Counter()
    for piece in pieces:
        if piece.count:
            asked[piece.length] += piece.count
    lengths = tuple(sorted(asked, reverse=True))
    unit = gcd(*(length + kerf for length in lengths))
    sizes = tuple((length + kerf) // unit for length in lengths)
    demands = tuple(asked[length] for length in lengths)
    price_unit = gcd(*(item.price for item in stock)) or 1
    total = sum(demands)
    usable = [(item.length - end_trim + kerf) // unit for item in stock]
    sums = _reachable(sizes, demands, max(usable))
    merged: dict[tuple[int, int], list[int]] = {}
    for index, item in enumerate(stock):
        size = (sums & ((1 << max(usable[index] + 1, 1)) - 1)).bit_length() - 1
        if size > 0 and item.supply != 0:
            merged.setdefault((size, item.price // price_unit), []).append(index)
    kinds = []
    for (size, price), members in merged.items():
        supply = sum(total if stock[i].supply is None else stock[i].supply or 0 for i in members)
        members.sort(key=lambda i: (stock[i].supply is None, -stock[i].length, i))
        kinds.append(Kind(size, price, min(supply, total), tuple(members)))
    kinds.sort(key=lambda kind: (-kind.size, kind.price))
    kinds = [kind for kind in kinds if not any(_better(other, kind, total) for other in kinds)]
    return Instance(lengths, sizes, demands, tuple(_with_emergency(kinds, sizes, total)), price_unit)


def _reachable(sizes: Sequence[int], demands: Sequence[int], limit: int) -> int:
    """Return a number whose bit s is set if some of the pieces add up to s, for s up to the limit."""
    mask = (1 << (limit + 1)) - 1
    sums = 1
    for size, demand in zip(sizes, demands, strict=True):
        left, step = min(demand, limit // size), 1
        while left > 0:
            taken = min(step, left)
            sums |= (sums << (size * taken)) & mask
            left -= taken
            step *= 2
    return sums


def _better(other: Kind, kind: Kind, total: int) -> bool:
    """Whether `other` makes `kind` useless: at least as large, no dearer, and enough of it for every piece."""
    at_least = other.size >= kind.size and other.price <= kind.price and other.supply >= total
    return at_least and (other.size, other.price) != (kind.size, kind.price)


def _with_emergency(kinds: list[Kind], sizes: Sequence[int], total: int) -> list[Kind]:
    """Add a kind of no stock, dearer than any plan without it, where the supply might not suffice."""
    if any(kind.size >= sizes[0] and kind.supply >= total for kind in kinds):
        return kinds
    dear = 1 + min(sum(kind.price * kind.supply for kind in kinds), total * max(kind.price for kind in kinds))
    return [Kind(sizes[0], dear, total, ()), *kinds]


def build_plan(
    instance: Instance,
    cutting: Cutting,
    lower_bound: int,
    reason: str,
    stock: Sequence[Stock],
    kerf: int,
    end_trim: int,
) -> Plan:
    """Give the merged things their stock back and put the patterns in order."""
    used = [0] * len(stock)
    patterns = []
    for (kind, cut), times in sorted(cutting.items(), key=lambda entry: (entry[0][0], -entry[1], entry[0][1])):
        pieces = tuple((instance.lengths[item], count) for item, count in cut)
        taken = sum((length + kerf) * count for length, count in pieces)
        for index, share in _draw(instance.kinds[kind].stock, times, used, stock):
            remainder = max(0, stock[index].length - end_trim - taken)
            patterns.append(Pattern(index, pieces, share, remainder))
            used[index] += share
    patterns.sort(key=lambda pattern: -stock[pattern.stock].length)
    cost = sum(item.price * count for item, count in zip(stock, used, strict=True))
    lower_bound *= instance.price_unit
    return Plan(
        tuple(patterns), cost, lower_bound, lower_bound == cost, reason if lower_bound < cost else "", tuple(used)
    )


def _draw(members: Iterable[int], times: int, used: Sequence[int], stock: Sequence[Stock]) -> Iterable[tuple[int, int]]:
    """Share `times` stock pieces out over the members of a kind, using up one after the other."""
    for index in members:
        supply = stock[index].supply
        share = times if supply is None else min(times, supply - used[index])
        if share > 0:
            yield index, share
            times -= share
