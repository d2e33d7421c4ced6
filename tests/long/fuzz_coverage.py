"""Fuzzing led by coverage: after ``pip install -e .[fuzz]``, ``python tests/long/fuzz_coverage.py [SECONDS] [READER]``.

Atheris changes an input wherever that reaches code of ours that nothing reached before. READER is the beginning of a
name in ``tests/fuzzing.py``, such as "UBL" or "price"; without one all have their turn, five minutes each. An input
that crashes its reader, takes over 2 s or brings the process over 300 MB is kept in the folder named, and the status is
then not 0.
"""

from __future__ import annotations

import random
import re
import subprocess
import sys
import tempfile
from contextlib import suppress
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

LIMITS = ("-timeout=2", "-rss_limit_mb=300", "-max_len=65536", "-print_final_stats=1")


def one(name: str, seconds: str, room: Path) -> None:
    """Fuzz one reader in this process; libFuzzer ends it."""
    import atheris

    with atheris.instrument_imports(include=["baybook"]):
        import fuzzing
    (target,) = [each for each in (*fuzzing.TEXTS, *fuzzing.WORKBOOKS) if each.name == name]
    corpus, files = room / "inputs", room / "files"
    for folder in (corpus, files):
        folder.mkdir()
    for number, seed in enumerate(target.seeds()):
        (corpus / str(number)).write_bytes(seed)

    def changed(data: bytes, most: int, seed: int) -> bytes:
        if seed % 2:  # half as we know the format, half as libFuzzer likes
            with suppress(Exception):  # what libFuzzer made of it may be no file of that format any more
                return target.change(random.Random(seed), data)[:most]
        return atheris.Mutate(data, most)

    def read(data: bytes) -> None:
        if target.name in {"lengths", "rain, areas, falls", "fields of all tables"}:
            data = data.decode("utf-8", "replace").encode()
        fuzzing.told(target, data, files)

    options = [*LIMITS, f"-max_total_time={seconds}", f"-artifact_prefix={room}/failed-", str(corpus)]
    atheris.Setup([sys.argv[0], *options], read, custom_mutator=changed)
    atheris.Fuzz()


def main(seconds: str, name: str) -> int:
    import fuzzing

    failed = 0
    for target in fuzzing.with_share((*fuzzing.TEXTS, *fuzzing.WORKBOOKS), [name] if name else []):
        room = tempfile.mkdtemp(prefix="fuzz-coverage-")
        ran = subprocess.run(
            [sys.executable, __file__, seconds, target.name, room], capture_output=True, text=True, check=False
        )
        said = dict(re.findall(r"^stat::(\w+): +(\d+)$", ran.stderr, re.MULTILINE))
        runs, memory = (said.get(key, "?") for key in ("number_of_executed_units", "peak_rss_mb"))
        found = sorted(path.name for path in Path(room).glob("failed-*"))
        print(f"{target.name}: {runs} inputs, peak memory {memory} MB, {found or 'nothing'} found in {room}")  # noqa: T201
        if ran.returncode:
            failed += 1
            print("\n".join([*ran.stdout.splitlines()[-25:], *ran.stderr.splitlines()[-10:]]))  # noqa: T201 - a script
    return failed


if __name__ == "__main__":
    if len(sys.argv) == 4:
        one(sys.argv[2], sys.argv[1], Path(sys.argv[3]))
    else:
        sys.exit(main(*sys.argv[1:], *("300", "")[len(sys.argv) - 1 :]))
