"""The machinery under the workbook: layout, evaluation, lint and the file that is written."""

from __future__ import annotations

import datetime as dt
import io
import random
import re
import zipfile

import openpyxl
import pytest

from baybook.workbook.declare import Block, BookSpec, Column, Scalar, Sheet, Table, Text, column_letter, layout
from baybook.workbook.evaluate import evaluate
from baybook.workbook.formula import parse
from baybook.workbook.functions import FUNCTIONS
from baybook.workbook.lint import lint
from baybook.workbook.semantics import ErrorValue, number_text, round_half_away
from baybook.workbook.xlsx import write_xlsx

WHEN = dt.datetime(2026, 6, 15, 12, 0)  # noqa: DTZ001  the file holds no zone


def book(*parts, lists=None, title="Sheet", **more):
    return BookSpec(sheets=(Sheet(title=title, purpose="For a test.", parts=parts, **more),), lists=lists or {})


def table(key, rows, **columns):
    """A table of columns given as name=formula, name=(values) or name=Column."""
    made = []
    for name, content in columns.items():
        kind = "formula" if isinstance(content, str) else "values"
        made.append(content if isinstance(content, Column) else Column(key=name, header=name, **{kind: content}))
    return Table(key=key, title=key, rows=rows, columns=tuple(made))


def block(**scalars):
    made = [
        Scalar(key=key, label=key, **({"formula": it} if isinstance(it, str) and it[:1] == "=" else {"value": it}))
        for key, it in scalars.items()
    ]
    return Block(title="Block", scalars=tuple(made))


def results(spec, inputs=None):
    """Work a workbook out: key -> value of a scalar, or list of a column's values (formulas only)."""
    placed = layout(spec)
    values = evaluate(spec, placed, inputs)
    found = {}
    for key in placed.names:
        column = [values.get(placed.address(key, row)) for row in range(placed.count(key))]
        found[key] = column if len(column) > 1 else column[0]
    return found


# -------------------------------------------------------------------------------------------------------------- layout


def stacked():
    """A block at rows 5-7, a table from row 9 (title, head, unit, opening, 3 rows: 13-15), a line at row 17."""
    return book(
        block(rate=2.5, twice="=rate*2"),
        table(
            "t",
            3,
            t_no="=[t_no-]+1",
            t_in=(10, 20),
            t_next="=[t_in+]",
            t_so_far="=SUM([t_in^])",
            t_first="=[t_no!]+rate",
            t_most="=MAX([t_no]:[t_next])",
        ),
        Text(lines=("words", '="sum "&SUM(t_in)')),
        title="Page one",
    )


def test_every_part_stands_where_the_layout_says():
    placed = layout(stacked())
    assert placed.address("rate") == ("Page one", 6, 2)
    assert placed.address("twice") == ("Page one", 7, 2)
    assert placed.address("t_no") == ("Page one", 13, 1)
    assert placed.address("t_no", -1) == ("Page one", 12, 1)
    assert placed.address("t_most", 2) == ("Page one", 15, 6)
    assert placed.names == {
        "rate": "'Page one'!$B$6",
        "twice": "'Page one'!$B$7",
        "t_no": "'Page one'!$A$13:$A$15",
        "t_in": "'Page one'!$B$13:$B$15",
        "t_next": "'Page one'!$C$13:$C$15",
        "t_so_far": "'Page one'!$D$13:$D$15",
        "t_first": "'Page one'!$E$13:$E$15",
        "t_most": "'Page one'!$F$13:$F$15",
    }


def test_the_walk_yields_each_cell_with_its_final_formula():
    cells = {(cell.row, cell.col): cell for cell in layout(stacked()).cells()}
    assert {at: cell.formula for at, cell in cells.items() if cell.formula} == {
        (7, 2): "=rate*2",
        **{(13 + i, 1): f"=A{12 + i}+1" for i in range(3)},
        **{(13 + i, 3): f"=B{14 + i}" for i in range(3)},
        **{(13 + i, 4): f"=SUM(B$13:B{13 + i})" for i in range(3)},
        **{(13 + i, 5): "=A$12+rate" for i in range(3)},
        **{(13 + i, 6): f"=MAX(A{13 + i}:C{13 + i})" for i in range(3)},
        (18, 1): '="sum "&SUM(t_in)',
    }
    assert (cells[6, 2].value, cells[14, 2].value, cells[15, 2].value, cells[17, 1].value) == (2.5, 20, None, "words")
    assert (cells[12, 1].row_index, cells[12, 1].value) == (-1, 0)
    assert (12, 2) not in cells  # nobody reads the opening row of that column


def test_a_table_has_an_opening_row_only_if_one_is_read():
    placed = layout(book(table("t", 2, t_in=(1, 2), t_sum="=SUM([t_in^])"), block(after=1)))
    assert placed.address("t_in") == ("Sheet", 8, 1)
    assert placed.address("after") == ("Sheet", 12, 2)


def test_reference_marks_inside_a_literal_text_stay_as_they_are():
    placed = layout(book(table("t", 2, t_in=(1, 2), t_out='="[t_in]{0}"&[t_in]')))
    assert [cell.formula for cell in placed.formulas()] == ['="[t_in]{0}"&A8', '="[t_in]{0}"&A9']


