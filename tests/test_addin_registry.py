"""The functions themselves: every case against the engine, refusals as sentences, the cache, units, declarations."""

from __future__ import annotations

import copy
import datetime as dt
import keyword
import random
import re
from decimal import Decimal

import pytest
from addin_cases import CASES, REFUSED

from baybook.addin import registry
from baybook.addin.declare import METRIC_UNITS, PREFIX, Span
from baybook.addin.reading import Refusal
from baybook.addin.registry import FUNCTIONS, answer, clear_cache
from baybook.units import convert

# Reserved identifiers of VBA ([MS-VBAL] 3.3.5.2, the list from memory) and statement words of VBA that a person cannot
# use, or should not, as an argument.
VBA_WORDS = frozenset(
    re.findall(
        r"\w+",
        """
        abs addressof and any array as attribute boolean byref byte byval call case cbool cbyte ccur cdate cdbl cdec
        cdecl cint circle clng close const csng cstr currency cvar cverr date debug decimal declare defbool dim do
        doevents double each else elseif empty end endif enum eqv erase error event exit false fix for friend
        function get global gosub goto if imp implements in input inputb int integer is lbound len lenb let like
        line lock long longlong longptr loop lset me mid mod name new next not nothing null on open option optional
        or paramarray preserve print private property pset public put raiseevent redim rem resume return rset scale
        seek select set sgn shared single spc static step stop string sub tab text then time to true type typeof
        ubound unlock until variant wend while with withevents write xor
        """,
    )
)
DAY = dt.date(2026, 6, 30)
NOON = dt.datetime.combine(DAY, dt.time(12))


def same(found, expected) -> bool:
    """Equal cell by cell; results in metric units are rounded to six places."""
    if isinstance(expected, list):
        return len(found) == len(expected) and all(map(same, found, expected))
    if isinstance(expected, float | int) and isinstance(found, float | int):
        return found == expected or round(found, 6) == round(expected, 6)
    return found == expected and type(found) is type(expected)


@pytest.mark.parametrize("case", CASES, ids=str)
def test_it_answers_what_the_engine_answers(case):
    assert same(answer(case.name, case.given), case.expected)


def test_every_function_is_called_and_there_are_more_than_a_hundred_calls():
    assert {case.name for case in CASES} == set(FUNCTIONS)
    assert len(CASES) >= 100


@pytest.mark.parametrize(("name", "given", "sentence"), REFUSED, ids=lambda one: str(one)[:40])
def test_a_refusal_is_one_sentence_that_names_the_function(name, given, sentence):
    with pytest.raises(Refusal) as refused:
        answer(name, given)
    said = str(refused.value)
    assert said.startswith(f"{name}: ")
    assert sentence in said
    assert "\n" not in said


@pytest.mark.parametrize(
    ("value", "sentence"),
    [
        (True, "the cell holds TRUE; a length is needed"),
        (NOON, "the cell holds a date"),
        ("#DIV/0!", "the cell holds the error #DIV/0!: mend it first"),
        (float("nan"), "no number that can be used"),
        (float("inf"), "no number that can be used"),
        (b"16", "no number that can be used"),
        ("", "is empty and is needed"),
        ("   ", "is empty and is needed"),
    ],
)
def test_what_no_length_is(value, sentence):
    with pytest.raises(Refusal, match=re.escape(sentence)):
        answer("BAY_COUNT", (value, 16))


@pytest.mark.parametrize(
    "value", [16, 16.0, Decimal("16.00"), [[16]], [[16.0]], "16", " 16 ft ", "16'", "192 in", ((16,),)]
)
def test_what_one_length_may_be(value):
    assert answer("BAY_COUNT", (value, 16)) == 12


@pytest.mark.parametrize("day", [DAY, NOON, 46203, 46203.75, "2026-06-30"])
def test_what_a_day_may_be(day):
    offers = [
        ["supplier", "sku", "item", "pack_price", "valid_to"],
        ["A", "a", "strap", 2, 46203],
        ["B", "b", "strap", 3, ""],
    ]
    assert answer("BAY_PRICE_TABLE", ([["strap", 1]], offers, day))[1][3] == "a"


def test_doubt_about_day_or_currency_is_refused():
    offers = [["supplier", "sku", "item", "pack_price", "valid_to", "currency"], ["A", "a", "strap", 2, 46203, "USD"]]
    with pytest.raises(Refusal, match="say price_date"):
        answer("BAY_PRICE_TABLE", ([["strap", 1]], offers))
    offers.append(["B", "b", "strap", 3, "", "EUR"])
    with pytest.raises(Refusal, match="the offers are in EUR, USD: say currency_code"):
        answer("BAY_PRICE_TABLE", ([["strap", 1]], offers, DAY))


def test_blank_and_heading_rows_are_passed_over_and_keep_their_place():
    pieces = [["length", "how many"], [100, 5], [None, None], ["", ""]]
    stock = [["length", "price"], [144, 41.5], [None, None], [240, 60]]
    assert answer("BAY_CUT_COUNTS", (pieces, stock)) == [[""], [1], [""], [2]]


POOL = [
    None, "", " ", 0, 1, -1, 16.0, 0.25, 1e-9, 1e9, 1e15, -0.0, True, "16 ft", "14-3", "#N/A", "=1+1", "50%", "left",
    "metric", "2x10", "2x3", "5 in/h", "1/8 in/ft", "half-round 5 in", "BAY_COUNT", "splice_lap_in", NOON, DAY, [[]],
    [[1]], [[1, 2], [3, 4]], [[None, "x"], [16, 4]], [["item", "quantity"], ["strap", 3]], [[""]], [["1' 2\"", "3 m"]],
    float("nan"), float("-inf"), Decimal("1.5"), object(), "9" * 500, [["supplier", "sku", "item", "pack_price"]],
]  # fmt: skip


