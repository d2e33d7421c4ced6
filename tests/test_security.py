"""Every exception from the security rules has its reason, and no text from outside becomes code."""

from __future__ import annotations

import datetime as dt
import re
from pathlib import Path

import books
import pytest

from baybook.workbook.build import make_workbook
from baybook.workbook.coded import code_of
from baybook.workbook.verify import verify_workbook

ROOT = Path(__file__).parents[1]
WHEN = dt.datetime(2026, 6, 15, 9, 30)  # noqa: DTZ001 - the local time of a run
SOURCES = [path for folder in ("src", "tests") for path in sorted((ROOT / folder).rglob("*.py"))]
NOQA = re.compile(r"#\s*noqa(?::\s*([A-Z]+[0-9]+(?:[ ,]+[A-Z]+[0-9]+)*))?(.*)")


def exceptions(text: str) -> list[tuple[int, str, str]]:
    """Return line, codes and reason of every exception that a file makes from a security rule, or from all rules."""
    found = []
    for number, line in enumerate(text.splitlines(), 1):
        match = NOQA.search(line)
        if match and (match[1] is None or re.search(r"\bS[0-9]{3}\b", match[1])):
            found.append((number, match[1] or "", match[2].strip(" -:")))
    return found


def test_every_exception_has_its_reason_beside_it():
    found = {
        f"{path.relative_to(ROOT)}:{number}": (codes, reason)
        for path in SOURCES
        if path.name != Path(__file__).name
        for number, codes, reason in exceptions(path.read_text(encoding="utf-8"))
    }
    assert len(found) >= 6
    assert [place for place, (codes, reason) in found.items() if not codes or len(reason.split()) < 3] == []


def test_the_security_rules_are_on_but_for_those_told():
    text = (ROOT / "pyproject.toml").read_text(encoding="utf-8")
    assert 'select = ["ALL"]' in text
    off = re.findall(r'^ *"(S[0-9]*)",(.*)$', text, re.MULTILINE)
    assert sorted(code for code, _ in off) == ["S101", "S311", "S603", "S607"]
    assert all(re.fullmatch(r" +# (?:\S+ ){2,}\S+", reason) for _, reason in off)
    assert text.index('"tests/**"') < text.index('"S101"')  # all four in the tests alone


@pytest.mark.parametrize(
    "line", ["x()  # noqa: S102", "x()  # noqa", "x()  # noqa: S102 - ours", "x()  # noqa: E501, S102  a b"]
)
def test_the_check_sees_an_exception_without_a_reason(line):
    ((_, codes, reason),) = exceptions(line)
    assert not codes or len(reason.split()) < 3


HOSTILE = (
    "');raise SystemExit(7)#",
    '");raise SystemExit(7)#',
    "\\');raise SystemExit(7)#",
    "{__import__('os')._exit(7)}",
    '"""+str(__import__("os")._exit(7))+"""',
    "=SYSTEM(7)",
)


@pytest.mark.parametrize("text", HOSTILE)
def test_a_text_in_a_formula_is_a_text_in_what_is_compiled(text):
    quoted = text.replace('"', '""')
    source = code_of(f'="{quoted}"', (), frozenset()).source
    assert repr(text) in source
    compile(source, "<formula>", "exec")


def test_texts_of_a_book_are_never_run(tmp_path):
    """Each stands where a formula, a defined name, a sheet or a file name could be made of it."""
    names = iter(HOSTILE)
    made = make_workbook(
        books.estimate(
            job={"customer": next(names), "site": next(names), "notes": next(names)},
            prices=[{**row, "description": HOSTILE[2], "sku": f"{row['sku']}{HOSTILE[0]}"} for row in books.PRICE_ROWS],
            extras=[{"description": HOSTILE[4], "quantity": 1, "unit_cost": "1.00", "kind": "other"}],
            liner={"source": HOSTILE[3]},
            stock=[{"item": "gutter", "length": "7 ft 4 in", "quantity": 1, "location": HOSTILE[1]}],
        ),
        WHEN,
    )
    path = tmp_path / "deck.xlsx"
    path.write_bytes(made.data)
    assert verify_workbook(path, WHEN).differences == ()
