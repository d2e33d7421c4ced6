"""The tests on the lowest and highest versions allowed: ``python tests/long/versions.py [lowest|highest] [PYTEST]``.

Makes a virtual environment for each, with the versions that pyproject.toml allows of every direct dependency, and runs
the default tests in it, those that drive spreadsheet programs left out. About ten minutes each on two idle processors,
and it needs the network. What was installed is printed; the status is 1 if a test fails in either.
"""

from __future__ import annotations

import re
import subprocess
import sys
import tempfile
import tomllib
from pathlib import Path

ROOT = Path(__file__).parents[2]
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
NEEDED, FOR_TESTS = PROJECT["dependencies"], PROJECT["optional-dependencies"]["test"]
TESTS = ["-n", "2", "--ignore", "tests/live", "-p", "no:cacheprovider"]


def say(*words: object) -> None:
    print(*words, flush=True)  # noqa: T201 - a script


def constraints(end: str) -> list[str]:
    """Return the versions to hold: the lower bounds; for the highest pip takes the newest it may."""
    pairs = [re.fullmatch(r"([\w.-]+)>=([\w.]+),<[\w.]+", line) for line in NEEDED]
    return [f"{pair[1]}=={pair[2]}" for pair in pairs] if end == "lowest" else []


def run(end: str, tests: list[str]) -> int:
    with tempfile.TemporaryDirectory(prefix=f"{end}-") as room:
        python = Path(room) / "venv" / "bin" / "python"
        held = Path(room) / "constraints.txt"
        held.write_text("\n".join(constraints(end)) + "\n", encoding="utf-8")
        subprocess.run([sys.executable, "-m", "venv", str(Path(room) / "venv")], check=True)
        pip = [str(python), "-m", "pip", "install", "-q", "--disable-pip-version-check"]
        subprocess.run([*pip, "-c", str(held), f"{ROOT}[test]"], check=True)
        subprocess.run(
            [str(python), "-m", "pip", "uninstall", "-q", "-y", "baybook"], check=True
        )  # the source is tested
        names = [re.match(r"[\w.-]+", line)[0] for line in NEEDED]
        listed = subprocess.run([str(python), "-m", "pip", "freeze"], capture_output=True, text=True, check=True).stdout
        versions = {line.split("==")[0].casefold(): line for line in listed.splitlines()}
        say(f"{end}: {', '.join(versions[name.casefold()] for name in names)}")
        paths = {"PYTHONPATH": str(ROOT / "src"), "PATH": f"{python.parent}:/usr/bin:/bin"}
        ran = subprocess.run([str(python), "-m", "pytest", *TESTS, *tests], cwd=ROOT, env=paths, check=False)
        say(f"{end}: {'passed' if ran.returncode == 0 else 'FAILED'}")
        return ran.returncode


if __name__ == "__main__":
    ends = [one for one in sys.argv[1:2] if one in {"lowest", "highest"}]
    rest = sys.argv[1 + len(ends) :]
    sys.exit(max([run(end, rest) for end in ends or ["lowest", "highest"]]) != 0)
