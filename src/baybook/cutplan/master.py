"""The linear program over the patterns known so far, kept warm in HiGHS.

Columns: the count of each kind (at its price), a substitute for each item, exchanges "the place of a piece serves the
next shorter one" (they keep the item values in the order of the lengths), and the patterns. Rows: the demand of each
item, and for each kind "no more patterns than its count".
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from baybook.cutplan.bounds import Box
from baybook.cutplan.clock import Clock, Stopped
from baybook.cutplan.instance import Cut, Instance

__all__ = ["Master", "Relaxed"]

PRIMAL, DUAL = 4, 1


@dataclass(frozen=True, slots=True)
class Relaxed:
    """What the linear program says: whole values of items and kinds, and the amounts of kinds, patterns and lack."""

    item_values: list[int]
    kind_values: list[int]
    counts: list[float]
    patterns: list[tuple[int, Cut, float]]
    lacking: float


def _quiet_solver(**options: Any) -> Any:
    """Return a HiGHS solver that prints nothing: highspy.Highs itself prints a banner, its base class does not."""
    import highspy

    solver: Any = highspy.Highs.__mro__[1]()
    for name, value in {"output_flag": False, "threads": 1, "random_seed": 0, **options}.items():
        solver.setOptionValue(name, value)
    return solver


class Master:
    """The linear program for some demands on an instance."""

    def __init__(self, instance: Instance, demands: Sequence[int], clock: Clock) -> None:
        self.instance = instance
        self.patterns: list[tuple[int, Cut]] = []
        self._known: set[tuple[int, Cut]] = set()
        self._clock = clock
        self._items = [item for item, demand in enumerate(demands) if demand]
        self._row = {item: row for row, item in enumerate(self._items)}
        self._fixed = len(instance.kinds) + 2 * len(self._items) - 1
        self._solved = self._turned = False
        self._solver = _quiet_solver(presolve="off", solver="simplex", simplex_dual_edge_weight_strategy=1)
        self._build(demands)

    def _build(self, demands: Sequence[int]) -> None:
        """Set up rows, counts, substitutes and exchanges."""
        import numpy as np

        kinds, count = self.instance.kinds, len(self._items)
        rows = count + len(kinds)
        least = np.array([*(float(demands[item]) for item in self._items), *(-np.inf for _ in kinds)])
        most = np.array([*(np.inf for _ in self._items), *(0.0 for _ in kinds)])
        self._solver.addRows(rows, least, most, 0, np.zeros(rows, np.int32), np.zeros(0, np.int32), np.zeros(0))
        prices = [kind.price / self.instance.top_price for kind in kinds]
        self._add(prices, [[(count + k, -1.0)] for k in range(len(kinds))])
        dearest = max(prices)
        self._add([2.0 * dearest for _ in self._items], [[(row, 1.0)] for row in range(count)])
        self._add([0.0] * (count - 1), [[(row, -1.0), (row + 1, 1.0)] for row in range(count - 1)])

    def _add(self, costs: Sequence[float], entries: Sequence[Sequence[tuple[int, float]]]) -> None:
        import numpy as np

        count = len(entries)
        starts = np.cumsum([0, *(len(column) for column in entries)], dtype=np.int32)
        rows = np.array([row for column in entries for row, _ in column], dtype=np.int32)
        values = np.array([value for column in entries for _, value in column], dtype=float)
        zero, endless = np.zeros(count), np.full(count, np.inf)
        self._solver.addCols(count, np.array(costs), zero, endless, len(rows), starts[:-1], rows, values)

    def add(self, patterns: Iterable[tuple[int, Cut]]) -> int:
        """Add the patterns not yet known; return how many those were."""
        new = [pattern for pattern in dict.fromkeys(patterns) if pattern not in self._known]
        self._known.update(new)
        self.patterns.extend(new)
        row, kinds = self._row, len(self._items)
        self._add([0.0] * len(new), [[*((row[i], float(n)) for i, n in cut), (kinds + k, 1.0)] for k, cut in new])
        return len(new)

    def limit_counts(self, box: Box) -> None:
        """Keep the count of each kind within bounds."""
        import numpy as np

        kinds = len(self.instance.kinds)
        least, most = (np.array(side, dtype=float) for side in box)
        self._solver.changeColsBounds(kinds, np.arange(kinds, dtype=np.int32), least, most)
        self._turned = self._solved

    def solve(self) -> Relaxed:
        """Solve; after new patterns the primal simplex goes on from where it stood, after new limits the dual one."""
        import highspy
        import numpy as np

        self._clock.tick()
        self._solver.setOptionValue("simplex_strategy", DUAL if self._turned else PRIMAL)
        self._solved, self._turned = True, False
        if self._clock.left is not None:
            self._solver.setOptionValue("time_limit", self._solver.getRunTime() + self._clock.left)
        optimal = highspy.HighsModelStatus.kOptimal
        self._solver.run()
        if self._solver.getModelStatus() != optimal:
            self._clock.check()
            self._solver.clearSolver()
            self._solver.run()  # from scratch, should it have lost its way
            if self._solver.getModelStatus() != optimal:
                raise Stopped("the linear program could not be solved")
        solution = self._solver.getSolution()
        scale = self.instance.scale
        values = np.rint(np.array(solution.row_dual) * scale).astype(np.int64)
        amounts = np.array(solution.col_value)
        kinds, count = len(self.instance.kinds), len(self._items)
        item_values = [0] * len(self.instance.sizes)
        for item, value in zip(self._items, values.tolist(), strict=False):
            item_values[item] = max(value, 0)
        used = np.flatnonzero(amounts[self._fixed :] > 1e-9)
        return Relaxed(
            item_values,
            [max(-value, 0) for value in values[count:].tolist()],
            amounts[:kinds].tolist(),
            [(*self.patterns[p], float(amounts[self._fixed + p])) for p in used],
            float(amounts[kinds : kinds + count].sum()),
        )
