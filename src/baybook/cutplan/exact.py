"""Exhaustive search for a packing into given counts, for few pieces."""

from __future__ import annotations

from collections.abc import Sequence

from baybook.cutplan.clock import Clock
from baybook.cutplan.instance import Cut, Instance

__all__ = ["Exhaust"]

DEEPEST = 200
"""With more stock pieces than this nothing is tried: the search calls itself once for each."""
FILLINGS = 300
"""How many ways to fill up a stock piece around some of its longest are tried at most."""


class Exhaust:
    """Depth-first search: the longest piece left goes into each kind in turn, with each filling the waste allows.

    `states` limits the steps taken. `complete` tells afterwards whether nothing was
    left untried, so that finding nothing is a proof.
    """

    def __init__(self, instance: Instance, clock: Clock, states: int) -> None:
        self.complete = True
        self._all_sizes = instance.sizes
        self._kinds = instance.kinds
        self._clock = clock
        self._states = states
        self._dead: set[tuple[tuple[int, ...], tuple[int, ...]]] = set()
        self._sizes: list[int] = []
        self._pieces: list[int] = []
        self._counts: list[int] = []

    def run(self, pieces: Sequence[int], counts: Sequence[int]) -> list[tuple[int, Cut]] | None:
        """Return the patterns of a packing of all pieces, or None."""
        items = [item for item, count in enumerate(pieces) if count]
        self._sizes = [self._all_sizes[item] for item in items]
        self._pieces, self._counts = [pieces[item] for item in items], list(counts)
        total = sum(count * kind.size for count, kind in zip(counts, self._kinds, strict=True))
        spare = total - sum(count * size for count, size in zip(self._pieces, self._sizes, strict=True))
        if sum(counts) > DEEPEST:
            self.complete = False
            return None
        found = self._place(spare) if spare >= 0 else None
        return found and [(kind, tuple((items[item], count) for item, count in cut)) for kind, cut in found]

    def _place(self, spare: int) -> list[tuple[int, Cut]] | None:
        """Place the longest piece left and all others; `spare` is how much may still be wasted."""
        pieces, counts = self._pieces, self._counts
        first = next((item for item, count in enumerate(pieces) if count), None)
        if first is None:
            return []
        state = (tuple(pieces), tuple(counts))
        if state in self._dead:
            return None
        if self._states <= 0:
            self.complete = False
            return None
        self._clock.check()
        for waste, kind, cut in self._options(first, spare):
            self._change(kind, cut, -1)
            rest = self._place(spare - waste)
            self._change(kind, cut, 1)
            if rest is not None:
                return [(kind, cut), *rest]
            if self._states <= 0:
                return None
        self._dead.add(state)
        return None

    def _change(self, kind: int, cut: Cut, sign: int) -> None:
        self._counts[kind] += sign
        for item, count in cut:
            self._pieces[item] += sign * count

    def _options(self, first: int, spare: int) -> list[tuple[int, int, Cut]]:
        """Return (waste, kind, pattern) for the longest piece left, least waste first."""
        options: list[tuple[int, int, Cut]] = []
        sizes = self._sizes
        kinds = [k for k, count in enumerate(self._counts) if count and self._kinds[k].size >= sizes[first]]
        sums = self._sums(first, max((self._kinds[k].size for k in kinds), default=0))
        for kind in kinds:
            for count in range(min(self._pieces[first], self._kinds[kind].size // sizes[first]), 0, -1):
                found: list[tuple[int, Cut]] = []
                room = self._kinds[kind].size - count * sizes[first]
                self._fill(first + 1, room, spare, ((first, count),), sums, found)
                options += [(waste, kind, cut) for waste, cut in found]
        return sorted(options)

    def _sums(self, first: int, limit: int) -> list[int]:
        """Return for each item after the first the sums, as bits, that it and shorter ones can make."""
        mask = (1 << (limit + 1)) - 1
        sums = [1] * (len(self._sizes) + 1)
        for item in range(len(self._sizes) - 1, first, -1):
            sums[item] = sums[item + 1]
            for _ in range(min(self._pieces[item], limit // self._sizes[item])):
                sums[item] = (sums[item] | sums[item] << self._sizes[item]) & mask
        return sums

    def _fill(
        self, item: int, room: int, spare: int, cut: Cut, sums: Sequence[int], found: list[tuple[int, Cut]]
    ) -> None:
        """Append (waste, pattern) for the ways to fill the room but for what is to spare, more of the longer first."""
        self._states -= 1
        while (sums[item] & ((2 << room) - 1)) >> max(room - spare, 0):
            if len(found) == FILLINGS:
                self.complete = False
                return
            if item == len(self._sizes):
                found.append((room, cut))
                return
            size = self._sizes[item]
            for count in range(min(self._pieces[item], room // size), 0, -1):
                self._fill(item + 1, room - count * size, spare, (*cut, (item, count)), sums, found)
            item += 1