def cells_in(found):
    return [cell for row in found for cell in row] if isinstance(found, list) else [found]


@pytest.mark.parametrize("name", FUNCTIONS)
def test_whatever_is_given_comes_back_as_an_answer_or_a_sentence(name):
    draw = random.Random(name)
    count = len(FUNCTIONS[name].args)
    good = [case.given for case in CASES if case.name == name and len(str(case.given)) < 2000]
    for _ in range(150):
        given = list(draw.choice(good)) if draw.random() < 0.9 else [None] * count
        given += [None] * (count - len(given))
        for at in draw.sample(range(len(given)), min(len(given), draw.choice([1, 1, 1, 2, 4]))):
            given[at] = draw.choice(POOL) if draw.random() < 0.6 else round(draw.expovariate(0.05), draw.randrange(4))
        try:
            found = answer(name, given)
        except Refusal as refused:
            found = str(refused)
            assert found.startswith(f"{name}: "), found
        for cell in cells_in(found):
            assert isinstance(cell, str | int | float), (given, found)
            assert cell == cell, "no NaN"  # noqa: PLR0124 - that is what is asked
            assert "\n" not in str(cell)
        widths = {len(row) for row in found} if isinstance(found, list) else {1}
        assert len(widths) == 1, "rows of one length: COM takes no other"


# ---------------------------------------------------------------------------------------------- cache


def test_an_answer_is_worked_out_once(monkeypatch):
    calls = []
    whole = registry._worked_out
    monkeypatch.setattr(registry, "_worked_out", lambda *given: calls.append(given) or whole(*given))
    clear_cache()
    for _ in range(3):
        assert answer("BAY_COUNT", (16, 16)) == 12
    assert len(calls) == 1
    with pytest.raises(Refusal):
        answer("BAY_COUNT", (True, 16))  # TRUE == 1 in Python, not in a cell
    assert answer("BAY_COUNT", (1, 16)) == 1
    assert len(calls) == 3


def test_the_cache_does_not_grow_without_end():
    clear_cache()
    for width in range(1, registry._KEPT + 50):
        answer("BAY_INCHES", (width,))
    assert len(registry._answers) == registry._KEPT


def test_the_same_range_with_one_cell_changed_is_another_call():
    rows = [[14.5, 141.0] for _ in range(300)]
    before = answer("BAY_PANELS", (rows, 4, 1.5, 1.5, 3))
    changed = copy.deepcopy(rows)
    changed[299][0] = 13.75
    after = answer("BAY_PANELS", (changed, 4, 1.5, 1.5, 3))
    assert before[300] != after[300]
    assert before[:300] == after[:300]


# ---------------------------------------------------------------------------------------------- declarations


def test_metric_factors_are_pints():
    pint = {"in": ("in", "mm"), "ft": ("ft", "m"), "gpm": ("gallon/minute", "liter/second"), "in/ft": ("in/ft", "mm/m")}
    assert set(pint) == set(METRIC_UNITS)
    for unit, (shown, factor) in METRIC_UNITS.items():
        assert factor == pytest.approx(convert(1, *pint[unit]), rel=1e-12)
        assert shown == {"in": "mm", "ft": "m", "gpm": "L/s", "in/ft": "mm/m"}[unit]


@pytest.mark.parametrize("name", FUNCTIONS)
def test_names_can_stand_in_every_face(name):
    function = FUNCTIONS[name]
    assert name.startswith(PREFIX)
    assert re.fullmatch(r"[A-Z]+(_[A-Z]+)+", name), "no cell (A1, R1C1) and no number looks like it"
    assert re.fullmatch(r"bay[A-Za-z]+", function.method), "UNO takes no underscore"
    names = [one.name for one in function.args]
    assert len({one.casefold() for one in names}) == len(names)
    for one in names:
        assert one.isidentifier()
        assert not keyword.iskeyword(one)
        assert one.casefold() not in VBA_WORDS
        assert not re.fullmatch(r"[a-z]{1,3}\d+|r\d*c\d*", one)
        assert one != "caller", "xlwings puts the calling range there"


def test_methods_differ():
    assert len({function.method for function in FUNCTIONS.values()}) == len(FUNCTIONS)


@pytest.mark.parametrize("name", FUNCTIONS)
def test_every_argument_is_explained(name):
    function = FUNCTIONS[name]
    assert function.help.endswith(".")
    for text in (function.help, *(one.help for one in function.args)):
        assert 0 < len(text) <= 255, "Excel shows no more"
        assert text.isascii(), "the .bas is read in the code page of the machine"
    optional = [one.optional for one in function.args]
    assert optional == sorted(optional), "what may be left out stands last"
    assert all(one.span is not Span.REST for one in function.args[:-1])
    if any(head.unit in METRIC_UNITS for head in function.gives.heads):
        assert function.takes_units


def test_length_arguments_take_the_unit_they_name():
    for name, function in FUNCTIONS.items():
        for one in function.args:
            if one.unit in {"in", "ft"} and one.span is Span.ONE:
                assert f"[{one.unit}, or text with a unit]" in one.help, (name, one.name)
