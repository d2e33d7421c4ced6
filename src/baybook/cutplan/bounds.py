"""Lower bounds in whole numbers.

Give every item a value, and let worth[k] be the most of it that a pattern of kind k can hold. Then the counts n of any
plan satisfy sum(worth * n) >= need, where need is the value of all pieces: a `Cover`. It holds whatever the values are
and is computed in whole numbers, so no bound depends on how exactly a solver found the values.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cmp_to_key
from typing import TypeAlias

from baybook.cutplan.instance import Instance

__all__ = ["Box", "Cover", "least_price", "make_cover", "simple_covers"]

Box: TypeAlias = tuple[tuple[int, ...], tuple[int, ...]]
"""The least and the most of each kind."""


@dataclass(frozen=True, slots=True)
class Cover:
    """The counts n of every plan satisfy sum(worth * n) >= need; `order` has the useful kinds by price for worth."""

    worth: tuple[int, ...]
    need: int
    order: tuple[int, ...]

    def holds(self, counts: Sequence[int]) -> bool:
        """Whether these counts may belong to a plan."""
        return sum(w * n for w, n in zip(self.worth, counts, strict=True)) >= self.need


def make_cover(instance: Instance, worth: Sequence[int], need: int) -> Cover:
    """Return the cover with its kinds in order, compared exactly."""
    kinds = instance.kinds
    useful = [k for k in range(len(kinds)) if worth[k]]

    def dearer(one: int, other: int) -> int:
        return kinds[one].price * worth[other] - kinds[other].price * worth[one]

    useful.sort(key=cmp_to_key(dearer))
    return Cover(tuple(worth), need, tuple(useful))


def least_price(cover: Cover, instance: Instance, box: Box) -> int | None:
    """Return a bound on the price of all counts in the box that satisfy the cover; None if there are none.

    The kinds are taken in the order of price for worth, the last of them in part, and the sum is rounded up.
    """
    least, most = box
    kinds, worth = instance.kinds, cover.worth
    price, need = 0, cover.need
    for k, count in enumerate(least):
        price += kinds[k].price * count
        need -= worth[k] * count
    for k in cover.order:
        if need <= 0:
            return price
        spare = most[k] - least[k]
        if worth[k] * spare >= need:
            return price - (-kinds[k].price * need // worth[k])
        price += kinds[k].price * spare
        need -= worth[k] * spare
    return price if need <= 0 else None


def simple_covers(instance: Instance) -> Iterable[Cover]:
    """Yield the covers that need no solver: by length, and by number of the longest pieces."""
    sizes, demands = instance.sizes, instance.demands
    capacities = [kind.size for kind in instance.kinds]
    yield make_cover(instance, capacities, sum(size * demand for size, demand in zip(sizes, demands, strict=True)))
    marks = {capacity // part for capacity in capacities for part in (1, 2, 3, 4)}
    for longest in sorted({sum(size > mark for size in sizes) for mark in marks} - {0}):
        worth = [_most_pieces(capacity, sizes[:longest], demands) for capacity in capacities]
        yield make_cover(instance, worth, sum(demands[:longest]))


def _most_pieces(capacity: int, sizes: Sequence[int], demands: Sequence[int]) -> int:
    """Return how many pieces of these sizes, longest first, fit the capacity."""
    count = 0
    for item in reversed(range(len(sizes))):
        taken = min(demands[item], capacity // sizes[item])
        if not taken:
            break
        count += taken
        capacity -= taken * sizes[item]
    return count
