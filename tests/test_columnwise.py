"""Formulas worked out column by column give what the evaluation cell by cell gives, in every cell."""

from __future__ import annotations

import datetime as dt

import books
import pytest
from limit_books import limit_estimate

from baybook.workbook.build import spec_of
from baybook.workbook.columnwise import Columnwise, Irregular
from baybook.workbook.declare import Block, BookSpec, Column, Scalar, Sheet, Table, layout
from baybook.workbook.evaluate import evaluate
from baybook.workbook.layouts import declared_keys, with_values
from baybook.workbook.semantics import ErrorValue, cell_value

WHEN = dt.datetime(2026, 6, 15, 12, 0)  # noqa: DTZ001  the file holds no zone


def given_in(placed):
    """Return the values of everything without a formula, as cells hold them."""
    found = {}
    for sheet in placed.sheets:
        for part in sheet.parts:
            if isinstance(part, Block):
                found |= {one.key: [cell_value(one.value)] for one in part.scalars if one.formula is None}
            elif isinstance(part, Table):
                found |= {
                    one.key: [cell_value(value) for value in one.values or ()]
                    for one in part.columns
                    if one.formula is None
                }
    return found


def compared(spec, placed, made):
    """Return cells that differ, and how many were compared."""
    expected = evaluate(spec, placed)
    columns, lines = made.work_out(given_in(placed))
    found = {
        placed.address(key, row): value
        for key, values in columns.items()
        if placed.declaration(key).formula is not None
        for row, value in enumerate(values)
    } | lines
    assert set(found) == set(expected)
    differ = [
        (at, value, found[at])
        for at, value in expected.items()
        if not (type(found[at]) is type(value) and found[at] == value)
    ]
    return differ, len(expected)


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("make", [books.random_estimate, limit_estimate], ids=["random", "limit"])
def test_every_formula_of_a_book_has_the_same_value(make, seed):
    spec = spec_of(make(seed), WHEN)
    placed = layout(spec)
    differ, count = compared(spec, placed, Columnwise(placed))
    assert count > 10_000
    assert differ == []


def test_one_layout_serves_other_inputs_texts_and_errors_too():
    spec = spec_of(books.random_estimate(1), WHEN)
    made = Columnwise(layout(spec))
    changes = [
        {"a_width": (30.0,)},
        {"a_width": ("wide",)},
        {"a_width": (), "a_area": ()},
        {"job_profit": (1.0,), "job_profit_basis": ("margin",)},
        {"v_pack_price": ("dear", None, 3.0)},
        {"v_item": tuple(f"no such thing {n}" for n in range(9))},
        {"big_in": (0.0,)},
        {"leader_coefficient": ("",)},
        {"l_liner": ("*", "?")},
        {},
    ]
    counts = set()
    for change in changes:
        changed = with_values(spec, change)
        differ, count = compared(changed, layout(changed), made)
        counts.add(count)
        assert differ == [], change
    assert len(counts) == 1


def small(*columns, scalars=(), rows=4):
    parts = (
        Block(title="One", scalars=(Scalar(key="base", label="base", value=2.0), *scalars)),
        Table(key="table", title="Many", rows=rows, columns=columns),
    )
    return BookSpec(sheets=(Sheet(title="S", purpose="P", parts=parts),), lists={})


