"""Feed changed inputs to every reader: ``python tests/long/fuzz_readers.py [TEXTS] [WORKBOOKS] [SEED] [READER ...]``.

By default 1,000,000 texts and CSV files (an hour on one processor) and 50,000 workbooks and XML files (an hour and a
half). Each must be read or refused in a sentence, within 2 s of processor time, and the process, all readers and
libraries in it, must stay below 300 MB. What fails is kept in the folder named at the end; the status is then 1.
"""

from __future__ import annotations

import faulthandler
import random
import resource
import sys
import tempfile
import time
import traceback
from collections import Counter
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

import fuzzing

SLOW_S = 2.0
MOST_MB = 300
KEPT = 40  # of one kind of failure


def say(*words: object) -> None:
    print(*words, flush=True)  # noqa: T201 - a script


def memory_mb() -> float:
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


class Run:
    """The counts of a run, and where failures go."""

    def __init__(self, seed: int) -> None:
        self.chance = random.Random(seed)
        memory = Path("/dev/shm")  # noqa: S108 - a folder of its own is made in it
        self.room = Path(tempfile.mkdtemp(prefix="fuzz-", dir=memory if memory.is_dir() else None))
        self.kept = Path(tempfile.mkdtemp(prefix="fuzz-failures-"))
        self.failures: Counter[str] = Counter()
        self.told_of_memory = False

    def fail(self, target: fuzzing.Target, data: bytes, why: str) -> None:
        self.failures[why] += 1
        if self.failures[why] <= KEPT:
            name = f"{len(list(self.kept.iterdir())):04} {target.name.split(',')[0]}"
            (self.kept / name).write_bytes(data)
        if self.failures[why] == 1:
            say(f"FAILED {target.name}: {why} ({name})")

    def feed(self, target: fuzzing.Target, count: int) -> None:
        seeds, folder = target.seeds(), self.room / target.name.replace(",", "")
        folder.mkdir()
        read, worst, start = 0, 0.0, time.monotonic()
        for _ in range(count):
            data = target.change(self.chance, self.chance.choice(seeds))
            faulthandler.dump_traceback_later(120, exit=True)
            begun = time.process_time()
            try:
                read += fuzzing.told(target, data, folder)
            except Exception as fault:
                where = traceback.extract_tb(fault.__traceback__)[-1]
                self.fail(target, data, f"{type(fault).__name__} at {Path(where.filename).name}:{where.lineno}")
                say(f"  {str(fault)[:200]!r}") if self.failures.total() < KEPT else None
            took = time.process_time() - begun
            if took > SLOW_S:
                self.fail(target, data, f"over {SLOW_S:g} s")
                say(f"  {took:.1f} s")
            if memory_mb() > MOST_MB and not self.told_of_memory:
                self.told_of_memory = True
                self.fail(target, data, f"over {MOST_MB} MB")
            worst = max(worst, took)
        faulthandler.cancel_dump_traceback_later()
        say(
            f"{target.name}: {count:,} inputs, {read:,} read, {count - read:,} refused, slowest {worst * 1e3:.0f} ms, "
            f"peak memory so far {memory_mb():.0f} MB, {time.monotonic() - start:.0f} s"
        )


def main(texts: int, workbooks: int, seed: int, names: list[str]) -> int:
    run = Run(seed)
    start = time.monotonic()
    for targets, count in ((fuzzing.TEXTS, texts), (fuzzing.WORKBOOKS, workbooks)):
        chosen = fuzzing.with_share(targets, names)
        shares = sum(one.share for one in chosen)
        for one in chosen:
            run.feed(one, -(-count * one.share // shares))
    say(f"{texts:,} texts and tables, {workbooks:,} workbooks and XML files, {time.monotonic() - start:.0f} s")
    say(
        f"peak memory {memory_mb():.0f} MB; failures: {dict(run.failures) or 'none'} {run.kept if run.failures else ''}"
    )
    return 1 if run.failures else 0


if __name__ == "__main__":
    given = [int(one) for one in sys.argv[1:4]]
    sys.exit(main(*given, *(1_000_000, 50_000, 1)[len(given) :], sys.argv[4:]))
