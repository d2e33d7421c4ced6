"""Putting pieces into stock pieces: exactly as many of each kind as given, or with new ones opened as needed."""

from __future__ import annotations

from bisect import bisect_left, insort
from collections import Counter
from collections.abc import Mapping, Sequence

from baybook.cutplan.instance import Cut, Cutting, Instance

__all__ = ["Packing"]


class Packing:
    """A cutting that is being built: pieces to place, stock pieces still closed, and opened ones with their room."""

    def __init__(self, instance: Instance, counts: Sequence[int]) -> None:
        self.instance = instance
        self.pieces = list(instance.demands)
        self.counts = list(counts)
        self.opened: list[tuple[int, int, dict[int, int]]] = []

    def copy(self) -> Packing:
        """Return a packing that can go its own way."""
        twin = Packing(self.instance, self.counts)
        twin.pieces = list(self.pieces)
        twin.opened = list(self.opened)
        return twin

    def holds(self, kind: int, cut: Cut) -> bool:
        """Whether a stock piece of this kind and all pieces of the pattern are still there."""
        return self.counts[kind] > 0 and all(self.pieces[item] >= count for item, count in cut)

    def open(self, kind: int, cut: Cut) -> None:
        """Fill a stock piece as the pattern says; a place whose piece is used up takes the next shorter one."""
        sizes, pieces = self.instance.sizes, self.pieces
        room = self.instance.kinds[kind].size
        held: dict[int, int] = {}
        for place, number in cut:
            item = place
            for _ in range(number):
                while item < len(pieces) and not pieces[item]:
                    item += 1
                if item == len(pieces):
                    break
                pieces[item] -= 1
                held[item] = held.get(item, 0) + 1
                room -= sizes[item]
        self.counts[kind] -= 1
        self.opened.append((kind, room, held))

    def fill(self) -> Cutting | None:
        """Place what is left, longest first, each in the smallest room that holds it; None if a piece finds no room.

        The packing itself stays as it is, here and below.
        """
        rooms = self._rooms()
        for item, number in enumerate(self.pieces):
            for _ in range(number):
                if not rooms.put(item):
                    return None
        return rooms.cutting()

    def fill_up(self, favoured: int) -> Cutting:
        """Place what is left in the same way; a piece without room opens the favoured kind, or the cheapest it fits."""
        rooms = self._rooms()
        kinds, sizes = self.instance.kinds, self.instance.sizes
        for item, number in enumerate(self.pieces):
            kind = favoured if kinds[favoured].size >= sizes[item] else self.instance.cheapest(sizes[item])
            for _ in range(number):
                if not rooms.put(item):
                    rooms.open(kind)
                    rooms.put(item)
        return rooms.cutting()

    def _rooms(self) -> _Rooms:
        """Return the rooms there are."""
        rooms = _Rooms(self.instance)
        for kind, room, held in self.opened:
            rooms.open(kind, room, held)
        for kind, count in enumerate(self.counts):
            for _ in range(count):
                rooms.open(kind)
        return rooms

    def squeeze(self) -> Cutting | None:
        """Fill the closed stock pieces one by one, smallest first, each as full as it gets around its longest piece.

        What is left then goes into the rooms as `fill` does it.
        """
        kinds = self.instance.kinds
        twin = self.copy()
        for kind in sorted(range(len(kinds)), key=lambda k: kinds[k].size):
            for _ in range(self.counts[kind]):
                cut = twin.fullest(kind)
                if cut:
                    twin.open(kind, cut)
        return twin.fill()

    def longest(self, kind: int) -> Cut:
        """Return the pieces left that fit a stock piece of this kind, longest first."""
        room = self.instance.kinds[kind].size
        cut = []
        for item, count in enumerate(self.pieces):
            taken = min(count, room // self.instance.sizes[item])
            if taken:
                cut.append((item, taken))
                room -= taken * self.instance.sizes[item]
        return tuple(cut)

    def fullest(self, kind: int) -> Cut:
        """Return the longest piece left that fits a stock piece of this kind and those beside it that fill it best."""
        sizes, room = self.instance.sizes, self.instance.kinds[kind].size
        first = next((item for item, count in enumerate(self.pieces) if count and sizes[item] <= room), None)
        if first is None:
            return ()
        room -= sizes[first]
        held = Counter([first])
        mask = (1 << (room + 1)) - 1
        sums, picks = [1], []
        for item, count in enumerate(self.pieces):
            for _ in range(min(count - held[item], room // sizes[item])):
                sums.append((sums[-1] | sums[-1] << sizes[item]) & mask)
                picks.append(item)
        at = sums[-1].bit_length() - 1
        for before, item in zip(sums[-2::-1], reversed(picks), strict=True):
            if not before >> at & 1:
                held[item] += 1
                at -= sizes[item]
        return tuple(sorted(held.items()))


class _Rooms:
    """Stock pieces in the order of their room."""

    def __init__(self, instance: Instance) -> None:
        self._instance = instance
        self._kinds: list[int] = []
        self._held: list[dict[int, int]] = []
        self._rooms: list[tuple[int, int]] = []  # (room, number), smallest room first

    def open(self, kind: int, room: int | None = None, held: Mapping[int, int] | None = None) -> None:
        """Add a stock piece, whole or with what it holds."""
        insort(self._rooms, (self._instance.kinds[kind].size if room is None else room, len(self._kinds)))
        self._kinds.append(kind)
        self._held.append(dict(held or {}))

    def put(self, item: int) -> bool:
        """Put a piece into the smallest room that holds it; return whether there is one."""
        size = self._instance.sizes[item]
        at = bisect_left(self._rooms, (size, -1))
        if at == len(self._rooms):
            return False
        room, number = self._rooms.pop(at)
        self._held[number][item] = self._held[number].get(item, 0) + 1
        insort(self._rooms, (room - size, number))
        return True

    def cutting(self) -> Cutting:
        """Count equal patterns; ample stock is first exchanged for the cheapest that holds what it carries."""
        instance = self._instance
        ample = set(instance.ample)
        cutting: Counter[tuple[int, Cut]] = Counter()
        for room, number in self._rooms:
            kind, held = self._kinds[number], self._held[number]
            if held:
                if kind in ample:
                    kind = instance.cheapest(instance.kinds[kind].size - room)
                cutting[kind, tuple(sorted(held.items()))] += 1
        return cutting
