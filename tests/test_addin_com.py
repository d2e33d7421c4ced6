"""The Excel face through xlwings' real COM code: VBA text, conversions, wizard texts. Excel itself is stood in for."""

from __future__ import annotations

import datetime as dt
import os
import pickle
import re
import subprocess
import sys
from pathlib import Path

import pytest
from addin_cases import CASES, REFUSED

from baybook.addin.declare import Span
from baybook.addin.registry import FUNCTIONS
from baybook.addin.vba import HELP_MACRO, functions_bas

pytest.importorskip("xlwings")
HERE = Path(__file__).parent
GOLDEN = HERE / "golden" / "baybook_functions.bas"
MODULE = "baybook.addin.udfs"
HOWS = ("value", "range", "missing", "array")
OFFERS = [["supplier", "sku", "item", "pack_price", "valid_to"], ["A", "7", "strap", 2.0, dt.datetime(2026, 6, 30)]]  # noqa: DTZ001 - a cell knows no zone

# What only a spreadsheet can send, and what must come back.
SPECIAL = [
    ("BAY_COUNT", (16.0, 16.0, None), "range", 12),  # a blank cell counts as left out
    ("BAY_COUNT", (None, 16.0), "range", "BAY_COUNT: width is empty and is needed: along the ledger [ft]"),
    ("BAY_COUNT", (None, 16.0), "missing", "BAY_COUNT: width is empty and is needed: along the ledger [ft]"),
    ("BAY_COUNT", ("error cell", 16.0), "value", "BAY_COUNT: width: the cell holds the error #DIV/0!: mend it first"),
    ("BAY_COUNT", ("error value", 16.0), "value", "BAY_COUNT: width: the cell holds the error #DIV/0!: mend it first"),
    ("BAY_COUNT", (True, 16.0), "value", "BAY_COUNT: width: the cell holds TRUE; a length is needed"),
    ("BAY_COUNT", ([[16.0]], 16.0), "range", 12),
    ("BAY_COUNT", ([[16.0], [12.0]], 16.0), "range", "BAY_COUNT: width is a range of 2 x 1 cells; it takes one cell"),
    ("BAY_CUT_LENGTHS", ([[141.0]], 1.5, 3.0), "range", 142.5),
    ("BAY_CUT_LENGTHS", (141.0, 1.5, 3.0), "value", 142.5),
    ("BAY_CUT_LENGTHS", ([[141.0, 93.25]], 1.5, 3.0), "array", [142.5, 95.0]),
    ("BAY_CUT_LENGTHS", ([[141.0], [None]], 1.5, 3.0), "range", [[142.5], [""]]),
    (
        "BAY_CUT_LENGTHS",
        ([[141.0], ["error cell"]], 1.5, 3.0),
        "range",
        "BAY_CUT_LENGTHS: clear_runs, row 2: the cell holds the error #DIV/0!: mend it first",
    ),
    ("BAY_RATE", ("splice_lap_in", None), "missing", 12.0),
    ("BAY_RATE", ("splice_lap_in", None), "range", 12.0),
    ("BAY_WHY", ("BAY_COUNT", None, 16.0), "missing", "BAY_COUNT: width is empty and is needed: along the ledger [ft]"),
    ("BAY_WHY", ("BAY_COUNT", 16.0, 16.0), "range", ""),
]
DATED = [("BAY_PRICE_TABLE", ([["strap", 1.0]], OFFERS, day), "value") for day in (dt.datetime(2026, 6, 30), 46203.0)]  # noqa: DTZ001
REQUESTS = [(case.name, case.given, how) for case in CASES for how in HOWS]
REQUESTS += [(name, given, "range") for name, given, _ in REFUSED]
REQUESTS += [(name, given, how) for name, given, how, _ in SPECIAL] + DATED


@pytest.fixture(scope="module")
def com():
    """Ask a process of its own, once for all tests."""
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join([str(HERE), *sys.path])}
    ran = subprocess.run(
        [sys.executable, str(HERE / "addin_com.py")],
        input=pickle.dumps(REQUESTS),
        capture_output=True,
        check=False,
        env=environment,
        timeout=120,
    )
    assert ran.returncode == 0, ran.stderr.decode()[-3000:]
    return pickle.loads(ran.stdout)  # noqa: S301 - from our own process


def as_com(expected):
    """What CallUDF hands to VBA: one row with one dimension, one cell alone."""
    if isinstance(expected, list):
        if len(expected) == 1:
            return expected[0][0] if len(expected[0]) == 1 else expected[0]
        return expected
    return expected


def rounded(value):
    if isinstance(value, list | tuple):
        return [rounded(one) for one in value]
    return round(float(value), 6) if isinstance(value, float | int) else value


