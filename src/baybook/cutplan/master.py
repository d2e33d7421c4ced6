"""The restricted master problem: a linear program over the patterns known so far, kept warm in HiGHS.

Columns: the count of each kind (at its price), one substitute for each item, exchanges "a longer piece's place serves the
next shorter one" (which keep the item values in the order of the lengths), and the patterns. Rows: each item's demand,
and for each kind "patterns cut from it are no more than its count".
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from baybook.cutplan.instance import Cut, Instance

__all__ = ["Master", "Relaxed", "quiet_solver"]

SCALE = 1 << 40
"""Dual values are read off as whole multiples of 1/SCALE of the dearest kind's price."""


@dataclass(frozen=True, slots=True)
class Relaxed:
    """Values of items and kinds (whole, times SCALE), the patterns used and how much, and what is missing."""

    item_values: list[int]
    kind_values: list[int]
    patterns: list[tuple[int, Cut, float]]
    missing: float


def quiet_solver(**options: Any) -> Any:
    """Return a HiGHS solver that prints nothing: its Python wrapper would print a banner, so its base class is used."""
    import highspy

    solver: Any = highspy.Highs.__mro__[1]()
    for name, value in {"output_flag": False, "threads": 1, "random_seed": 0, **options}.items():
        solver.setOptionValue(name, value)
    return solver


class Master:
    """The linear program of one instance."""

    def __init__(self, instance: Instance) -> None:
        import numpy as np

        self.instance = instance
        self.columns: list[tuple[int, Cut]] = []
        self.known: set[tuple[int, Cut]] = set()
        self.items, self.kinds = len(instance.sizes), len(instance.kinds)
        self.fixed = self.kinds + self.items + self.items - 1
        top = max(kind.price for kind in instance.kinds) or 1
        self.prices = np.array([kind.price / top for kind in instance.kinds])
        self.solver = quiet_solver(presolve="off", solver="simplex", simplex_strategy=4)
        self._build()

    def _build(self) -> None:
        """Set up rows, counts, substitutes and exchanges."""
        import numpy as np

        solver, items, kinds = self.solver, self.items, self.kinds
        endless = np.inf
        demands = np.array(self.instance.demands, dtype=float)
        solver.addRows(
            items, demands, np.full(items, endless), 0, np.zeros(items, np.int32), np.zeros(0, np.int32), np.zeros(0)
        )
        solver.addRows(
            kinds,
            np.full(kinds, -endless),
            np.zeros(kinds),
            0,
            np.zeros(kinds, np.int32),
            np.zeros(0, np.int32),
            np.zeros(0),
        )
        supply = [float(kind.supply) for kind in self.instance.kinds]
        self._add(self.prices, [[(items + k, -1.0)] for k in range(kinds)], supply)
        sizes = self.instance.sizes
        dearest = [
            max(p for p, kind in zip(self.prices, self.instance.kinds, strict=True) if kind.size >= s) for s in sizes
        ]
        self._add(2.0 * np.array(dearest), [[(i, 1.0)] for i in range(items)])
        self._add(np.zeros(items - 1), [[(i, -1.0), (i + 1, 1.0)] for i in range(items - 1)])

    def _add(
        self, costs: Any, entries: Sequence[Sequence[tuple[int, float]]], upper: Sequence[float] | None = None
    ) -> None:
        import numpy as np

        count = len(entries)
        starts = np.cumsum([0, *(len(column) for column in entries)], dtype=np.int32)
        rows = np.array([row for column in entries for row, _ in column], dtype=np.int32)
        values = np.array([value for column in entries for _, value in column], dtype=float)
        bound = np.full(count, np.inf) if upper is None else np.array(upper)
        self.solver.addCols(count, np.asarray(costs), np.zeros(count), bound, len(rows), starts[:-1], rows, values)

    def add(self, patterns: Iterable[tuple[int, Cut]]) -> int:
        """Add the patterns not yet known; return how many those were."""
        import numpy as np

        new = [pattern for pattern in dict.fromkeys(patterns) if pattern not in self.known]
        self.known.update(new)
        self.columns.extend(new)
        self._add(np.zeros(len(new)), [[*((i, float(n)) for i, n in cut), (self.items + k, 1.0)] for k, cut in new])
        return len(new)

    def limit_counts(self, least: Sequence[int], most: Sequence[int]) -> None:
        """Keep the count of each kind within bounds."""
        import numpy as np

        index = np.arange(self.kinds, dtype=np.int32)
        self.solver.changeColsBounds(self.kinds, index, np.array(least, dtype=float), np.array(most, dtype=float))

    def solve(self) -> Relaxed:
        """Solve the linear program over the patterns known so far."""
        import numpy as np

        self.solver.run()
        solution = self.solver.getSolution()
        duals = np.array(solution.row_dual)
        values = np.maximum(np.rint(duals * SCALE), -(2.0**60)).astype(np.int64)
        amounts = np.array(solution.col_value)
        used = np.flatnonzero(amounts[self.fixed :] > 1e-9)
        return Relaxed(
            [max(int(v), 0) for v in values[: self.items]],
            [max(-int(v), 0) for v in values[self.items :]],
            [(*self.columns[p], float(amounts[self.fixed + p])) for p in used],
            float(amounts[self.kinds : self.kinds + self.items].sum()),
        )
