"""Exhaustive search for a packing into given counts, for few pieces."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from baybook.cutplan.clock import Clock
from baybook.cutplan.instance import Cut, Instance

__all__ = ["Exhaust"]

FILLINGS = 300


class Exhaust:
    """Depth-first search: the longest piece left goes into each kind in turn, with each filling the waste allows.

    `complete` tells afterwards whether nothing was left untried, so that finding nothing is a proof.
    """

    def __init__(self, instance: Instance, clock: Clock, node_limit: int) -> None:
        self.complete = True
        self._sizes = instance.sizes
        self._kinds = instance.kinds
        self._clock = clock
        self._nodes = node_limit
        self._dead: set[tuple[tuple[int, ...], tuple[int, ...]]] = set()
        self._pieces: list[int] = []
        self._counts: list[int] = []

    def run(self, pieces: Sequence[int], counts: Sequence[int]) -> list[tuple[int, Cut]] | None:
        """Return the patterns of a packing of all pieces, or None."""
        self._pieces, self._counts = list(pieces), list(counts)
        total = sum(count * kind.size for count, kind in zip(counts, self._kinds, strict=True))
        spare = total - sum(count * size for count, size in zip(pieces, self._sizes, strict=True))
        return self._place(spare) if spare >= 0 else None

    def _place(self, spare: int) -> list[tuple[int, Cut]] | None:
        """Place the longest piece left and all others; `spare` is how much may still be wasted."""
        pieces, counts = self._pieces, self._counts
        first = next((item for item, count in enumerate(pieces) if count), None)
        if first is None:
            return []
        state = (tuple(pieces), tuple(counts))
        if state in self._dead:
            return None
        self._nodes -= 1
        if self._nodes < 0:
            self.complete = False
            return None
        self._clock.check()
        for waste, kind, cut in self._options(first, spare):
            self._change(kind, cut, -1)
            rest = self._place(spare - waste)
            self._change(kind, cut, 1)
            if rest is not None:
                return [(kind, cut), *rest]
            if self._nodes < 0:
                return None
        self._dead.add(state)
        return None

    def _change(self, kind: int, cut: Cut, sign: int) -> None:
        self._counts[kind] += sign
        for item, count in cut:
            self._pieces[item] += sign * count

    def _options(self, first: int, spare: int) -> list[tuple[int, int, Cut]]:
        """Return (waste, kind, pattern) for the piece, least waste first."""
        options = []
        for kind, count in enumerate(self._counts):
            if count and self._kinds[kind].size >= self._sizes[first]:
                fillings = self._fillings(first, self._kinds[kind].size, (), must=True)
                found = 0
                for waste, cut in fillings:
                    if waste <= spare:
                        options.append((waste, kind, cut))
                        found += 1
                        if found == FILLINGS:
                            self.complete = False
                            break
        return sorted(options)

    def _fillings(self, item: int, room: int, cut: Cut, *, must: bool = False) -> Iterator[tuple[int, Cut]]:
        """Yield (room left, pattern) for all ways to fill up with this and shorter pieces, many of the longer first."""
        while item < len(self._sizes) and (not self._pieces[item] or self._sizes[item] > room):
            item += 1
        if item == len(self._sizes):
            yield room, cut
            return
        most = min(self._pieces[item], room // self._sizes[item])
        for count in range(most, 0 if must else -1, -1):
            taken = (*cut, (item, count)) if count else cut
            yield from self._fillings(item + 1, room - count * self._sizes[item], taken)