FORMULAS = [
    "=[mixed]",
    "=[mixed-]",
    "=[mixed+]",
    "=[mixed!]",
    "=-[mixed]",
    "=[number]+[mixed]",
    "=[number]-[number]",
    "=[number]*[mixed]",
    "=[number]/[mixed]",
    "=[number]/[number]",
    "=[mixed]^[number]",
    '=[mixed]&[number]&"x"',
    '=[mixed]=""',
    '=[mixed]<>""',
    "=[mixed]=[word]",
    '=[word]="B"',
    "=[number]<[mixed]",
    "=[number]>=[number-]",
    "=[number]<=base",
    "=IF([mixed],1,2)",
    "=IF([number]>1,[word])",
    "=IF([flag],[mixed],[number])",
    "=IF([word],1,2)",
    "=IFERROR(1/[number],[mixed])",
    "=IFERROR([bad],[mixed])",
    '=CHOOSE([number],"one",[mixed],3)',
    "=CHOOSE([mixed],1,2)",
    "=INDEX(mixed,[number])",
    "=INDEX(bad,[row])",
    "=INDEX(number,[mixed])",
    "=INDEX(base,1)",
    "=ROUND([number]/7,2)",
    "=ROUND([mixed],6)",
    "=ROUND([number],1)",
    "=ROUNDUP([number]/3,0)",
    "=ROUNDUP([number]/3,2)",
    "=INT([number]/7)",
    "=INT(0-[number]/7)",
    "=MOD([row],[number])",
    "=ABS([mixed])",
    "=SQRT([number]-2)",
    "=AND([number],[flag])",
    "=AND([mixed],[number])",
    "=OR([flag],[word])",
    "=OR([flag],[number]>2)",
    "=MAX([number],[mixed],0)",
    "=MIN([number],3)",
    "=MAX(mixed)",
    "=MIN(word)",
    "=SUM(bad)",
    "=SUM(number)",
    "=SUM([number]:[row])",
    "=SUM([row^])",
    "=COUNT([mixed])",
    "=COUNT([bad])",
    "=COUNT(mixed)",
    "=COUNT(base)",
    "=ISNUMBER([mixed])",
    "=ISNUMBER([bad])",
    "=ISTEXT([mixed])",
    "=LEN([mixed])",
    "=LEFT([mixed],1)",
    "=MID([word],1,1)",
    '=SUBSTITUTE([word],"b",[mixed])',
    "=NOT([mixed])",
    "=PI()",
    "=COUNTIF(mixed,[mixed])",
    "=SUMIF(word,[word],number)",
    "=MATCH([mixed],mixed,0)",
    "=SMALL(number,[row])",
    "=RANK([number],number,1)",
    "=SUMPRODUCT((number=[number])*row)",
    '=COUNTIF(row,"<="&[number])',
    "=[run-]+1",
    "=[run-]&[word]",
    "=IF([row]>2,[run-],[number])",
    "=IFERROR([run-]+1/[number],[run-])",
    "=[bad]",
    "=[bad]+1",
    "=[flag]",
    "=[flag]+1",
    "=[flag]=[number]",
    "=TRUNC([number]/3)",
    "=CEILING([number],2)",
    "=DATE(2026,[number],1)",
    "=-[number]/0",
]


@pytest.mark.parametrize("formula", FORMULAS)
def test_a_formula_gives_the_same_on_every_kind_of_value(formula):
    spec = small(
        Column(key="number", header="n", values=(0.0, 1.0, 3.5, 3.5)),
        Column(key="row", header="r", values=(1.0, 2.0, 3.0, 4.0), opening=0),
        Column(key="mixed", header="m", values=(None, "B", 3.5, True), opening="x"),
        Column(key="word", header="w", values=("a", "b", "B", "c")),
        Column(key="flag", header="f", values=(True, False, True, True)),
        Column(key="bad", header="e", values=(1.0, ErrorValue("#N/A"), "t", None)),
        Column(key="run", header="o", formula=formula),
        Column(key="after", header="p", formula='=IFERROR([run]&"",0)&[run!]'),
    )
    placed = layout(spec)
    made = Columnwise(placed)
    assert compared(spec, placed, made)[0] == []
    assert compared(spec, placed, made)[0] == []  # nothing of the first time is left over


def test_numbers_that_turn_to_texts_halfway_down():
    spec = small(
        Column(key="word", header="w", values=(None, "2", "b", "c")),
        Column(key="run", header="r", formula='=IF([word]=base&"",[run-]&"x",[run-])'),
    )
    placed = layout(spec)
    made = Columnwise(placed)
    assert compared(spec, placed, made)[0] == []
    assert made.work_out(given_in(placed))[0]["run"] == [0.0, "0x", "0x", "0x"]


def test_columns_that_read_each_other_row_by_row():
    spec = small(
        Column(key="step", header="s", values=(1.0, 2.0, 3.0, 4.0)),
        Column(key="left", header="l", formula="=[right-]+[step]"),
        Column(key="right", header="r", formula="=[left]*base"),
    )
    placed = layout(spec)
    columns, _ = Columnwise(placed).work_out(given_in(placed))
    assert columns["left"] == [1, 4, 11, 26]  # 0+1; 2*1+2; 2*4+3; 2*11+4
    assert columns["right"] == [2, 8, 22, 52]


def test_a_circle_is_refused():
    spec = small(
        Column(key="left", header="l", formula="=[right]+1"),
        Column(key="right", header="r", formula="=[left]*base"),
    )
    with pytest.raises(ValueError, match="circle"):
        Columnwise(layout(spec))


def test_a_number_too_great_for_a_cell_is_left_to_the_other_way():
    spec = small(
        Column(key="great", header="g", formula="=base*[large]"), Column(key="large", header="l", values=(1e308,))
    )
    placed = layout(spec)
    assert evaluate(spec, placed)["S", placed.address("great")[1], 1] == "#NUM!"
    with pytest.raises(Irregular):
        Columnwise(placed).work_out(given_in(placed))


def test_every_key_is_given_back():
    spec = spec_of(books.random_estimate(0), WHEN)
    placed = layout(spec)
    columns, _ = Columnwise(placed).work_out(given_in(placed))
    assert {one.key for one in declared_keys(spec)} <= set(columns)
