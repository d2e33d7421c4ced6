"""Compare jobs estimated again with fresh estimates: ``python tests/long/fresh_totals.py [CHANGES]``, 1,000 in 20 s.

Random jobs with random new prices: moved by up to 2, 30 or 70 %, some ended, some cut goods of other lengths. Every
total, quantity, plan and finding is compared; the first difference ends the run.
"""

from __future__ import annotations

import sys
from collections import Counter
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from random_prices import compared_with_a_fresh_one


def main(changes: int) -> None:
    found = Counter(compared_with_a_fresh_one(seed) for seed in range(changes))
    print(  # noqa: T201 - a script
        f"{changes} changes of price: {found[True]} with the take-off taken over, {found[False]} taken off anew, "
        f"{found[None]} refused alike; no figure differs"
    )


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 1000)
