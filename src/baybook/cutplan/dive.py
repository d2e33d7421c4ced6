"""From a relaxed plan with whole counts to a plan: round, solve what is left, and look again."""

from __future__ import annotations

import random
from collections.abc import Sequence

from baybook.cutplan.clock import Clock
from baybook.cutplan.exact import Exhaust
from baybook.cutplan.instance import Cut, Cutting, Instance
from baybook.cutplan.knapsack import Knapsack
from baybook.cutplan.master import Relaxed
from baybook.cutplan.packing import Packing
from baybook.cutplan.relaxation import Relaxation

__all__ = ["Dive"]

CHOICES, MOST = 3, 0.6
"""So many patterns are tried one after the other; with the first go all others of which more than this part is used."""
DROPPED = 0.3
"""The part of the rounded patterns that a later attempt leaves out."""
SQUEEZE, EXHAUST, STATES = 80, 25, 1000
"""Up to so many pieces left they are squeezed in, or placed by an exhaustive search over so many states."""


class Dive:
    """Looks for a plan with given counts; each attempt after the first gives up some of what was rounded, by chance."""

    def __init__(
        self, instance: Instance, knapsack: Knapsack, clock: Clock, patterns: Sequence[tuple[int, Cut]]
    ) -> None:
        self._instance = instance
        self._knapsack = knapsack
        self._clock = clock
        self._patterns = list(patterns)
        self._left = 0
        self._chance: random.Random | None = None

    def run(self, counts: Sequence[int], relaxed: Relaxed, attempts: int, programs: int) -> Cutting | None:
        """Return a cutting with these counts, or None after so many attempts or linear programs."""
        self._left = programs
        for attempt in range(attempts):
            self._chance = random.Random(attempt) if attempt else None  # noqa: S311 - it chooses a plan
            found = self._descend(Packing(self._instance, counts), relaxed)
            if found is not None:
                return found
            if self._left <= 0:
                break
        return None

    def _descend(self, packing: Packing, relaxed: Relaxed) -> Cutting | None:
        """Open the whole part of the relaxed plan, try to finish, else open more patterns and solve the rest again."""
        parts, dropped = self._open_whole(packing, relaxed)
        if dropped:
            again = self._relax(packing)
            return None if again is None else self._descend(packing, again)
        found, final = self._finish(packing)
        if final:
            return found
        for choice in range(min(CHOICES, len(parts))):
            child = packing.copy()
            child.open(*parts[choice][1:])
            for amount, kind, cut in [] if choice else parts[1:]:
                if amount > MOST and child.holds(kind, cut):
                    child.open(kind, cut)
            again = self._relax(child)
            found = None if again is None else self._descend(child, again)
            if found is not None:
                return found
        return None

    def _open_whole(self, packing: Packing, relaxed: Relaxed) -> tuple[list[tuple[float, int, Cut]], bool]:
        """Open patterns as often as their amounts are whole; return the parts over, largest first.

        In a later attempt some are left out by chance; also return whether that was so.
        """
        chance, self._chance = self._chance, None
        parts = []
        dropped = False
        for kind, cut, amount in relaxed.patterns:
            whole = int(amount + 1e-6)
            if amount - whole > 1e-6:
                parts.append((amount - whole, kind, cut))
            for _ in range(whole):
                if chance and chance.random() < DROPPED:
                    dropped = True
                else:
                    packing.open(kind, cut)
        return sorted(parts, key=lambda part: -part[0]), dropped

    def _finish(self, packing: Packing) -> tuple[Cutting | None, bool]:
        """Try to place what is left by simple means; also return whether there is no more to try."""
        found = packing.fill()
        left = sum(packing.pieces)
        if found is not None or not left:
            return found, True
        if left <= SQUEEZE:
            found = packing.squeeze()
            if found is not None:
                return found, True
        if left <= EXHAUST:
            search = Exhaust(self._instance, self._clock, STATES)
            rest = search.run(packing.pieces, packing.counts)
            if rest is not None:
                for kind, cut in rest:
                    packing.open(kind, cut)
                return packing.fill(), True
            return None, search.complete
        return None, False

    def _relax(self, packing: Packing) -> Relaxed | None:
        """Return a relaxed plan for what is left, None if there is none or no time for it."""
        self._left -= 1
        if self._left < 0 or not any(packing.pieces):
            return None
        relaxation = Relaxation(self._instance, list(packing.pieces), self._knapsack, self._clock)
        relaxation.master.add(pattern for pattern in self._patterns if packing.holds(*pattern))
        relaxed, _ = relaxation.realise(packing.counts)
        self._patterns = list(dict.fromkeys([*self._patterns, *relaxation.master.patterns]))
        return relaxed
