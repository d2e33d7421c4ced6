"""The search: boxes of stock counts, cheapest first.

A box is listed count by count where that is a short list, else bounded by a linear program and split in two where a
count is not whole. Counts that no cover forbids are put to the test: the linear program with exactly these counts gives
a cover that forbids them or a relaxed plan, which the dive turns into a plan. The first plan found so is the cheapest.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from heapq import heappop, heappush
from math import prod

from baybook.cutplan.bounds import Box, least_price, simple_covers
from baybook.cutplan.clock import Clock, Stopped
from baybook.cutplan.dive import Dive
from baybook.cutplan.exact import Exhaust
from baybook.cutplan.instance import Cutting, Instance
from baybook.cutplan.knapsack import Knapsack
from baybook.cutplan.master import Relaxed
from baybook.cutplan.packing import Packing
from baybook.cutplan.relaxation import Relaxation
from baybook.cutplan.table import ROWS, CountTable

__all__ = ["Search"]

NEAR, TRIES = 4, 12
"""After so many splits, and each time they have doubled, so many counts near the relaxed plan are tried."""


@dataclass(frozen=True, slots=True)
class _Effort:
    """How hard to look for a plan of given counts: attempts, linear programs, and states of the exhaustive search."""

    attempts: int
    programs: int
    states: int


FEW = 40
"""Up to so many pieces, or a third of that in lengths, exhaustive search comes before other counts are looked at."""
FIRST, LAST = _Effort(3, 60, 1000), _Effort(30, 400, 30_000)


@dataclass(order=True, slots=True)
class _Node:
    price: int
    ticket: int
    box: Box
    table: CountTable | None = None
    seen: int = 0


class Search:
    """Finds the cheapest plan of an instance; `best`, `cost` and `bound` hold what is known at any time."""

    def __init__(self, instance: Instance, clock: Clock) -> None:
        self.instance = instance
        self.reason = ""
        self.bound = 0
        self._clock = clock
        self._limited = [0 if k in instance.ample else kind.supply for k, kind in enumerate(instance.kinds)]
        self._whole: Box = (tuple(0 for _ in instance.kinds), tuple(kind.supply for kind in instance.kinds))
        self.starts = [Packing(instance, self._limited).fill_up(kind) for kind in instance.ample]
        self.best = min(self.starts, key=instance.cost)
        self.cost = instance.cost(self.best)
        self.covers = list(simple_covers(instance))
        self._open: list[tuple[int, tuple[int, ...]]] = []
        self._closed: list[tuple[int, ...]] = []
        self._heap: list[_Node] = []
        self._tickets = 0
        self._splits = 0

    def run(self) -> None:
        """Search until the plan is proven or a limit is reached."""
        self.bound = self._price(self._whole)
        if self.bound >= self.cost:
            return
        try:
            self._solve()
        except Stopped as stop:
            self.reason = f"Not proven: {stop}."
        self.bound = min(self.bound, self.cost)

    def _solve(self) -> None:
        instance = self.instance
        self._knapsack = Knapsack(instance)
        self._relaxation = Relaxation(instance, instance.demands, self._knapsack, self._clock)
        self._relaxation.master.add(pattern for cutting in self.starts for pattern in cutting)
        relaxed = self._bound_box(self._whole)
        self._round(relaxed)
        self._push(_Node(self._price(self._whole), 0, self._whole))
        while self._heap and self._heap[0].price < self.cost:
            self._set_bound(self._heap[0].price)
            node = heappop(self._heap)
            if node.table is None:
                self._look_into(node)
            else:
                self._try_counts(node, node.table)
        self._set_bound(self.cost)
        self._insist()

    def _set_bound(self, price: int) -> None:
        self.bound = max(self.bound, min([price, *(price for price, _ in self._open)]))

    def _push(self, node: _Node) -> None:
        if node.price < self.cost:
            self._tickets += 1
            node.ticket = self._tickets
            heappush(self._heap, node)

    def _price(self, box: Box) -> int:
        """Return a bound on the price of plans with counts in the box, at most the price of the best plan."""
        bound = 0
        for cover in self.covers:
            price = least_price(cover, self.instance, box)
            if price is None or price >= self.cost:
                return self.cost
            bound = max(bound, price)
        return bound

    def _bound_box(self, box: Box) -> Relaxed:
        relaxed, cover = self._relaxation.bound(box, self.cost)
        self.covers.append(cover)
        return relaxed

    def _look_into(self, node: _Node) -> None:
        """List the counts of a box, or split it."""
        price = max(node.price, self._price(node.box))
        if price > node.price:
            self._push(_Node(price, 0, node.box))
            return
        table = CountTable(self.instance, self.covers, node.box, self.cost)
        if table.complete:
            for counts in self._closed:
                table.exclude(counts)
            self._push(_Node(max(price, table.price()), 0, node.box, table, len(self.covers)))
            return
        relaxed = self._bound_box(node.box)
        self._splits += 1
        if self._splits >= NEAR and self._splits.bit_count() == 1:
            self._try_near(relaxed.counts)
        for part in _split(node.box, relaxed.counts):
            self._push(_Node(max(price, self._price(part)), 0, part))

    def _try_near(self, counts: Sequence[float]) -> None:
        """Look for a plan with counts near those of a relaxed plan, to have a good one where boxes stay large."""
        table = CountTable(self.instance, self.covers, _around(counts, self._whole), self.cost)
        if not table.complete:
            return
        for _ in range(TRIES):
            near = table.cheapest()
            if near is None or self._test(near, table):
                return

    def _try_counts(self, node: _Node, table: CountTable) -> None:
        """Put the cheapest counts of a list to the test."""
        for cover in self.covers[node.seen :]:
            table.add(cover)
        counts = table.cheapest()
        if counts is None:
            return
        if table.price() <= node.price:
            self._test(counts, table)
        self._push(_Node(max(node.price, table.price()), 0, node.box, table, len(self.covers)))

    def _test(self, counts: tuple[int, ...], table: CountTable) -> bool:
        """Find a plan with these counts, or take them out of the table."""
        if counts not in self._closed:
            relaxed, cover = self._relaxation.realise(counts)
            if cover is not None:
                self.covers.append(cover)
                table.add(cover)
                return False
            if relaxed is not None and self._realise(counts, relaxed, FIRST):
                return True
            few = min(sum(self.instance.demands), 3 * len(self.instance.sizes)) <= FEW
            if not few or not self._disproved(counts, FIRST):
                self._open.append((table.price(), counts))
            self._closed.append(counts)
        table.exclude(counts)
        return False

    def _realise(self, counts: Sequence[int], relaxed: Relaxed, effort: _Effort) -> bool:
        """Try to turn a relaxed plan into a plan of the same counts."""
        dive = Dive(self.instance, self._knapsack, self._clock, self._relaxation.master.patterns)
        found = dive.run(counts, relaxed, effort.attempts, effort.programs)
        if found is not None:
            self._accept(found)
        return found is not None

    def _disproved(self, counts: Sequence[int], effort: _Effort) -> bool:
        """Whether trying all ways shows that there is no plan with these counts."""
        search = Exhaust(self.instance, self._clock, effort.states)
        found = search.run(self.instance.demands, counts)
        if found is not None:
            self._accept(Counter(found))
        return search.complete

    def _insist(self) -> None:
        """Try harder on the counts that were neither forbidden nor realised."""
        for price, counts in sorted(self._open):
            if price < self.cost:
                relaxed, _ = self._relaxation.realise(counts)
                if relaxed is not None and self._realise(counts, relaxed, LAST):
                    break
                if self._disproved(counts, LAST):
                    self._open.remove((price, counts))
                    self._set_bound(self.cost)
        if self.bound < self.cost:
            self.reason = "Not proven: for some cheaper stock neither a plan nor a proof against one was found."

    def _round(self, relaxed: Relaxed) -> None:
        """Round a relaxed plan to a plan by filling up."""
        packing = Packing(self.instance, self._limited)
        for kind, cut, amount in relaxed.patterns:
            for _ in range(int(amount + 1e-6)):
                packing.open(kind, cut)
        packing.counts = [max(count, 0) for count in packing.counts]
        for kind in self.instance.ample:
            self._accept(packing.fill_up(kind))

    def _accept(self, cutting: Cutting) -> None:
        cost = self.instance.cost(cutting)
        if cost < self.cost:
            self.best, self.cost = cutting, cost


def _split(box: Box, counts: Sequence[float]) -> list[Box]:
    """Split a box at the count that is furthest from whole."""
    least, most = box
    wide = [k for k in range(len(counts)) if least[k] < most[k]]
    kind = min(wide, key=lambda k: (abs(counts[k] % 1 - 0.5), k))
    at = min(max(int(counts[kind] + 1e-6), least[kind]), most[kind] - 1)
    return [
        (least, (*most[:kind], at, *most[kind + 1 :])),
        ((*least[:kind], at + 1, *least[kind + 1 :]), most),
    ]


def _around(counts: Sequence[float], whole: Box) -> Box:
    """Return a box of moderate size around these counts."""
    least = [int(count + 1e-6) for count in counts]
    most = [low + (count - low > 1e-6) for low, count in zip(least, counts, strict=True)]
    size = prod(high - low + 1 for low, high in zip(least, most, strict=True))
    for kind in sorted(range(len(counts)), key=lambda k: (abs(counts[k] % 1 - 0.5), k)) * 4:
        width = most[kind] - least[kind] + 1
        if size // width * (width + 2) > ROWS:
            break
        size = size // width * (width + 2)
        least[kind] -= 1
        most[kind] += 1
    return tuple(max(low, 0) for low in least), tuple(min(high, top) for high, top in zip(most, whole[1], strict=True))