def test_every_sheet_but_the_checks_repeats_the_state_of_the_checks():
    one = Sheet(title="One", purpose="p", parts=(block(x=1),))
    checks = Sheet(title="Checks", purpose="p", parts=(block(master_text='="all well"'),))
    placed = layout(BookSpec(sheets=(one, checks), lists={"yes_no": ("yes", "no")}))
    assert [(cell.sheet, cell.row) for cell in placed.formulas() if cell.row == 2] == [("One", 2), ("Lists", 2)]
    assert evaluate(placed.spec, placed)["Lists", 2, 1] == "all well"


def test_lists_stand_on_a_sheet_of_their_own_and_are_named_without_blanks():
    placed = layout(book(block(x=1), lists={"yes_no": ("yes", "no"), "sides": ("left", "middle", "right")}))
    assert placed.names["yes_no"] == "'Lists'!$A$8:$A$9"
    assert placed.names["sides"] == "'Lists'!$B$8:$B$10"


@pytest.mark.parametrize(("number", "letters"), [(1, "A"), (26, "Z"), (27, "AA"), (702, "ZZ"), (703, "AAA")])
def test_column_letters(number, letters):
    assert column_letter(number) == letters


def column(**more):
    return Column(key="x", header="x", **more)


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda: layout(book(block(x=1), block(X=2))), "'X' is declared twice"),
        (lambda: layout(book(block(x=1), lists={"x": ("a",)})), "'x' is declared twice"),
        (lambda: layout(book(table("t", 1, x=column(values=(), choices="sides")))), "no list is called 'sides'"),
        (lambda: list(layout(book(table("t", 1, p=(1,)), table("u", 1, q="=[p]"))).cells()), "no column of its own"),
        (lambda: list(layout(book(block(q="=[q]"))).cells()), "no column of its own"),
        (lambda: Column(key="ab1", header="h", values=()), "cannot be a defined name"),
        (lambda: Column(key="R1C1", header="h", values=()), "cannot be a defined name"),
        (lambda: Column(key="c", header="h", values=()), "cannot be a defined name"),
        (lambda: Column(key="x y", header="h", values=()), "cannot be a defined name"),
        (column, "exactly one"),
        (lambda: column(values=(1,), formula="=1"), "exactly one"),
        (lambda: column(formula="1"), "begins with '='"),
        (lambda: column(values=(), role="cash"), "role 'cash' is unknown"),
        (lambda: Scalar(key="x", label="x", formula="=1", value=1), "not both"),
        (lambda: table("t", 2, x=column(formula=("=1", "=2", "=3"))), "3 formulas for 2 rows"),
        (lambda: table("t", 2, x=(1, 2, 3)), "3 values, the table has room for 2 rows"),
        (lambda: Sheet(title="a/b", purpose="", parts=()), "none of"),
        (lambda: Sheet(title="it's", purpose="", parts=()), "none of"),
        (lambda: Sheet(title="a" * 32, purpose="", parts=()), "1 to 31 characters"),
        (lambda: Text(lines=(), style="loud"), "style 'loud' is unknown"),
        (lambda: layout(BookSpec(sheets=(Sheet(title="Lists", purpose="", parts=()),), lists={"x": ("a",)})), "twice"),
    ],
)
def test_a_declaration_that_cannot_be_is_refused(make, words):
    with pytest.raises(ValueError, match=words):
        make()


# ---------------------------------------------------------------------------------------------------------- evaluation

# a column of every kind of cell and one of plain numbers; worked by hand from what each function is documented to do
KINDS = (1, 2, None, "abc", "5", -3.5, "Abc", None, 2, 0)
PLAIN = (1.5, 2.25, 3, 4, 5, 6, 7, 8, 9, 10)


def beside_kinds(**formulas):
    """A book of formulas beside the columns `kinds` and `plain`, the scalars `blank`, `word`, `five`."""
    return book(
        table("t", 10, kinds=KINDS, plain=PLAIN, gone="=1/0"),
        block(blank=None, word="abc", five=5, **formulas),
    )


def one(formula):
    return results(beside_kinds(answer=formula))["answer"]


