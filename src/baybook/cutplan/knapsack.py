"""The most valuable way to fill each kind of stock, exactly, in 64-bit whole numbers.

Pieces are taken up shortest first; best[c] is the most value within length c so far, and a table of yes/no remembers
where taking a bundle was better. A demand of several equal pieces is split into bundles of 1, 2, 4, ... so that no
pattern holds more than is asked for.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from baybook.cutplan.instance import Cut, Instance

__all__ = ["Knapsack", "table_size"]


def table_size(instance: Instance) -> int:
    """Return how many cells the table of an instance has."""
    top = instance.kinds[0].size
    return (top + 1) * len(_bundles(instance.sizes, instance.demands, top))


def _bundles(sizes: Sequence[int], demands: Sequence[int], top: int) -> list[tuple[int, int]]:
    """Return the bundles (item, count), shortest items first."""
    bundles = []
    for item in reversed(range(len(sizes))):
        left, count = min(demands[item], top // sizes[item]), 1
        while left > 0:
            bundles.append((item, min(count, left)))
            left -= count
            count *= 2
    return bundles


class Knapsack:
    """The pricing problem of one instance, for many values of the items and for any part of the demands."""

    def __init__(self, instance: Instance) -> None:
        import numpy as np

        self._sizes = instance.sizes
        self._all = instance.demands
        self._capacities = np.array([kind.size for kind in instance.kinds])
        self._top = instance.kinds[0].size
        self._bundles = _bundles(instance.sizes, instance.demands, self._top)
        self._taken = np.zeros((len(self._bundles), self._top + 1), dtype=bool)
        self._best = np.zeros(self._top + 1, dtype=np.int64)
        self._room = np.zeros(self._top + 1, dtype=np.int64)

    def solve(self, values: Sequence[int], demands: Sequence[int]) -> list[int]:
        """Return the greatest value of a pattern of each kind; values are whole and not negative."""
        import numpy as np

        bundles = self._bundles if demands is self._all else _bundles(self._sizes, demands, self._top)
        self._active = active = [(item, count) for item, count in bundles if values[item] > 0]
        self._size = np.array([self._sizes[item] * count for item, count in active], dtype=np.int64)
        self._value = np.array([values[item] * count for item, count in active], dtype=np.int64)
        self._before = np.zeros((len(active), len(self._capacities)), dtype=np.int64)
        places = np.maximum(self._capacities[None, :] - self._size[:, None], 0)
        best, room, top = self._best, self._room, self._top
        best[:] = 0
        for row, (size, value) in enumerate(zip(self._size.tolist(), self._value.tolist(), strict=True)):
            best.take(places[row], out=self._before[row], mode="clip")
            taken, with_it, without = self._taken[row], room[: top + 1 - size], best[size:]
            taken[:size] = False
            np.add(best[: top + 1 - size], value, out=with_it)
            np.greater(with_it, without, out=taken[size:])
            np.maximum(with_it, without, out=without)
        return [int(value) for value in best[self._capacities]]

    def patterns(self, kind: int, limit: int) -> list[Cut]:
        """Return good patterns, best first: for each bundle the best pattern in which it is the longest."""
        capacity = int(self._capacities[kind])
        worth = self._before[:, kind] + self._value
        worth[self._size > capacity] = -1
        order = (-worth).argsort(kind="stable")[:limit]
        return [self._trace(int(row), capacity) for row in order if worth[row] > 0]

    def _trace(self, row: int, room: int) -> Cut:
        """Read the best pattern with the bundle of this row as its longest off the table."""
        counts: dict[int, int] = {}
        while True:
            item, count = self._active[row]
            counts[item] = counts.get(item, 0) + count
            room -= int(self._size[row])
            column = self._taken[:row, room][::-1]
            back = int(column.argmax()) if row else 0
            if not row or not column[back]:
                return tuple(sorted(counts.items()))
            row -= back + 1