def test_every_case_answers_as_the_engine_does_however_it_is_sent(com):
    wrong = []
    for number, case in enumerate(CASES):
        for at, how in enumerate(HOWS):
            kind, found = com["calls"][number * len(HOWS) + at]
            if kind != "answer" or rounded(found) != rounded(as_com(case.expected)):
                wrong.append((str(case), how, kind, str(found)[:200]))
    assert wrong == []
    assert len(CASES) * len(HOWS) >= 400


def test_what_is_refused_is_one_readable_line_in_the_cell(com):
    start = len(CASES) * len(HOWS)
    for (name, _, sentence), (kind, found) in zip(REFUSED, com["calls"][start:], strict=False):
        assert kind == "answer", found
        assert found.startswith(f"{name}: ")
        assert sentence in found
        assert "Traceback" not in found
        assert "\n" not in found


@pytest.mark.parametrize("number", range(len(SPECIAL)), ids=lambda n: f"{SPECIAL[n][0]}-{n}")
def test_what_only_a_spreadsheet_sends(com, number):
    kind, found = com["calls"][len(CASES) * len(HOWS) + len(REFUSED) + number]
    assert (kind, rounded(found)) == ("answer", rounded(SPECIAL[number][3]))


def test_dates_arrive_as_dates_and_as_numbers(com):
    for kind, found in com["calls"][-len(DATED) :]:
        assert kind == "answer"
        assert found[1] == ["strap", 1.0, "A", "7", 1.0, 1, 2.0, 2.0]


# ---------------------------------------------------------------------------------------------- VBA and texts


def wrappers_of(bas: str) -> str:
    """The part of our module that xlwings writes too."""
    lines = bas.replace("\r\n", "\n").split("\n")
    return "\n".join(lines[3 : lines.index(f"Sub {HELP_MACRO}()")])


def test_the_bas_is_the_golden_one():
    """After a change that is meant: write `functions_bas()` there, and look at the difference."""
    assert functions_bas().encode("cp1252") == GOLDEN.read_bytes()


def test_its_wrappers_are_what_xlwings_writes_itself(com):
    assert wrappers_of(functions_bas()).strip() == com["wrappers"].strip()


def test_xlwings_imports_the_same_text_and_gives_the_wizard_every_help(com):
    (text,), wizard = com["imported"]
    head, _, rest = text.partition("\nFunction ")
    assert 'Attribute VB_Name = "xlwings_udfs"' in head
    assert f"Function {rest}".strip() == com["wrappers"].strip()
    assert wizard == {
        f"'book.xlsm'!{name}": {
            "Description": function.help,
            "HasMenu": False,
            "MenuText": None,
            "HasShortcutKey": False,
            "ShortcutKey": None,
            "Category": "baybook",
            "StatusBar": None,
            "HelpContextID": None,
            "HelpFile": None,
            "ArgumentDescriptions": [one.help for one in function.args],
        }
        for name, function in FUNCTIONS.items()
    }


def test_the_bas_gives_the_wizard_the_same_texts():
    macro = functions_bas().split(f"Sub {HELP_MACRO}()")[1].replace(" _\r\n", " ")
    told = {}
    for call in re.findall(r"Application\.MacroOptions (.*)", macro):
        name = re.search(r"'!(\w+)\"", call)[1]
        texts = [one.replace('""', '"') for one in re.findall(r'"((?:[^"]|"")*)"', call.split("Description:=")[1])]
        told[name] = (texts[0], texts[2:])
    assert told == {name: (one.help, [arg.help for arg in one.args]) for name, one in FUNCTIONS.items()}


def test_vba_takes_the_module():
    lines = functions_bas().split("\r\n")
    assert max(map(len, lines)) < 1023, "VBA's longest line"
    joined = longest = 0
    for line in lines:
        joined = joined + 1 if line.endswith(" _") else 0
        longest = max(longest, joined)
    assert longest <= 24, "VBA's most continuations"
    assert "\n" not in "".join(lines)


def test_no_hint_becomes_a_converter(com):
    assert set(com["hints"]) == set(FUNCTIONS)
    assert all(hints == {} for hints in com["hints"].values())


def test_nothing_is_volatile_asynchronous_or_expands(com):
    for name, told in com["options"].items():
        assert (told["volatile"], told["async_mode"], told["sub"]) == (False, None, False)
        assert told["ret"]["options"] == {}
        assert [one["name"] for one in told["args"]] == [one.name for one in FUNCTIONS[name].args]
        for one, declared in zip(told["args"], FUNCTIONS[name].args, strict=True):
            assert one["options"] == {"err_to_str": True} | ({} if declared.span is Span.ONE else {"ndim": 2})
            assert one.get("optional", "no") == (None if declared.optional else "no")
            assert one["doc"] == declared.help
