"""Column generation: the linear program over all patterns, and the covers that bound it in whole numbers."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import ceil, inf

from baybook.cutplan.bounds import Box, Cover, least_price, make_cover
from baybook.cutplan.clock import Clock
from baybook.cutplan.instance import Cut, Instance
from baybook.cutplan.knapsack import Knapsack
from baybook.cutplan.master import Master, Relaxed

__all__ = ["Relaxation"]

PATTERNS = 20
"""How many patterns of each kind are added at most in one round."""


class Relaxation:
    """The linear program for some demands, solved over all patterns by adding those that improve it."""

    def __init__(self, instance: Instance, demands: Sequence[int], knapsack: Knapsack, clock: Clock) -> None:
        self.instance = instance
        self.demands = demands
        self.master = Master(instance, demands, clock)
        self._knapsack = knapsack
        self._clock = clock
        self._tolerance = max(instance.scale >> 30, 1)

    def bound(self, box: Box, below: int) -> tuple[Relaxed, Cover]:
        """Return the cheapest relaxed plan with counts in the box, and the cover that bounds it best.

        Ends early when a cover shows that no plan in the box costs less than `below`, or that no cover can show more in
        whole prices. The values to price with are half those of the linear program, half the best found so far: that
        takes fewer rounds [1]_.

        References
        ----------
        .. [1] P. Wentges, "Weighted Dantzig-Wolfe decomposition for linear mixed-integer programming", International
           Transactions in Operational Research 4 (1997) 151-162. From memory.
        """
        self.master.limit_counts(box)
        best: tuple[int, Cover, list[int]] | None = None
        while True:
            relaxed = self.master.solve()
            to_price = [relaxed.item_values]
            if best is not None:
                if self._price(relaxed) <= best[0]:
                    return relaxed, best[1]
                to_price.insert(0, [(a + b) // 2 for a, b in zip(relaxed.item_values, best[2], strict=True)])
            for values in to_price:
                cover = self._cover(values)
                price = least_price(cover, self.instance, box)
                if price is None or price >= below:
                    return relaxed, cover
                if best is None or price > best[0]:
                    best = price, cover, values
                if self.master.add(self._improving(relaxed)):
                    break
            else:
                return relaxed, best[1] if best else cover

    def _price(self, relaxed: Relaxed) -> float:
        """Return the price of a relaxed plan, rounded up to a whole price; endless if it lacks something."""
        prices = (kind.price * count for kind, count in zip(self.instance.kinds, relaxed.counts, strict=True))
        return ceil(sum(prices) - 1e-5) if relaxed.lacking < 1e-7 else inf

    def realise(self, counts: Sequence[int]) -> tuple[Relaxed | None, Cover | None]:
        """Return a relaxed plan with these counts, or else a cover that forbids them; hardly ever neither."""
        self.master.limit_counts((tuple(counts), tuple(counts)))
        while True:
            relaxed = self.master.solve()
            if relaxed.lacking < 1e-7:
                return relaxed, None
            cover = self._cover(relaxed.item_values)
            if not cover.holds(counts):
                return None, cover
            if not self.master.add(self._improving(relaxed)):
                return None, None

    def _cover(self, values: Sequence[int]) -> Cover:
        """Return the cover that these values of the items give."""
        self._clock.check()
        worth = self._knapsack.solve(values, self.demands)
        return make_cover(self.instance, worth, sum(v * d for v, d in zip(values, self.demands, strict=True)))

    def _improving(self, relaxed: Relaxed) -> Iterator[tuple[int, Cut]]:
        """Yield the patterns of the last cover that the linear program wants."""
        values = relaxed.item_values
        for kind, value in enumerate(relaxed.kind_values):
            for cut in self._knapsack.patterns(kind, PATTERNS):
                if sum(values[item] * count for item, count in cut) > value + self._tolerance:
                    yield kind, cut