ANSWERS = [
    # signs, in Excel's order
    ("=-2^2", 4),
    ("=2^3^2", 64),
    ("=2^-1", 0.5),
    ("=2+3*4-6/3", 12),
    ("=5-2-1", 2),
    ("=2--3", 5),
    ('=2+3&"a"', "5a"),
    ('=1&2="12"', True),
    ("=(1=1)+1", 2),
    # numbers equal but for binary noise
    ("=(0.1+0.2)=0.3", True),
    ("=0.3<0.1+0.2", False),
    ("=0.1+0.2-0.3", 0),
    # blanks, texts, truth values
    ("=blank+1", 1),
    ('=blank=""', True),
    ("=blank=0", True),
    ("=blank=FALSE", True),
    ('=blank&"x"', "x"),
    ("=blank", 0),
    ('="a"="A"', True),
    ('=1="1"', False),
    ('="a">5', True),
    ("=TRUE=1", False),
    ('="5"*2', 10),
    ('=word&""', "abc"),
    ("=five+word", "#VALUE!"),
    ('=""*1', "#VALUE!"),
    # errors
    ("=1/0", "#DIV/0!"),
    ("=SQRT(-1)", "#NUM!"),
    ("=10^400", "#NUM!"),
    ("=IFERROR(10^308*1000,1)", 1),
    ("=SUM(10^308,10^308)", "#NUM!"),
    ("=0^0", "#NUM!"),
    ("=MOD(5,0)", "#DIV/0!"),
    ("=IFERROR(1/0,7)", 7),
    ("=IF(1,5,1/0)", 5),
    ("=IF(FALSE,1)", False),
    ("=CHOOSE(2,1/0,5)", 5),
    ("=CHOOSE(2.9,1,2,3)", 2),
    ("=CHOOSE(4,1,2,3)", "#VALUE!"),
    ("=OR(TRUE,1/0)", "#DIV/0!"),
    ('=IF("x",1,2)', "#VALUE!"),
    # rounding
    ("=ROUND(2.5,0)", 3),
    ("=ROUND(-2.5,0)", -3),
    ("=ROUND(1.005,2)", 1.01),
    ("=ROUND(2.675,2)", 2.68),
    ("=ROUND(1250,-2)", 1300),
    ("=ROUND(0.4999999,0)", 0),
    ("=ROUNDUP(-1.2,0)", -2),
    ("=ROUNDUP(4.35,2)", 4.35),
    ("=ROUNDDOWN(4.359,2)", 4.35),
    ("=TRUNC(-7.89)", -7),
    ("=INT(-1.5)", -2),
    ("=MOD(-3,2)", 1),
    ("=MOD(3,-2)", -1),
    ("=MOD(99999988*10007+1500000,99999989)", 1489993),
    ("=CEILING(7.3,0.5)", 7.5),
    ("=CEILING(1.1,0.1)", 1.1),
    ("=CEILING(-7.3,-0.5)", -7.5),
    ("=FLOOR(0.7,0.1)", 0.7),
    ("=FLOOR(-7.3,-0.5)", -7),
    ("=FLOOR(7.3,0)", "#DIV/0!"),
    # aggregates skip texts, blanks and truth values in cells
    ("=SUM(kinds)", 1.5),
    ("=SUM(kinds,five,10)", 16.5),
    ("=COUNT(kinds)", 5),
    ("=COUNT(blank)", 0),
    ("=COUNT(gone,five)", 1),
    ("=COUNTA(kinds)", 8),
    ("=MAX(kinds)", 2),
    ("=MIN(kinds)", -3.5),
    ("=MAX(-1,blank)", -1),
    ("=MAX(0,word)", 0),
    ("=SUM(gone)", "#DIV/0!"),
    ('=AND(five>0,word="abc")', True),
    ("=AND(blank,TRUE)", True),
    ("=AND(word)", "#VALUE!"),
    ("=OR(blank,five)", True),
    ("=NOT(blank)", True),
    # criteria
    ("=COUNTIF(kinds,2)", 2),
    ('=COUNTIF(kinds,"<=1")', 3),
    ('=COUNTIF(kinds,"abc")', 2),
    ('=COUNTIF(kinds,"a*")', 2),
    ('=COUNTIF(kinds,"?*")', 3),
    ('=COUNTIF(kinds,"")', 2),
    ('=COUNTIF(kinds,"<>2")', 8),
    ('=COUNTIF(kinds,"<>")', 8),
    ('=COUNTIF(kinds,">"&five-4)', 2),
    ('=COUNTIFS(kinds,2,plain,">3")', 1),
    ("=SUMIF(kinds,2,plain)", 11.25),
    ('=SUMIF(plain,">8")', 19),
    ('=SUMIFS(plain,kinds,">0",plain,"<5")', 3.75),
    ("=SUMIF(kinds,word,plain)", 11),
    # look-ups
    ("=INDEX(plain,2.9)", 2.25),
    ("=INDEX(plain,11)", "#REF!"),
    ("=INDEX(kinds,3)", 0),
    ('=INDEX(kinds,3)=""', True),
    ('=MATCH("ABC",kinds,0)', 4),
    ('=MATCH("5",kinds,0)', 5),
    ("=MATCH(5,kinds,0)", "#N/A"),
    ("=MATCH(4.5,plain,1)", 4),
    ("=MATCH(0,plain,1)", "#N/A"),
    ("=MATCH(blank,kinds,0)", "#N/A"),
    ("=SMALL(kinds,2)", 0),
    ("=LARGE(plain,2)", 9),
    ("=SMALL(kinds,6)", "#NUM!"),
    ("=RANK(9,plain,1)", 9),
    ("=RANK(9,plain)", 2),
    # products of columns
    ("=SUMPRODUCT((kinds=2)*plain)", 11.25),
    ('=SUMPRODUCT((kinds="abc")*plain)', 11),
    ('=SUMPRODUCT((kinds="")*1)', 2),
    ("=SUMPRODUCT((kinds=0)*1)", 3),
    ("=SUMPRODUCT((kinds<>2)*(plain>5))", 4),
    ("=SUMPRODUCT((plain=3)*kinds)", "#VALUE!"),
    ("=SUMPRODUCT((plain>2)*gone)", "#DIV/0!"),
    ("=SUMPRODUCT((plain-1)*2/plain)", pytest.approx(2 * (10 - sum(1 / x for x in PLAIN)))),
    # texts
    ("=LEFT(1234.5,3)", "123"),
    ('=MID("hello",2,3)', "ell"),
    ("=LEN(1.5)", 3),
    ('=SUBSTITUTE("a.b.c",".","-")', "a-b-c"),
    ('=SUBSTITUTE("a.b.c",".","-",2)', "a.b-c"),
    ('=(1/3)&""', "0.333333333333333"),
    ('=(0.1+0.2)&""', "0.3"),
    ('=TRUE&""', "TRUE"),
    ('="say ""so"""', 'say "so"'),
    # dates are days since the end of 1899; 2026-03-02 is day 46083
    ("=DATE(2026,2,30)", 46083),
    ("=DATE(2026,13,1)-DATE(2027,1,1)", 0),
    ("=YEAR(DATE(2026,6,5))*100+MONTH(DATE(2026,6,5))", 202606),
    ("=DAY(DATE(2024,2,29)+1)+DAY(46083.75)", 3),  # 1 March, and 2 March 2026 whatever the hour
    ("=ISNUMBER(five)", True),
    ("=ISNUMBER(1/0)", False),
    ("=ISTEXT(word)", True),
    ("=ISTEXT(blank)", False),
    ("=ROUND(PI(),6)", 3.141593),
    ("=ROUND(SIN(1),6)", 0.841471),
    ("=ROUND(SIN(0-2),6)", -0.909297),
    ("=ROUND(ACOS(0-1),6)", 3.141593),
    ("=ROUND(ACOS(1/2),6)", 1.047198),
    ('=IFERROR(ACOS(2),"none")', "none"),
    ("=ABS(-five)", 5),
]


