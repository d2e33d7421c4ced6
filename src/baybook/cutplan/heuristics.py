"""Plans by simple rules: the first answer, the starting columns, and the count to fall back on."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence

from baybook.cutplan.instance import Cut, Cutting, Instance, check_input
from baybook.cutplan.model import Piece, Stock, Unplannable

__all__ = ["fit_decreasing", "pack", "safe_count", "simple_cuttings"]


def safe_count(pieces: Sequence[Piece], stock: Sequence[Stock], *, kerf: int = 0, end_trim: int = 0) -> tuple[int, ...]:
    """Return the stock to buy when no plan is at hand: a stock piece for each piece.

    Each piece takes the cheapest stock of unlimited supply that is long enough; ties go to the shortest, then to
    the first.

    Parameters
    ----------
    pieces, stock : sequence of Piece, Stock
        As for `plan_cuts`. [1/16 in], [cent]
    kerf : int
        Has no effect with one piece from each stock piece; taken so that the call reads like `plan_cuts`. [1/16 in]
    end_trim : int
        Lost once from each stock piece. [1/16 in], >= 0

    Returns
    -------
    tuple of int
        How many of each stock, in the order given. [1]

    Raises
    ------
    Unplannable
        If a piece is longer than every stock of unlimited supply.

    Examples
    --------
    >>> from baybook.cutplan import Piece, Stock, safe_count
    >>> safe_count([Piece(1600, 3), Piece(2400, 1)], [Stock(1920, 4999), Stock(3840, 8249)])
    (3, 1)
    """
    check_input(pieces, stock, kerf=kerf, end_trim=end_trim)
    unlimited = sorted((item.price, item.length, index) for index, item in enumerate(stock) if item.supply is None)
    counts = [0] * len(stock)
    for piece in pieces:
        if not piece.count:
            continue
        index = next((i for _, length, i in unlimited if length - end_trim >= piece.length), None)
        if index is None:
            raise Unplannable(
                f"Piece {piece.label or piece.length} is {piece.length} long; "
                "no stock that can be bought is long enough."
            )
        counts[index] += piece.count
    return tuple(counts)


def pack(cuts: Iterable[tuple[int, Cut]]) -> Cutting:
    """Count equal patterns."""
    return Counter(cuts)


def simple_cuttings(instance: Instance) -> list[Cutting]:
    """Return one best-fit-decreasing cutting for each kind that could serve all pieces alone or with longer kinds."""
    total = sum(instance.demands)
    return [fit_decreasing(instance, kind) for kind, stock in enumerate(instance.kinds) if stock.supply >= total]


def fit_decreasing(instance: Instance, favoured: int) -> Cutting:
    """Put the longest piece first into the smallest room; new room is limited stock, then the favoured kind.

    At the end every piece of unlimited stock is exchanged for the cheapest that holds what it carries.
    """
    kinds, sizes = instance.kinds, instance.sizes
    total = sum(instance.demands)
    unlimited = [k for k, kind in enumerate(kinds) if kind.supply >= total]
    opened = [k for k, kind in enumerate(kinds) if k not in unlimited for _ in range(kind.supply)]
    room = [kinds[k].size for k in opened]
    held: list[Counter[int]] = [Counter() for _ in opened]
    for item, demand in enumerate(instance.demands):
        size = sizes[item]
        for _ in range(demand):
            best = min((r, b) for b, r in enumerate([*room, kinds[0].size + size]) if r >= size)[1]
            if best == len(room):
                able = [k for k in unlimited if kinds[k].size >= size]
                opened.append(favoured if favoured in able else min(able, key=lambda k: (kinds[k].price, k)))
                room.append(kinds[opened[best]].size)
                held.append(Counter())
            room[best] -= size
            held[best][item] += 1
    cuts = []
    for k, left, cut in zip(opened, room, held, strict=True):
        if cut:
            load = kinds[k].size - left
            fits = [u for u in unlimited if kinds[u].size >= load and k in unlimited]
            cuts.append((min(fits, key=lambda u: (kinds[u].price, u), default=k), tuple(sorted(cut.items()))))
    return pack(cuts)
