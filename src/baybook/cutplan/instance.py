"""The planner's own picture of a job: whole numbers only, equal things merged, useless things gone.

With kerf k a stock piece of length L holds pieces l while the sum of (l + k) stays within L - end_trim + k. These
enlarged sizes are divided by their greatest common divisor, and each stock is shortened to the largest sum of pieces
that fits it.
"""

from __future__ import annotations

from bisect import bisect_left
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from math import gcd
from typing import TypeAlias

from baybook.cutplan.model import Piece, Stock
from baybook.problems import OutOfRange

__all__ = ["Cut", "Cutting", "Instance", "Kind", "build_instance"]

Cut: TypeAlias = tuple[tuple[int, int], ...]
"""The pieces of one pattern: (item index, how many), by item index."""
Cutting: TypeAlias = Mapping[tuple[int, Cut], int]
"""How often each kind (by index) is cut in each way."""

FINEST = 1 << 22
"""Stock with more units of length than this is not shortened to sums of pieces."""


@dataclass(frozen=True, slots=True)
class Kind:
    """Stock of one usable size and one price.

    `length` is the longest usable length in sixteenths, kerf added; `stock` holds the indices in the order they are
    used up. A kind of no stock is a way out where the supply may not suffice, dearer than any plan without it.
    """

    size: int
    price: int
    supply: int
    length: int
    stock: tuple[int, ...]


@dataclass(frozen=True)  # without slots: what follows from the fields is worked out once and kept
class Instance:
    """Items longest first, kinds largest first.

    Sizes are in units of `unit` sixteenths, prices in units of `price_unit` cents. `ample` are the kinds of which there
    is one for every piece; at least one of them holds the longest piece.
    """

    lengths: tuple[int, ...]
    sizes: tuple[int, ...]
    demands: tuple[int, ...]
    kinds: tuple[Kind, ...]
    ample: tuple[int, ...]
    unit: int
    price_unit: int

    @cached_property
    def top_price(self) -> int:
        """The dearest price of real stock, at least 1: the unit of money in the linear programs."""
        return max([1, *(kind.price for kind in self.kinds if kind.stock)])

    @cached_property
    def scale(self) -> int:
        """Into how many parts the values of a linear program are divided to make them whole.

        Few enough that sums over all pieces stay well within 64 bits.
        """
        dearest = max(kind.price for kind in self.kinds) // self.top_price
        return 1 << max(min(50 - sum(self.demands).bit_length() - dearest.bit_length(), 42), 20)

    @cached_property
    def _ladder(self) -> list[tuple[int, int]]:
        """The ample kinds worth taking, smallest first: (size, kind), each dearer than the one before."""
        ladder: list[tuple[int, int]] = []
        for kind in self.ample:
            if not ladder or self.kinds[kind].price < self.kinds[ladder[-1][1]].price:
                ladder.append((self.kinds[kind].size, kind))
        return ladder[::-1]

    def cheapest(self, load: int) -> int:
        """Return the cheapest ample kind that holds this much, of equal ones the largest."""
        return self._ladder[bisect_left(self._ladder, (load, -1))][1]

    def cost(self, cutting: Cutting) -> int:
        """Return the price of a cutting in price units."""
        return sum(self.kinds[kind].price * times for (kind, _), times in cutting.items())

    def load(self, cut: Cut) -> int:
        """Return how much of a stock piece a pattern takes up."""
        return sum(self.sizes[item] * count for item, count in cut)

    def coarse(self, step: int, *, up: bool) -> Instance:
        """Return this instance in units `step` times as long.

        With sizes rounded up every cutting of it is one here; rounded down, every cutting here is one of it (pieces
        shorter than a unit left out), so that its bounds hold here.
        """
        sizes = tuple(-(-size // step) if up else max(size // step, 1) for size in self.sizes)
        demands = tuple(d if up or size >= step else 0 for d, size in zip(self.demands, self.sizes, strict=True))
        kinds = tuple(replace(kind, size=kind.size // step) for kind in self.kinds)
        return replace(self, sizes=sizes, demands=demands, kinds=kinds)


def build_instance(pieces: Sequence[Piece], stock: Sequence[Stock], kerf: int, end_trim: int) -> Instance:
    """Merge and shorten checked input; at least one piece must be asked for."""
    asked: Counter[int] = Counter()
    for piece in pieces:
        asked[piece.length] += piece.count
    lengths = tuple(sorted((length for length, count in asked.items() if count), reverse=True))
    demands = tuple(asked[length] for length in lengths)
    unit = gcd(*(length + kerf for length in lengths))
    sizes = tuple((length + kerf) // unit for length in lengths)
    kinds = _merge(stock, sizes, demands, unit, kerf - end_trim)
    price_unit = gcd(*(kind.price for kind in kinds)) or 1
    kinds = [replace(kind, price=kind.price // price_unit) for kind in kinds]
    total = sum(demands)
    if max(kind.price for kind in kinds) * total >> 60:
        dearest = max(item.price for item in stock)
        raise OutOfRange(f"A price of {dearest} for {total} pieces is too large to reckon with; give prices in cents.")
    ample = tuple(k for k, kind in enumerate(kinds) if kind.supply >= total)
    return Instance(lengths, sizes, demands, tuple(kinds), ample, unit, price_unit)


def _merge(stock: Sequence[Stock], sizes: Sequence[int], demands: Sequence[int], unit: int, extra: int) -> list[Kind]:
    """Return the kinds, largest first, without those that another makes useless."""
    total = sum(demands)
    usable = [(item.length + extra) // unit for item in stock]
    sums = _reachable(sizes, demands, max(usable))
    merged: dict[tuple[int, int], list[int]] = {}
    for index, item in enumerate(stock):
        size = _shortened(max(usable[index], 0), sums)
        if size >= sizes[-1] and item.supply != 0:
            merged.setdefault((size, item.price), []).append(index)
    kinds = []
    for (size, price), members in merged.items():
        members.sort(key=lambda i: (stock[i].supply is None, -stock[i].length, i))
        supply = sum(total if (have := stock[i].supply) is None else have for i in members)
        length = max(stock[i].length for i in members) + extra
        kinds.append(Kind(size, price, min(supply, total), length, tuple(members)))
    kinds = [kind for kind in kinds if not any(_better(other, kind, total) for other in kinds)]
    if not any(kind.size >= sizes[0] and kind.supply >= total for kind in kinds):
        dear = min(sum(kind.price * kind.supply for kind in kinds), total * max(kind.price for kind in kinds))
        kinds.append(Kind(sizes[0], dear + (gcd(*(kind.price for kind in kinds)) or 1), total, 0, ()))
    return sorted(kinds, key=lambda kind: (-kind.size, kind.price))


def _reachable(sizes: Sequence[int], demands: Sequence[int], limit: int) -> int:
    """Return a number whose bit s is set if some of the pieces add up to s, for s up to the limit."""
    if limit > FINEST:
        return 0
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


def _shortened(size: int, sums: int) -> int:
    """Return the largest sum within the size, or the size itself if the sums are not known."""
    return (sums & ((1 << (size + 1)) - 1)).bit_length() - 1 if sums else size


def _better(other: Kind, kind: Kind, total: int) -> bool:
    """Whether `other` makes `kind` useless: at least as large, no dearer, and enough of it for every piece."""
    at_least = other.size >= kind.size and other.price <= kind.price and other.supply >= total
    return at_least and (other.size, other.price) != (kind.size, kind.price)
