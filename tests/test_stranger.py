"""The tool as a stranger meets it: a fresh clone, an empty home, and every command of the README, run as printed."""

from __future__ import annotations

import io
import os
import re
import shutil
import subprocess
import sys
import tarfile
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
EPOCH = "1795608000"  # 2026-11-25 12:00 UTC: the prices of the example are in force
NAMES = {  # what the README's words in capitals stand for in the example
    "[DIR]": "my-first-book",
    "BOOK": "my-first-book",
    "WORKBOOK": "my-first-book/workbooks/LH-021.xlsx",
    "FOLDER": "my-first-book",
    "NEW.csv": "my-first-book/alder-yard-october.csv",
    "MEASURED.csv": "my-first-book/measured.csv",
}
# (what is printed, status as a stranger finds it): the rest ends with 0
STATUS = {
    "baybook order BOOK": 1,  # no job of the example is won; the message says what to do
    "baybook reprice FOLDER --prices NEW.csv": 3,  # offers that look like slips are held back, on purpose
    "baybook addin check --out DIR": 3,  # no Excel here
}
PRINTED = re.compile(r"^    (baybook .*?)(?:  +\S.*)$", re.MULTILINE)
WITHIN = re.compile(r"`(baybook [a-z]+ [^`]*[A-Z][^`]*)`")  # a whole command in the text has a word in capitals


def printed_commands(readme: str) -> list[str]:
    """Return every command that the README prints, alternatives written out, in its order."""
    found = []
    for line in (*PRINTED.findall(readme), *WITHIN.findall(readme)):
        if "COMMAND" in line:
            continue
        choices = re.search(r"\b\w+(?:\|\w+)+\b", line)
        lines = [line.replace(choices[0], f"{one} --out DIR") for one in choices[0].split("|")] if choices else [line]
        for one in lines:
            option = re.search(r" \[(--\w+)\]", one)
            found += [one.replace(option[0], ""), one.replace(option[0], f" {option[1]}")] if option else [one]
    return list(dict.fromkeys(found))


def filled(command: str, number: int) -> str:
    """Return a command with names of the example for its words in capitals; folders written to are new ones."""
    words = [NAMES.get(word, f"out-{number}" if word == "DIR" else word) for word in command.split()]
    return " ".join(words)


@pytest.fixture(scope="module")
def clone(tmp_path_factory) -> Path:
    """The checkout as a clone has it: what is committed and nothing else."""
    if not (ROOT / ".git").exists() or shutil.which("git") is None:
        pytest.skip("this is no git checkout")
    folder = tmp_path_factory.mktemp("clone")
    words = ["git", "-c", "safe.directory=*", "-C", str(ROOT), "archive", "HEAD"]
    packed = subprocess.run(words, capture_output=True, check=True).stdout
    with tarfile.open(fileobj=io.BytesIO(packed)) as archive:
        archive.extractall(folder, filter="data")
    return folder


class Stranger:
    """Somebody at a shell in a new folder, with an empty home and nothing in the environment."""

    def __init__(self, place: Path, clone: Path) -> None:
        self.folder, self.home, self.temporary = place / "here", place / "home", place / "tmp"
        program = place / "bin" / "baybook"
        for folder in (self.folder, self.home, self.temporary, program.parent):
            folder.mkdir()
        start = "from baybook.cli import main; main(prog_name='baybook')"  # as the installed command does
        program.write_text(
            f'#!/bin/sh\nPYTHONPATH="{clone / "src"}" exec "{sys.executable}" -P -c "{start}" "$@"\n', encoding="utf-8"
        )
        program.chmod(0o755)
        self.environment = {
            "PATH": f"{program.parent}:/usr/bin:/bin",
            "HOME": str(self.home),
            "TMPDIR": str(self.temporary),
            "SOURCE_DATE_EPOCH": EPOCH,
            "PYTHONDONTWRITEBYTECODE": "1",
        }

    def types(self, line: str) -> subprocess.CompletedProcess:
        return subprocess.run(
            ["/bin/sh", "-c", line],
            cwd=self.folder,
            env=self.environment,
            capture_output=True,
            text=True,
            encoding="utf-8",
            check=False,
            timeout=120,
        )


@pytest.mark.skipif(os.name != "posix", reason="the lines for Windows are others")
def test_every_command_of_the_readme_runs_as_printed(clone, tmp_path):
    commands = printed_commands((clone / "README.md").read_text(encoding="utf-8"))
    assert commands[0] == "baybook example [DIR]"
    assert len(commands) > 15
    before = sorted(path.relative_to(clone) for path in clone.rglob("*"))
    stranger = Stranger(tmp_path, clone)
    failed = []
    for number, command in enumerate(commands):
        line = filled(command, number)
        assert not re.search(r"\b[A-Z]{3,}\b(?!-)", line), f"{line}: what does the word in capitals stand for?"
        ran = stranger.types(line)
        if ran.returncode != STATUS.get(command, 0) or "Traceback" in ran.stderr:
            failed.append(f"{line}: status {ran.returncode}\n{ran.stderr[-500:]}")
        if ran.returncode == 1:
            assert ran.stderr.endswith("nothing was written\n")
        assert ran.stdout or ran.stderr, f"{line} says nothing"
    assert not failed, "\n".join(failed)
    assert set(STATUS) <= set(commands)
    # what the refusal says to do
    assert "name one with --job" in stranger.types("baybook order my-first-book").stderr
    assert stranger.types("baybook order my-first-book --job LH-021").returncode == 0
    # and nothing was written anywhere else
    assert [*stranger.home.iterdir(), *stranger.temporary.iterdir()] == []
    assert sorted(path.relative_to(clone) for path in clone.rglob("*")) == before
    assert {path.name for path in stranger.folder.iterdir()} == {
        "my-first-book",
        "stock.csv",
        *(f"out-{at}" for at, one in enumerate(commands) if one.endswith("--out DIR") and "check" not in one),
    }


@pytest.mark.parametrize(
    ("line", "status", "words"),
    [
        ("baybook", 2, "Usage: baybook"),
        ("baybook -h", 0, "Usage: baybook"),
        ("baybook chekc my-book", 2, "No such command 'chekc'"),
        ("baybook check", 2, "Missing argument 'BOOK'"),
        ("baybook check nowhere", 1, "nowhere: is no folder: a book is a folder with jobs.csv"),
        ("baybook verify nowhere.xlsx", 1, "there is no such file in"),
        ("baybook refresh .", 1, "save it as one of these"),
        ("baybook check . --on 15.6.2026", 2, "does not match the format '%Y-%m-%d'"),
        ("baybook check . --on 1026-06-15", 2, "1026-06-15 is long before any deck: check the year"),
        (
            "BAYBOOK_LIMITS=lines=few baybook verify a.xlsx",
            1,
            "BAYBOOK_LIMITS: lines: read 'few'; write a whole number",
        ),
        ("SOURCE_DATE_EPOCH=² baybook check .", 1, "jobs.csv: is missing"),
    ],
)
def test_slips_of_a_first_day_are_answered_in_sentences(clone, tmp_path, line, status, words):
    ran = Stranger(tmp_path, clone).types(line)
    assert ran.returncode == status
    assert words in ran.stdout + ran.stderr
    assert "Traceback" not in ran.stderr
