"""The most valuable way to fill each kind of stock, exactly, in 64-bit whole numbers.

One table over pieces (shortest first) and filled length serves every kind: table[j][c] is the best value of the first j
bundles within length c. A demand of several equal pieces is split into bundles of 1, 2, 4, ... so that no pattern holds
more than asked.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from baybook.cutplan.instance import Cut, Instance

__all__ = ["Knapsack"]


class Knapsack:
    """The pricing problem of one instance, to be solved for many values of the items."""

    def __init__(self, instance: Instance) -> None:
        import numpy as np

        self.sizes = instance.sizes
        self.capacities = [kind.size for kind in instance.kinds]
        top = max(self.capacities)
        self.bundles: list[tuple[int, int]] = []
        for item in reversed(range(len(self.sizes))):
            left, count = min(instance.demands[item], top // self.sizes[item]), 1
            while left > 0:
                self.bundles.append((item, min(count, left)))
                left -= count
                count *= 2
        self._table = np.zeros((len(self.bundles) + 1, top + 1), dtype=np.int64)
        self._active: list[tuple[int, int]] = []
        self._values: list[int] = []

    def solve(self, values: list[int]) -> list[int]:
        """Return the greatest value of a pattern of each kind; the values must be whole and not negative."""
        import numpy as np

        self._values = values
        self._active = [(item, count) for item, count in self.bundles if values[item] > 0]
        table = self._table
        for row, (item, count) in enumerate(self._active):
            size = self.sizes[item] * count
            before, after = table[row], table[row + 1]
            after[:size] = before[:size]
            np.add(before[:-size], values[item] * count, out=after[size:])
            np.maximum(after[size:], before[size:], out=after[size:])
        return [int(table[len(self._active), capacity]) for capacity in self.capacities]

    def improving(self, kind: int, above: int, limit: int) -> list[Cut]:
        """Return patterns worth more than `above`, best first: for each bundle the best with that bundle as its longest."""
        import numpy as np

        capacity = self.capacities[kind]
        taken = np.array([self.sizes[item] * count for item, count in self._active])
        worth = np.array([self._values[item] * count for item, count in self._active])
        rows = np.flatnonzero(taken <= capacity)
        best = self._table[rows, capacity - taken[rows]] + worth[rows]
        order = np.argsort(-best, kind="stable")[:limit]
        return [self._trace(int(rows[i]), capacity) for i in order if best[i] > above]

    def _trace(self, row: int, room: int) -> Cut:
        """Read the best pattern with the bundle of this row off the table."""
        counts: dict[int, int] = {}
        while True:
            item, count = self._active[row]
            counts[item] = counts.get(item, 0) + count
            room -= self.sizes[item] * count
            column: NDArray[np.int64] = self._table[: row + 1, room]
            row = int(column.searchsorted(column[row])) - 1
            if row < 0:
                return tuple(sorted(counts.items()))
