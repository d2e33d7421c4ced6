"""The README says what the program does: its files and columns, limits, commands and JSON are held to the code."""

from __future__ import annotations

import datetime as dt
import json
import re
from dataclasses import asdict
from pathlib import Path

import pytest

from baybook.cli import main
from baybook.estimate import build_estimate
from baybook.files.book import read_book
from baybook.files.example import write_example
from baybook.files.limits import LIMITS
from baybook.files.templates import template_tables
from baybook.job.fields import fields_of
from baybook.job.reading import BOOK_FILES
from baybook.job.records import (
    Acceptance,
    Area,
    CodeRow,
    Extra,
    Framing,
    Job,
    Liner,
    Override,
    Post,
    PriceRow,
    StockPiece,
)
from baybook.report import as_data

ROOT = Path(__file__).parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")
RECORDS = {
    "jobs": Job,
    "areas": Area,
    "framing": Framing,
    "liners": Liner,
    "prices": PriceRow,
    "extras": Extra,
    "overrides": Override,
    "stock": StockPiece,
    "posts": Post,
    "codes": CodeRow,
    "acceptances": Acceptance,
}


def rows_of(heading: str) -> list[list[str]]:
    """Return the cells of the first table under a heading, without its first two lines."""
    section = README.split(f"\n{heading}\n", 1)[1]
    table = re.search(r"(?:^\|.*\n)+", section, re.MULTILINE)[0]
    return [[cell.strip() for cell in line.strip("|").split("|")] for line in table.splitlines()[2:]]


def test_the_table_of_files_is_the_declarations():
    told = {file.removesuffix(".csv"): columns.split(", ") for file, _, columns in rows_of("## A book")}
    assert set(told) == set(BOOK_FILES)
    assert [name.strip("*") for name in told["rates"]] == [
        name for name in template_tables()["rates"].header if not name.startswith("x_")
    ]
    for name, record in RECORDS.items():
        assert told[name] == [f"**{one.name}**" if one.required else one.name for one in fields_of(record)]


def test_the_files_that_must_be_there():
    needed = re.search(r"^(.+) must be there; the rest only", README, re.MULTILINE)[1]
    assert re.findall(r"[a-z]{4,}", needed) == [name for name, must in BOOK_FILES.items() if must]


def test_the_limits_are_those_in_force():
    assert {name: int(value) for name, value, _ in rows_of("## Limits on what is read")} == asdict(LIMITS)


def test_every_command_is_told():
    told = re.findall(r"^    baybook (\w+) ", README.split("\n## Commands\n")[1], re.MULTILINE)
    assert set(main.commands) <= set(told)


def shape(text: str) -> dict:
    """Read the README's sketch of the JSON: names in capitals and the letters n and x stand for any value."""
    return json.loads(re.sub(r"(?<![\"\w])([A-Z]+|[nx])(?![\"\w])", r'"\1"', text))


def keys(data, sketch) -> None:
    """Compare the keys of real data with those of a sketch; a key in capitals or of figures stands for any."""
    if isinstance(sketch, list):
        for one in data:
            keys(one, sketch[0])
    elif isinstance(sketch, dict):
        free = [key for key in sketch if key.isupper() or key.isdigit()]
        if free:
            assert data
            for one in data.values():
                keys(one, sketch[free[0]])
        else:
            assert {"offcuts", *data} == {"offcuts", *sketch}
            for key in data:
                keys(data[key], sketch[key])
    else:
        assert not isinstance(data, (dict, list))


def test_the_json_has_the_keys_told(tmp_path):
    sketch = shape(README.split("### The JSON of", 1)[1].split("\n    {", 1)[1].join(["{", ""]).split("\n\n", 1)[0])
    jobs = read_book(write_example(tmp_path), dt.date(2026, 11, 25))
    keys({"jobs": {one.job.job: as_data(build_estimate(one)) for one in jobs}}, sketch)


@pytest.mark.parametrize("system", ["Debian", "Windows"])
@pytest.mark.parametrize("what", ["example", "tests"])
def test_each_command_is_one_line_after_its_marker(what, system):
    block = re.search(rf"^<!-- command: {what} on {system} -->\n```\w+\n(.*?)```$", README, re.MULTILINE | re.DOTALL)
    assert block[1].count("\n") == 1
    assert ("pytest -n 2" if what == "tests" else "baybook example my-first-book") in block[1]


@pytest.mark.parametrize("name", ["README.md", "DEVELOPERS.md"])
def test_what_it_points_at_is_there(name):
    text = (ROOT / name).read_text(encoding="utf-8")
    for target in re.findall(r"\]\(([^)]+)\)", text):
        assert (ROOT / target).exists(), target
    for path in re.findall(r"`((?:tests|src|templates|workbooks|\.ci)/?[\w/.]*)`", text):
        assert (ROOT / path).exists(), path