@pytest.mark.parametrize(("formula", "answer"), ANSWERS)
def test_formulas_give_what_a_spreadsheet_gives(formula, answer):
    found = one(formula)
    assert found == answer
    assert isinstance(found, ErrorValue) == (isinstance(answer, str) and answer.startswith("#"))
    assert isinstance(found, bool) == isinstance(answer, bool)


@pytest.mark.parametrize(
    ("number", "text"),
    [(0.0, "0"), (-0.0, "0"), (12.0, "12"), (1234567.891, "1234567.891"), (1e15, "1000000000000000"),
     (0.00001, "0.00001"), (1e-7, "0.0000001"), (1e20, "100000000000000000000"), (1e30, "1E+30"), (2.5e-30, "2.5E-30")],
)  # fmt: skip
def test_numbers_joined_to_text_show_all_their_digits(number, text):
    assert number_text(number) == text


def test_rounding_is_half_away_in_the_decimals_as_written():
    # amounts of n + 0.5 hundredths, as people write them: exactly half a cent, whatever the binary number is
    for n in range(100_000):
        assert round_half_away(float(f"{n / 100:.2f}5"), 2) == float(f"{(n + 1) / 100:.2f}")


def running():
    return book(
        table(
            "t",
            4,
            n="=[n-]+1",
            amount=(5, None, 2, 3),
            so_far="=SUM([amount^])",
            most="=MAX([amount^])",
            nth="=COUNTIF([so_far^],[so_far])",
            left=Column(key="left", header="left", formula="=[left-]-[amount]", opening=20),
            of="=[left!]",
            ahead='=IF([amount+]="","end",[amount+])',
            wide="=SUM([n]:[so_far])",
            third="=INDEX([n]:[so_far],1,3)",
            found='=IFERROR(MATCH([so_far],[n]:[amount],0),"none")',
        )
    )


def test_running_columns_and_openings():
    found = results(running())
    assert found["n"] == [1, 2, 3, 4]
    assert found["so_far"] == [5, 5, 7, 10]
    assert found["most"] == [5, 5, 5, 5]
    assert found["nth"] == [1, 2, 1, 1]
    assert found["left"] == [15, 15, 13, 10]
    assert found["of"] == [20, 20, 20, 20]
    assert found["ahead"] == ["end", 2, 3, "end"]
    assert found["wide"] == [11, 7, 12, 17]
    assert found["third"] == [5, 5, 7, 10]
    assert found["found"] == [2, "none", "none", "none"]


def test_long_chains_are_worked_out_from_either_end():
    rows = 999
    spec = book(
        block(last=f"=INDEX(up,{rows})", first="=INDEX(down,1)"),
        table("t", rows, up="=[up-]+1", down="=[down+]+1", mixed="=[up]+[mixed-]"),
    )
    found = results(spec)
    assert (found["last"], found["first"]) == (rows, rows)
    assert found["mixed"][-1] == rows * (rows + 1) / 2


def test_a_circle_is_named():
    spec = book(table("t", 3, a="=[b+]", b="=[a]", d="=SUM(b)"), block(x="=y", y="=x"))
    with pytest.raises(ValueError, match="x in row 1 reads y in row 1 reads x in row 1"):
        evaluate(spec, layout(spec))
    long_circle = book(table("t", 300, n="=[n-]+INDEX(n,300)"))
    with pytest.raises(ValueError, match="Circular"):
        evaluate(long_circle, layout(long_circle))


def test_a_branch_not_taken_is_not_read():
    found = results(
        book(block(a="=IF(FALSE,1/0,2)", b='=IFERROR(MATCH("x",words,0),-1)'), table("t", 2, words=("a", "b")))
    )
    assert (found["a"], found["b"]) == (2, -1)


