"""Run commands on broken books and workbooks: ``python tests/long/fuzz_commands.py [RUNS] [SEED]``, about 20 minutes.

By default 4,000 books and 1,000 workbooks. Each run must end with status 0, 1, 2 or 3 and sentences; what does not is
printed with its traceback, and the status is then 1.
"""

from __future__ import annotations

import random
import sys
import tempfile
import time
import traceback
from collections import Counter
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from broken import broken_book, broken_workbook


def say(*words: object) -> None:
    print(*words, flush=True)  # noqa: T201 - a script


def main(runs: int, seed: int) -> int:
    chance, failed = random.Random(seed), 0
    room = Path(tempfile.mkdtemp(prefix="broken-"))
    for breaks, count in ((broken_book, runs * 4 // 5), (broken_workbook, runs // 5)):
        statuses: Counter[int] = Counter()
        worst, start = 0.0, time.monotonic()
        for _ in range(count):
            begun = time.process_time()
            ran = breaks(chance, room / "room")
            worst = max(worst, time.process_time() - begun)
            statuses[ran.result.exit_code] += 1
            if not ran.well:
                failed += 1
                (room / "room").rename(room / f"failed-{failed}")
                say(f"FAILED {' '.join(ran.arguments)} on {ran.broken}, kept as {room / f'failed-{failed}'}")
                say(ran.result.output[-500:])
                if ran.result.exc_info:
                    say("".join(traceback.format_exception(*ran.result.exc_info)[-4:]))
        took, counted = time.monotonic() - start, dict(sorted(statuses.items()))
        say(f"{breaks.__name__}: {count} runs, by status {counted}, slowest {worst:.1f} s, {took:.0f} s")
    say(f"{failed} failed")
    return min(failed, 1)


if __name__ == "__main__":
    given = [int(one) for one in sys.argv[1:]]
    sys.exit(main(*given, *(5000, 1)[len(given) :]))
