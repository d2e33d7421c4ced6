"""All stock counts that may still belong to a cheaper plan, the cheapest first.

Every plan's counts satisfy every cover. Counts are listed kind by kind; a partial row is dropped as soon as some cover
shows that it cannot be completed below the price limit. The last kind takes what the covers ask for.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import prod
from typing import TYPE_CHECKING

from baybook.cutplan.bounds import Box, Cover, least_price

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from baybook.cutplan.instance import Instance

__all__ = ["CountTable"]

ROWS = 20_000
"""How many counts may be listed."""
BITS = 30
"""To how many bits covers are rounded where rows are not complete."""


class CountTable:
    """The counts of price below `horizon` that satisfy the covers; `complete` unless they are too many to list."""

    def __init__(self, instance: Instance, covers: Sequence[Cover], box: Box, below: int) -> None:
        import numpy as np

        self.instance = instance
        self.horizon = below
        self.complete = True
        self.prices = np.array([kind.price for kind in instance.kinds], dtype=np.int64)
        self.rows = np.zeros((0, len(self.prices)), dtype=np.int64)
        ranked = sorted(covers, key=lambda cover: -(least_price(cover, instance, box) or below))[:8]
        tight = _tighten(instance, ranked, box, below)
        if tight is None:
            return
        self.least, self.most = tight
        width = [most - least + 1 for least, most in zip(*tight, strict=True)]
        if prod(width) // max(width) > 100 * ROWS:
            self.complete = False
            return
        order = sorted(range(len(width)), key=lambda k: (k in instance.ample, width[k], k))
        ranked = sorted(covers, key=lambda cover: -(least_price(cover, instance, tight) or 0))
        self.last = order.pop()
        self.rows = self._expand(order, ranked[:8])
        if not self.complete:
            return
        for cover in covers:
            self.add(cover)

    def _expand(self, order: Sequence[int], covers: Sequence[Cover]) -> NDArray[np.int64]:
        """List the counts of all kinds but the last, which stays at its least."""
        import numpy as np

        rows = np.array([self.least], dtype=np.int64)
        for depth, kind in enumerate(order):
            span = np.arange(self.most[kind] - self.least[kind] + 1, dtype=np.int64)
            if len(span) * len(rows) > 5 * ROWS:
                self.complete = False
                return rows
            if len(span) > 1:
                rows = np.repeat(rows, len(span), axis=0)
                rows[:, kind] += np.tile(span, len(rows) // len(span))
                for cover in covers:
                    rows = rows[self._may_end_below(rows, cover, [*order[depth + 1 :], self.last])]
            if len(rows) > ROWS:
                self.complete = False
                return rows
        return rows

    def _may_end_below(self, rows: NDArray[np.int64], cover: Cover, rest: Sequence[int]) -> NDArray[np.bool_]:
        """Whether the rest, bought at the best price for worth, might satisfy the cover below the horizon.

        Need and worth are rounded to 30 bits, each to the side that keeps the cover true.
        """
        import numpy as np

        shift = max(cover.need.bit_length() - BITS, 0)
        need, worth = cover.need >> shift, [-(-w >> shift) for w in cover.worth]
        lack = np.maximum(need - rows @ np.array(worth, dtype=np.int64), 0)
        price = rows @ self.prices
        useful = [k for k in rest if worth[k]]
        if not useful:
            return (lack <= 0) & (price < self.horizon)
        rate = min([1 << 61, *((int(self.prices[k]) << BITS) // worth[k] for k in useful)])
        spare = max(rate.bit_length() + BITS - 62, 0)
        return price + ((lack * (rate >> spare)) >> (BITS - spare)) < self.horizon

    def add(self, cover: Cover) -> None:
        """Raise the last kind to what the cover asks for; drop what gets too dear and sort the rest by price."""
        import numpy as np

        worth = np.array(cover.worth, dtype=np.int64)
        rows, last = self.rows, self.last
        lack = cover.need - rows @ worth
        if worth[last]:
            rows[:, last] += np.maximum(-(-lack // worth[last]), 0)
            rows = rows[rows[:, last] <= self.most[last]]
        else:
            rows = rows[lack <= 0]
        self._keep(rows)

    def exclude(self, counts: Sequence[int]) -> None:
        """Take these counts out; those with one more of the last kind come in their place."""
        self.rows[(self.rows == counts).all(axis=1), self.last] += 1
        self._keep(self.rows[self.rows[:, self.last] <= self.most[self.last]])

    def _keep(self, rows: NDArray[np.int64]) -> None:
        price = rows @ self.prices
        below = price < self.horizon
        self.rows, self._price = rows[below], price[below]

    def price(self) -> int:
        """Return the price of the cheapest counts left, or the horizon."""
        return int(self._price.min()) if len(self.rows) else self.horizon

    def cheapest(self) -> tuple[int, ...] | None:
        """Return the cheapest counts left, of equal ones the first by their numbers."""
        if not len(self.rows):
            return None
        return min(tuple(row) for row in self.rows[self._price == self._price.min()].tolist())


def _tighten(instance: Instance, covers: Sequence[Cover], box: Box, below: int) -> Box | None:
    """Shrink the box to what the covers allow below this price, kind by kind; None if nothing is left."""

    def may_be(least: Sequence[int], most: Sequence[int]) -> bool:
        prices = (least_price(cover, instance, (tuple(least), tuple(most))) for cover in covers)
        return all(price is not None and price < below for price in prices)

    least, most = list(box[0]), list(box[1])
    if not may_be(least, most):
        return None
    for k in range(len(least)):
        low, high = least[k], most[k]
        while low < high:
            middle = (low + high) // 2
            if may_be(least, [*most[:k], middle, *most[k + 1 :]]):
                high = middle
            else:
                low = middle + 1
        least[k], high = low, most[k]
        while low < high:
            middle = (low + high + 1) // 2
            if may_be([*least[:k], middle, *least[k + 1 :]], most):
                low = middle
            else:
                high = middle - 1
        most[k] = high
    return tuple(least), tuple(most)