def test_changed_inputs_take_the_place_of_declared_ones():
    spec = stacked()
    assert results(spec)["t_so_far"] == [10, 30, 30]
    changed = results(spec, {("t_in", 2): 5, ("rate", 0): 4, ("t_in", 0): None})
    assert changed["t_so_far"] == [0, 20, 25]
    assert changed["twice"] == 8
    with pytest.raises(ValueError, match="worked out by a formula"):
        results(spec, {("twice", 0): 1})
    with pytest.raises(ValueError, match="No cell is called"):
        results(spec, {("t_in", 3): 1})


def test_sums_lose_nothing_to_rounding():
    # 0.1 added 999 times is 99.9, and ROUND to whole numbers must see a half as a half: 99.5 is 995 tenths
    spec = book(
        table("t", 999, tenth=(0.1,) * 999, so_far="=SUM([tenth^])", half="=ROUND([so_far],0)"),
        block(all="=SUM(tenth)", both="=SUM(tenth,0.1)"),
    )
    found = results(spec)
    assert (found["all"], found["so_far"][-1], found["both"]) == (99.9, 99.9, 100)
    assert found["half"] == [(n + 1 + 5) // 10 for n in range(999)]


def test_a_cell_cannot_hold_infinity():
    with pytest.raises(ValueError, match="cannot hold inf"):
        results(book(block(x=float("inf"))))


def test_dates_and_truth_values_as_inputs():
    found = results(
        book(block(day=dt.date(2026, 6, 15), yes=True, next_day="=day+1", both="=yes*2", is_yes="=IF(yes,1,0)"))
    )
    assert (found["next_day"], found["both"], found["is_yes"]) == (46189, 2, 1)


def looked_up(seed, rows=60):
    """A book of random rows and every kind of look-up over them; also the rows."""
    rnd = random.Random(seed)
    group = tuple(rnd.choice([1, 2, 3, None, "a", "A", "b"]) for _ in range(rows))
    amount = tuple(rnd.choice([rnd.randint(-4, 4) / 2, None]) for _ in range(rows))
    ask = tuple(rnd.choice([1, 2, 3, 9, "a", "B"]) for _ in range(rows))
    made = table(
        "t",
        rows,
        group=group,
        amount=amount,
        ask=ask,
        by_sumif="=SUMIF(group,[ask],amount)",
        by_product="=SUMPRODUCT((group=[ask])*(amount>0)*amount)",
        by_two='=COUNTIFS(group,[ask],amount,"<=1")',
        to_here="=COUNTIF([group^],[ask])",
        at="=IFERROR(MATCH([ask],group,0),0)",
        least="=SMALL(amount,3)",
        below='=COUNTIF(amount,"<"&1)',
        total_here="=SUMIFS([amount^],[group^],[ask])",
        top_here="=MAX([amount^])-MIN([amount^])+[top_here-]",
        order="=IF(COUNT([amount])=1,RANK([amount],amount,1),0)",
    )
    return book(made), group, amount, ask


@pytest.mark.parametrize("seed", range(5))
def test_indexed_look_ups_agree_with_looking_at_every_row(seed):
    """The quick ways through SUMIF, COUNTIFS, MATCH, SMALL and SUMPRODUCT against plain loops."""
    spec, group, amount, ask = looked_up(seed)
    rows, found = len(group), results(spec)

    def same(cell, asked):
        return cell is not None and (
            cell.lower() == asked.lower() if isinstance(cell, str) and isinstance(asked, str) else cell == asked
        )

    for row in range(rows):
        hits = [i for i in range(rows) if same(group[i], ask[row])]
        here = [i for i in hits if i <= row]
        assert found["by_sumif"][row] == sum(amount[i] or 0 for i in hits)
        assert found["by_product"][row] == sum(amount[i] for i in hits if amount[i] is not None and amount[i] > 0)
        assert found["by_two"][row] == sum(amount[i] is not None and amount[i] <= 1 for i in hits)
        assert found["to_here"][row] == len(here)
        assert found["at"][row] == (hits[0] + 1 if hits else 0)
        assert found["total_here"][row] == sum(amount[i] or 0 for i in here)
        seen = [x for x in amount[: row + 1] if x is not None] or [0]
        before = found["top_here"][row - 1] if row else 0
        assert found["top_here"][row] == max(seen) - min(seen) + before
        rank = 0 if amount[row] is None else 1 + sum(x is not None and x < amount[row] for x in amount)
        assert found["order"][row] == rank
    numbers = sorted(x for x in amount if x is not None)
    assert found["least"] == [numbers[2]] * rows
    assert found["below"] == [sum(x < 1 for x in numbers)] * rows


def test_a_product_reads_every_row_where_an_error_or_a_text_could_stand():
    # an equality that no row with an error meets must not hide the error: a spreadsheet multiplies every row
    found = results(
        book(
            table("t", 3, k=(1, 2, 3), v=(1, 1, "x"), e=Column(key="e", header="e", formula=("=1", "=2", "=1/0"))),
            block(text="=SUMPRODUCT((k=1)*v)", error="=SUMPRODUCT((k=1)*e)", compared='=SUMPRODUCT((k=1)*(v<>"x"))'),
        )
    )
    assert (found["text"], found["error"], found["compared"]) == ("#VALUE!", "#DIV/0!", 1)


@pytest.mark.parametrize(
    "formula",
    ["=1+", "=(1", "=SUM(1,", "=1 2", "=#REF!", "={1,2}", "=[a]:b", "='Other sheet'!A1", '="open', "=", "=[a-]:[b]"],
)
def test_what_is_no_formula_is_refused(formula):
    with pytest.raises(ValueError, match=re.escape(repr(formula))):
        parse(formula)


# ---------------------------------------------------------------------------------------------------------------- lint


def linted(formula, **more):
    column = Column(key="x", header="x", formula=formula, **more)
    other = table("t", 3, a=(1, 2, 3), w=("p", "q", "r"), x=column)
    spec = book(other, Block(title="b", scalars=(Scalar(key="half", label="half", value=0.5),)))
    return lint(spec, layout(spec))


@pytest.mark.parametrize(
    "formula",
    [
        "=IF([a]>half,ROUNDUP(ROUND([a]/half,6),0)*12,0)",
        '=COUNTIF(a,"<="&[a])+SUMIF(w,"p",a)',
        '=SUMPRODUCT((a=[a])*(w="p")*a)',
        "=IFERROR(INDEX([a]:[w],1,2),MATCH([a],a,0)-1)",
        "=-1*24+60+100+144+1000+2+ROUND([a],8)",
        '=[w]&ROUND([a],0)&" in"',
    ],
)  # fmt: skip
def test_good_formulas_pass_the_lint(formula):
    assert linted(formula) == []


@pytest.mark.parametrize(
    ("formula", "words"),
    [
        ("=OFFSET([a],1,0)", "function OFFSET is not in use"),
        ('=INDIRECT("A1")', "function INDIRECT is not in use"),
        ("=NOW()", "function NOW is not in use"),
        ("=[a]*3", "the number 3 needs a name"),
        ("=[a]*0.5", "the number 0.5 needs a name"),
        ('=COUNTIF(a,">7")', 'the number ">7" needs a name'),
        ("=ROUND([a],3)", "the number 3 needs a name"),
        ("=IF([a]>1,IF([a]>2,1,0),0)", "one IF stands inside another"),
        ("=IF([a]>1,1+IF([a]>2,1,0),0)", "one IF stands inside another"),
        ("=ROUNDUP([a]/half,0)", "must first be rounded"),
        ("=INT([a]/half)", "must first be rounded"),
        ("=CEILING([a],half)", "must first be rounded"),
        ("=unheard_of+1", "'unheard_of' is not declared"),
        ("=a*2", "whole column 'a' stands where one value is due"),
        ("=SUMPRODUCT(MAX((a=1)*a))", "products of columns"),
        ("=SUMPRODUCT(ABS(a)*a)", "whole column 'a' stands where one value is due"),
        ("=SUMPRODUCT(a,a)", "takes 1 to 1 arguments"),
        ("=ROUND([a])", "takes 2 to 2 arguments"),
        ("=INDEX([a]:[w],2)", r"INDEX(range,1,n)"),
        ("=half^2^2", "power of a power"),
        ('=IF([w]<"m",1,0)', "order of texts"),
        ('=ROUND([a],2)&" in"', "number with decimals is another text"),
        ('="at "&[a]/half', "number with decimals is another text"),
        ("=[a]" + "+[a]" * 99, "longer than 255 characters"),
        ("=[a]+", "ends too early"),
        ("=[x-]+SUM(x)", "go in a circle"),
        ("=IF([a]>half,1,[x])", "go in a circle"),
        ("=INDEX(x,1)", "go in a circle"),
    ],
)  # fmt: skip
def test_the_lint_finds_a_planted_sin_and_says_where(formula, words):
    found = linted(formula)
    assert any(words in sentence for sentence in found), found
    row = 9 if "[x-]" in formula else 8
    assert all(f"Sheet!C{row}" in sentence for sentence in found), found


@pytest.mark.parametrize(
    ("formula", "good"),
    [
        ("=ROUND(ROUND([a]*half,8),2)", True),
        ("=IF([a]>1,ROUND(ROUND([a]*half,8),2),0)", True),
        ("=half", False),
        ("=[cost]", True),
        ("=INDEX(cost,1)", True),
        ('=IFERROR([cost],"not priced")', True),
        ("=[a]*half", False),
        ("=ROUND([a]*half,2)", False),
        ("=ROUND(ROUND([a]*half,6),2)", False),
        ("=IF([a]>1,[a],0)", False),
        ("=SUM(cost)", False),
    ],
)
def test_money_is_rounded_to_cents(formula, good):
    cost = Column(key="cost", header="c", role="money", formula="=ROUND(ROUND([a]*half,8),2)")
    column = Column(key="x", header="x", role="money", formula=formula)
    spec = book(table("t", 2, a=(1, 2), cost=cost, x=column), block(half=0.5))
    found = lint(spec, layout(spec))
    assert found == [] if good else ["ROUND(ROUND(amount,8),2)" in found[0]] == [True], found


def test_a_sin_is_reported_once_and_in_every_kind_of_part():
    spec = book(Text(lines=("=7+1",)), block(a="=8*1"), table("t", 5, b="=9*1"))
    found = lint(spec, layout(spec))
    assert [sentence.split(":")[0] for sentence in found] == ["Sheet!A5", "Sheet!B8 (a)", "Sheet!A13 (b)"]


# ----------------------------------------------------------------------------------------------------- the written file


def full_book():
    lines = Table(
        key="lines",
        title="Lines",
        note="money",
        rows=4,
        columns=(
            Column(key="l_no", header="no", formula="=[l_no-]+1", role="label"),
            Column(key="l_name", header="name", role="input", values=("=1+1", "-x", "it & <so>"), help="its name"),
            Column(key="l_kind", header="kind", role="input", values=("yes", "no"), choices="yes_no"),
            Column(key="l_qty", header="quantity", unit="each", role="input", values=(3, 4.5, 1e7)),
            Column(key="l_cost", header="cost", unit="USD", role="money", formula="=ROUND(ROUND([l_qty]*rate,8),2)"),
            Column(key="l_bad", header="bad", unit="0/1", role="check", formula="=IFERROR([l_qty]/[l_qty]-1,1)"),
            Column(key="l_err", header="share", formula="=1/[l_qty]"),
            Column(key="l_big", header="big?", formula="=[l_qty]>4"),
            Column(key="l_wide", header="set", formula="=[l_no]", width=33),
        ),
    )  # fmt: skip
    job = Block(
        title="Job",
        scalars=(
            Scalar(key="rate", label="rate", role="input", value=12.3456, unit="USD"),
            Scalar(key="day", label="day", role="input", value=dt.date(2026, 6, 15)),
            Scalar(key="open_yet", label="open", role="input", value=True),
            Scalar(key="nothing", label="nothing yet", role="input", note="may stay empty"),
            Scalar(key="master_text", label="state", formula='="Checks: "&SUM(l_bad)&" failed"'),
        ),
    )
    caution = Text(lines=("a word " * 50,), style="caution")
    return BookSpec(
        sheets=(
            Sheet(title="Job page", purpose="Inputs.", parts=(job, caution), landscape=False),
            Sheet(title="Lines", purpose="One row a line.", parts=(lines,), working=True),
            Sheet(title="Words", purpose="Words.", parts=(Text(lines=("hello", '="rate "&rate')),)),
        ),
        lists={"yes_no": ("yes", "no")},
    )  # fmt: skip


def written(spec, **properties):
    placed = layout(spec)
    stream = io.BytesIO()
    notes = write_xlsx(
        spec, placed, evaluate(spec, placed), stream, properties={"title": "Mill & Lane", **properties}, modified=WHEN
    )
    return stream.getvalue(), notes


@pytest.fixture(scope="module")
def file():
    return written(full_book())[0]


def test_every_cell_reads_back_with_formula_and_value(file):
    spec = full_book()
    placed = layout(spec)
    values = evaluate(spec, placed)
    formulas = openpyxl.load_workbook(io.BytesIO(file))
    shown = openpyxl.load_workbook(io.BytesIO(file), data_only=True)
    count = 0
    for cell in placed.cells():
        at = (cell.row, cell.col)
        read, seen = formulas[cell.sheet].cell(*at).value, shown[cell.sheet].cell(*at).value
        if cell.formula is not None:
            count += 1
            assert read == cell.formula
            assert seen == values[(cell.sheet, *at)]
        elif isinstance(cell.value, dt.date):
            assert seen.date() == cell.value
        else:
            assert seen == cell.value
    assert count == 6 * 4 + 1 + 1 + 3
    assert shown["Lines"]["G12"].value == "#DIV/0!"
    assert shown["Lines"]["H9"].value is False
    assert shown["Job page"]["A2"].value is None
    assert shown["Words"]["A2"].value == "Checks: 1 failed"


def test_the_same_content_gives_the_same_bytes(file):
    assert written(full_book())[0] == file
    with zipfile.ZipFile(io.BytesIO(file)) as archive:
        assert {entry.date_time for entry in archive.infolist()} == {(1980, 1, 1, 0, 0, 0)}
        core = archive.read("docProps/core.xml").decode()
    assert core.count("2026-06-15T12:00:00Z") == 2
    assert "Mill &amp; Lane" in core


def test_text_from_outside_stays_text(file):
    sheet = openpyxl.load_workbook(io.BytesIO(file))["Lines"]
    for address in ("B9", "B10"):
        assert sheet[address].data_type == "s"
        assert sheet[address].quotePrefix
    assert sheet["B11"].value == "it & <so>"
    assert not sheet["B11"].quotePrefix


@pytest.mark.parametrize(
    "text", ["=1", "+1", "-1", "@x", "\tx", "'x", "=cmd|' /C calc'!A0", " =x", "#N/A", "12", "TRUE"]
)
def test_no_text_ever_becomes_anything_else(text):
    raw, notes = written(
        book(block_of_text := Block(title="b", scalars=(Scalar(key="t", label="=t", role="input", value=text),)))
    )
    del block_of_text
    sheet = openpyxl.load_workbook(io.BytesIO(raw)).active
    assert (sheet["B6"].value, sheet["B6"].data_type, notes) == (text, "s", [])
    assert (sheet["A6"].value, sheet["A6"].data_type) == ("=t", "s")
    with zipfile.ZipFile(io.BytesIO(raw)) as archive:
        assert b"<f>" not in archive.read("xl/worksheets/sheet1.xml")


def test_characters_no_workbook_can_hold_are_left_out_and_reported():
    raw, notes = written(book(Block(title="b\x00", scalars=(Scalar(key="t", label="t", value="a\x07b\ud800c"),))))
    assert openpyxl.load_workbook(io.BytesIO(raw)).active["B6"].value == "abc"
    assert len(notes) == 1
    assert "Sheet!B6" in notes[0]


def test_inputs_are_open_and_everything_else_is_locked(file):
    book_read = openpyxl.load_workbook(io.BytesIO(file))
    open_cells = {
        (sheet.title, cell.coordinate)
        for sheet in book_read
        for row in sheet
        for cell in row
        if not cell.protection.locked
    }
    rows = range(9, 13)
    assert open_cells == {("Job page", f"B{n}") for n in (6, 7, 8, 9)} | {
        ("Lines", f"{c}{n}") for c in "BCD" for n in rows
    }
    for sheet in book_read:
        assert sheet.protection.sheet
        assert not sheet.protection.password
        assert not sheet.protection.formatColumns  # not forbidden
    fills = {book_read[sheet][at].fill.fgColor.rgb for sheet, at in open_cells}
    assert len(fills) == 1


def test_lists_prompts_names_and_print_settings(file):
    read = openpyxl.load_workbook(io.BytesIO(file))
    rules = {str(rule.sqref): rule for rule in read["Lines"].data_validations.dataValidation}
    assert rules["C9:C12"].formula1 == "yes_no"
    assert rules["C9:C12"].showErrorMessage
    assert rules["B9:B12"].prompt == "its name"
    assert {name: made.attr_text for name, made in read.defined_names.items()} == layout(full_book()).names
    lines = read["Lines"]
    assert lines.freeze_panes == "A8"
    assert lines.print_title_rows == "$6:$7"
    assert read["Job page"].freeze_panes is None
    for sheet in read:
        assert (sheet.page_setup.fitToWidth, sheet.page_setup.fitToHeight, sheet.page_setup.paperSize) == (1, 0, 1)
        assert sheet.sheet_properties.pageSetUpPr.fitToPage
        assert sheet.sheet_state == "visible"
    assert read["Job page"].page_setup.orientation == "portrait"
    assert lines.page_setup.orientation == "landscape"
    with zipfile.ZipFile(io.BytesIO(file)) as archive:
        xml = archive.read("xl/worksheets/sheet2.xml").decode()
        assert not [name for name in archive.namelist() if "external" in name.lower()]
        assert 'fullCalcOnLoad="1"' not in archive.read("xl/workbook.xml").decode()
    assert "<oddHeader>&amp;LMill &amp;&amp; Lane" in xml
    assert "page &amp;P of &amp;N" in xml
    assert "hyperlink" not in xml.replace("insertHyperlinks", "")


def test_only_checks_are_coloured_by_condition(file):
    read = openpyxl.load_workbook(io.BytesIO(file))
    assert [str(each.sqref) for each in read["Lines"].conditional_formatting] == ["F9:F12"]
    assert not list(read["Job page"].conditional_formatting)


def test_columns_are_as_wide_as_what_they_show(file):
    read = openpyxl.load_workbook(io.BytesIO(file))
    widths = {letter: dimension.width for letter, dimension in read["Lines"].column_dimensions.items()}
    assert read["Lines"]["E11"].number_format == "#,##0.00"
    assert widths["E"] >= len("123,456,000.00") + 1
    assert widths["B"] >= len("it & <so>")
    assert widths["I"] == 33
    job = read["Job page"]
    assert job.column_dimensions["B"].width >= len("2026-06-15") + 1
    assert job.row_dimensions[12].height >= 30  # the long caution, over the whole width
    assert [str(each) for each in job.merged_cells.ranges] == ["A12:D12"]
    assert not read["Lines"].merged_cells.ranges


def test_a_formula_without_a_value_is_refused():
    spec = full_book()
    placed = layout(spec)
    values = evaluate(spec, placed)
    del values["Lines", 10, 5]
    with pytest.raises(ValueError, match="Lines!E10 has a formula and no value"):
        write_xlsx(spec, placed, values, io.BytesIO(), properties={}, modified=WHEN)
    with pytest.raises(ValueError, match="'author' is unknown"):
        write_xlsx(spec, placed, values, io.BytesIO(), properties={"author": "x"}, modified=WHEN)


def test_charts_are_drawn_after_the_cells():
    from openpyxl.chart import BarChart, Reference

    def draw(ws, placed):
        _, row, col = placed.address("a")
        assert ws.cell(row, col).value == 1
        chart = BarChart()
        chart.add_data(Reference(ws, min_col=col, min_row=row, max_row=row + 2))
        ws.add_chart(chart, "D5")

    spec = book(table("t", 3, a=(1, 2, 3)), charts=(draw,))
    raw, _ = written(spec)
    assert len(openpyxl.load_workbook(io.BytesIO(raw)).active._charts) == 1
    assert raw == written(spec)[0]


def test_every_allowed_function_has_a_worked_answer():
    assert [name for name in FUNCTIONS if not any(f"{name}(" in formula for formula, _ in ANSWERS)] == []
