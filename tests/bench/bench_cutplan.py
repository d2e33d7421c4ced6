"""How good, how sure and how fast cut plans are on jobs like real ones: ``python tests/bench/bench_cutplan.py``.

Rectangular decks have one to six cut lengths, angled ones a new length for each bay (in steps of 1/2 in); the stock
comes in one to five lengths of a like price for length, with prices that end in .49, .95, .97 or .99; offcuts lie ready
at a tenth of the price. Short pieces (0.5 to 6 ft, up to 60 lengths) are the hard case. Times are processor time of one
core, import of the solver not counted. Beside them stands what first-fit-decreasing buys: the longest piece first into
the first stick with room, offcuts opened before new stock, the best of one run for each stock length.
"""

from __future__ import annotations

import argparse
import random
from statistics import mean, median
from time import process_time

from baybook.cutplan import Piece, Stock, plan_cuts

FT, STEP = 192, 8


def _half_inches(feet):
    return max(round(feet * FT / STEP), 1) * STEP


def _stock(chance, offcuts):
    """Stock lengths on sale, the longest at least 16 ft, and two to eight places with offcuts."""
    lengths = {chance.choice([16, 18, 20]), *chance.sample([8, 10, 12, 14, 16, 18, 20], chance.randint(0, 4))}
    rate = chance.uniform(4.5, 6.5)
    stock = [
        Stock(feet * FT, int(feet * rate * chance.uniform(0.93, 1.07)) * 100 + chance.choice([49, 95, 97, 99]))
        for feet in sorted(lengths)
    ]
    for place in range(chance.randint(2, 8) if offcuts else 0):
        length = chance.randint(24, 144) * 16
        stock.append(Stock(length, max(round(length * rate * 10 / FT), 1), chance.randint(1, 3), f"rack {place + 1}"))
    return stock


def rectangular(chance, count):
    """One to three areas of equal bays, each with a few pieces of another length."""
    areas = chance.randint(1, 3 if count >= 40 else 1)
    pieces = []
    for area in range(areas):
        here = count // areas + (area < count % areas)
        other = chance.randint(0, here // 4)
        pieces.append(Piece(_half_inches(chance.uniform(6, 16)), here - other))
        pieces.append(Piece(_half_inches(chance.uniform(3, 16)), other))
    return pieces


def angled(chance, count):
    """One to three areas whose bays grow evenly from a short to a long one."""
    areas = chance.randint(1, 3 if count >= 40 else 1)
    pieces = []
    for area in range(areas):
        here = count // areas + (area < count % areas)
        short, long = chance.uniform(4, 9), chance.uniform(9, 16)
        pieces += [Piece(_half_inches(short + (long - short) * bay / max(here - 1, 1)), 1) for bay in range(here)]
    return pieces


def short(chance, count):
    """Pieces of 0.5 to 6 ft in up to 60 lengths."""
    lengths = [_half_inches(chance.uniform(0.5, 6)) for _ in range(min(count, 60))]
    return [Piece(chance.choice(lengths), 1) for _ in range(count)]


def first_fit_decreasing(pieces, stock, favoured):
    """The cost of a plain rule."""
    lengths = sorted((piece.length for piece in pieces for _ in range(piece.count)), reverse=True)
    offcuts = sorted((item.length, item.price) for item in stock if item.supply for _ in range(item.supply))
    new = [item for item in stock if item.supply is None]
    cost, rooms = 0, []
    for length in lengths:
        place = next((number for number, room in enumerate(rooms) if room >= length), None)
        if place is None:
            offcut = next((item for item in offcuts if item[0] >= length), None)
            if offcut is not None:
                offcuts.remove(offcut)
                size, price = offcut
            else:
                able = (
                    favoured
                    if favoured.length >= length
                    else min((item for item in new if item.length >= length), key=lambda item: item.price)
                )
                size, price = able.length, able.price
            cost += price
            place = len(rooms)
            rooms.append(size)
        rooms[place] -= length
    return cost


def _say(line):
    print(line, flush=True)  # noqa: T201 - a script


def run(name, deck, count, offcuts, seeds):
    """Plan the jobs of one row and print it; return their times."""
    times, proven, excess, gaps = [], 0, [], []
    for seed in range(seeds):
        chance = random.Random(f"{name} {count} {offcuts} {seed}")
        pieces, stock = deck(chance, count), _stock(chance, offcuts)
        start = process_time()
        plan = plan_cuts(pieces, stock)
        times.append(process_time() - start)
        proven += plan.proven
        gaps.append(100 * (plan.cost - plan.lower_bound) / plan.cost)
        plain = min(first_fit_decreasing(pieces, stock, item) for item in stock if item.supply is None)
        excess.append(100 * (plain - plan.cost) / plan.cost)
    ms = sorted(1000 * t for t in times)
    late = ms[round(0.95 * (seeds - 1))]
    row = (
        f"{name:12} {count:4} {'yes' if offcuts else 'no':>7} {proven:4}/{seeds:<4} {max(gaps):8.4f} {median(ms):8.1f}"
    )
    _say(f"{row} {late:8.1f} {ms[-1]:8.1f} {mean(excess):8.1f} {max(excess):8.1f}")
    return times


def main():
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seeds", type=int, default=15, help="jobs in a row (15)")
    seeds = parser.parse_args().seeds
    plan_cuts(angled(random.Random(0), 40), [Stock(16 * FT, 8249), Stock(12 * FT, 5997)])  # loads the solver
    _say("deck          pcs offcuts    proven    gap %   median      p95   max ms   FFD +%      max")
    times = []
    for name, deck in (("rectangular", rectangular), ("angled", angled)):
        for count in (10, 40, 120, 300):
            for offcuts in (False, True):
                times += run(name, deck, count, offcuts, seeds)
    _say(f"{len(times)} mixed jobs: {len(times) / sum(times):.0f} a second on one core")
    for count in (40, 120, 300):
        for offcuts in (False, True):
            run("short", short, count, offcuts, seeds)


if __name__ == "__main__":
    main()
