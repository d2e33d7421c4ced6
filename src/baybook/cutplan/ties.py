"""Which of the cheapest plans: few distinct patterns, then one large remainder, then a fixed order.

What is guaranteed: the same input gives the same plan, and the plan chosen is the best, in this order, of those that
were looked at. Looked at are the plan found, those that a few rules of repeated cutting give for the same stock, and
those that moving or exchanging single pieces makes of the best of them. That none has fewer patterns is not guaranteed.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from baybook.cutplan.instance import Cut, Cutting, Instance
from baybook.cutplan.packing import Packing

__all__ = ["nicest"]

ITEMS = 40
"""With more different lengths than this, or fewer than two pieces of each on average, patterns are not repeated."""
COLLECTORS = 3
"""How many stock pieces are tried as the one that collects the remainder."""


def nicest(instance: Instance, cuttings: Sequence[Cutting], min_remainder: int) -> Cutting:
    """Return the nicest cutting that costs what the first one does."""

    def rank(cutting: Cutting) -> tuple[int, int, list[tuple[tuple[int, Cut], int]]]:
        largest = max(_remainder(instance, kind, cut) for kind, cut in cutting)
        return len(cutting), -largest if largest >= min_remainder else 0, sorted(cutting.items())

    first = cuttings[0]
    equal = [cutting for cutting in cuttings if instance.cost(cutting) == instance.cost(first)]
    if len(instance.sizes) <= min(ITEMS, sum(instance.demands) // 2):
        equal += [other for other in _repeated(instance, first) if instance.cost(other) == instance.cost(first)]
    best = min(equal, key=rank)
    return min([best, *_gathered(instance, best)], key=rank)


def _remainder(instance: Instance, kind: int, cut: Cut) -> int:
    """Return what a pattern leaves of the longest stock of its kind."""
    return max(0, instance.kinds[kind].length - instance.unit * instance.load(cut))


def _repeated(instance: Instance, cutting: Cutting) -> Iterator[Cutting]:
    """Yield cuttings of the same stock in which every pattern is cut as often as it can be."""
    counts: Counter[int] = Counter()
    for (kind, _), times in cutting.items():
        counts[kind] += times
    starts = [None, *sorted(cutting, key=lambda pattern: (-cutting[pattern], pattern))[:4]]
    for start in starts:
        for fill in (Packing.longest, Packing.fullest):
            for order in (sorted(counts), sorted(counts, reverse=True)):
                other = _repeat(instance, counts, start, fill, order)
                if other is not None:
                    yield other


def _repeat(
    instance: Instance,
    counts: Counter[int],
    start: tuple[int, Cut] | None,
    fill: Callable[[Packing, int], Cut],
    order: Sequence[int],
) -> Cutting | None:
    """Cut the start pattern as often as it can be, then go on kind by kind; None if pieces are left over."""
    packing = Packing(instance, [counts[kind] for kind in range(len(instance.kinds))])
    result: Counter[tuple[int, Cut]] = Counter()

    def take(kind: int, cut: Cut) -> None:
        times = min([packing.counts[kind], *(packing.pieces[item] // count for item, count in cut)])
        packing.counts[kind] -= times
        for item, count in cut:
            packing.pieces[item] -= count * times
        result[kind, cut] += times

    if start is not None:
        take(*start)
    for kind in order:
        while packing.counts[kind]:
            cut = fill(packing, kind)
            if not cut:
                break
            take(kind, cut)
    return None if any(packing.pieces) else +result


def _gathered(instance: Instance, cutting: Cutting) -> Iterator[Cutting]:
    """Yield cuttings in which pieces have moved away from one stock piece, so that its remainder grows.

    Only stock pieces whose pattern is cut once take part: the number of distinct patterns cannot grow.
    """
    singles = [pattern for pattern in sorted(cutting) if cutting[pattern] == 1]
    singles.sort(key=lambda pattern: -_remainder(instance, *pattern))
    for home in range(min(COLLECTORS, len(singles))):
        bins = [_Bin(kind, instance.kinds[kind].size - instance.load(cut), Counter(dict(cut))) for kind, cut in singles]
        here = bins.pop(home)
        while _improve(instance.sizes, here, bins):
            pass
        result = Counter({pattern: times for pattern, times in cutting.items() if times > 1})
        result.update((bin_.kind, tuple(sorted(bin_.held.items()))) for bin_ in [here, *bins])
        yield result


@dataclass(slots=True)
class _Bin:
    kind: int
    room: int
    held: Counter[int]


def _improve(sizes: Sequence[int], here: _Bin, others: Sequence[_Bin]) -> bool:
    """Make the one move or exchange that takes most out of this stock piece; return whether there was one."""
    best = (0, 0, 0, 0)
    for at, other in enumerate(others):
        if not other.room:
            continue
        for mine in here.held:
            if sizes[mine] <= other.room and here.held.total() > 1:
                best = max(best, (sizes[mine], -mine, -at, 1))
            for theirs in other.held:
                gain = sizes[mine] - sizes[theirs]
                if 0 < gain <= other.room:
                    best = max(best, (gain, -mine, -at, -theirs))
    gain, mine, at, theirs = best[0], -best[1], -best[2], -best[3]
    if not gain:
        return False
    other = others[at]
    moves = [(here, other, mine)] if theirs < 0 else [(here, other, mine), (other, here, theirs)]
    for source, target, item in moves:
        source.held -= Counter([item])
        target.held[item] += 1
    here.room += gain
    other.room -= gain
    return True
