"""A file that proves itself: what a person may do passes, what was done behind its back is named."""

from __future__ import annotations

import itertools
from functools import lru_cache

import books
import handmade
import pytest
from again import WHEN, random_made
from click.testing import CliRunner
from tampered import named, tampered

from baybook.cli import main
from baybook.problems import BookError
from baybook.workbook.build import Made, make_workbook, spec_of
from baybook.workbook.compare import same_formula, same_value
from baybook.workbook.declare import column_letter
from baybook.workbook.due import due_cells
from baybook.workbook.evaluate import evaluate
from baybook.workbook.layouts import declared_keys, inputs_id, layout_id, with_values
from baybook.workbook.planned import plan_faults
from baybook.workbook.read import book_of
from baybook.workbook.redeclare import redeclare
from baybook.workbook.semantics import ErrorValue
from baybook.workbook.shape import shape_of
from baybook.workbook.verify import CUTTING, DRAWN, verified


@lru_cache(maxsize=2)
def made(kind: str = "plain") -> Made:
    """The worked deck; "stock": with offcuts on hand that its plan uses."""
    offcuts = [{"item": "gutter", "length": "7 ft 4 in", "quantity": 2, "location": "van"}] if kind == "stock" else []
    return make_workbook(books.estimate(stock=offcuts), WHEN)


@lru_cache(maxsize=2)
def read(kind: str = "plain"):
    return book_of(made(kind).data, "deck.xlsx")


def found(data):
    return verified(redeclare(book_of(data, "deck.xlsx"), WHEN))


def found_with(changes, book=None):
    """Verify the workbook with other contents in some cells."""
    return verified(redeclare(handmade.as_read(book or read(), changes), WHEN))


def place(key, row=0, kind="plain"):
    sheet, line, col = made(kind).layout.address(key, row)
    return sheet, f"{column_letter(col)}{line}"


# ------------------------------------------------------------------------------------------------ what is as it should


@pytest.mark.parametrize("seed", [11, 12])
def test_a_built_workbook_has_no_difference(seed):
    result = found(random_made(seed).data)
    assert result.differences == ()
    assert result.price == float(books.random_estimate(seed).totals.price)
    assert (result.plan, result.cells > 15_000) == ("the cut plan is current", True)


def test_the_declarations_are_what_the_writer_writes():
    # every cell of the file, headings and all, is one that the declarations know, and the other way round
    book = read("stock")
    due = due_cells(made("stock").layout, made("stock").values)
    held = {at: (value, book.formulas.get(at)) for at, value in book.values.items()}
    held |= {at: (book.values.get(at), formula) for at, formula in book.formulas.items()}
    assert held == {
        at: (one.value if one.value != "" else None, one.formula)
        for at, one in due.items()
        if one.formula is not None or one.value is not None
    }


def test_notes_blanks_and_a_person_s_own_sheets_are_no_difference():
    data = handmade.with_cells(handmade.rich(made().data), {place("log_note"): "called on Monday"})
    assert found(data).differences == ()


# ---------------------------------------------------------------------------------------------------------- tampering


@pytest.mark.parametrize("number", range(10))
def test_a_tampered_cell_is_named(number):
    kind, cell, change = next(itertools.islice(tampered(made("stock"), 1), number, None))
    said = [str(one) for one in found_with(change, read("stock")).differences]
    assert any(named(cell, line) for line in said), (kind, cell, said[:3])


def test_what_is_said_of_a_tampered_total():
    sheet, cell = place("total_price")
    formula = made().layout.declaration("total_price").formula
    price = made().values[made().layout.address("total_price")]
    (one,) = found_with({(sheet, cell): (formula, 100.0)}).differences
    assert str(one) == f"{sheet}!{cell} (price, tax included): the file has 100, it should be {price:.2f}"


def test_a_formula_replaced_by_its_own_number():
    sheet, cell = place("sum_goods")
    value = made().values[made().layout.address("sum_goods")]
    (one,) = found_with({(sheet, cell): value}).differences
    assert (
        str(one) == f"{sheet}!{cell} (goods): the file has {value:.2f}, its formula is =ROUND(ROUND(SUM(i_cost),8),2)"
    )


def test_a_price_changed_without_calculating_is_named_by_what_reads_it():
    sheet, cell = place("v_pack_price", 1)
    said = [str(one) for one in found_with({(sheet, cell): 1.0}).differences]
    assert any(line.endswith(f"it reads {sheet}!{cell} = 1") for line in said)


def test_a_size_the_program_knows_itself_is_named():
    sheet, cell = place("size_code", 3)
    said = [str(one) for one in found_with({(sheet, cell): "3x4 or so"}).differences]
    assert any(named(f"{sheet}!{cell}", line) for line in said), said[:3]


def test_text_where_a_number_belongs():
    sheet, cell = place("a_width")
    said = [str(one) for one in found_with({(sheet, cell): "16 ft"}).differences]
    assert said == [f'{sheet}!{cell} (width): the file has "16 ft", it should be 16']


def test_more_pieces_cut_than_planned_in_a_plan_that_is_out_of_date():
    # the inputs moved and were calculated, so nothing but the plan itself can say what is wrong with it
    base = made("stock")
    values = evaluate(base.spec, base.layout, {("a_width", 0): 17.0})
    cells = {
        (cell.sheet, f"{column_letter(cell.col)}{cell.row}"): (cell.formula, values[cell.sheet, cell.row, cell.col])
        for cell in base.layout.formulas()
    }
    data = handmade.with_cells(base.data, cells | {place("a_width", kind="stock"): 17.0})
    book = book_of(data, "deck.xlsx")
    result = found_with({}, book)
    assert result.differences == ()
    assert result.plan == "the cut plan is out of date: a safe count is priced"
    for key, words in (
        ("pat_times", "pieces of"),
        ("u_plan", "stock pieces of"),
        ("cut_cost", "the plan's stock costs"),
        ("pat_rest", "in are left over of"),
        ("t_planned", "pieces were planned, by length they are"),
        ("cut_bound", "no plan is under"),
        ("r_plan_used", "stock pieces of"),
    ):
        row = next(row for row in range(book.names[key].rows) if book.at(key, row))
        changed = handmade.as_read(book, {place(key, row, "stock"): book.at(key, row) + 1})
        said = [str(one) for one in plan_faults(changed, shape_of(books.estimate()), values)]
        cell = "!".join(place(key, row, "stock"))
        assert any(cell in line and words in line for line in said), (key, said)
    said = found_with({place("cut_cost", kind="stock"): 1.0}, book).differences
    assert any("the plan's stock costs" in str(one) for one in said)


def test_an_equally_cheap_plan_is_no_difference():
    # another order of the same cutting, as another solver might say it
    book = read()
    rows = [row for row in range(book.names["pat_item"].rows) if book.at("pat_item", row)]
    first, last = rows[0], rows[-1]
    assert book.at("pat_item", first) != book.at("pat_item", last)
    keys = [key for key in made().layout.names if key.startswith("pat_")]
    swap = {place(key, first): book.at(key, last) for key in keys} | {
        place(key, last): book.at(key, first) for key in keys
    }
    assert found_with(swap).differences == ()


# ------------------------------------------------------------------------------------------------------- the command


def run(path):
    return CliRunner().invoke(main, ["verify", str(path)], catch_exceptions=False)


def test_exit_status(tmp_path):
    path = tmp_path / "deck.xlsx"
    path.write_bytes(made().data)
    done = run(path)
    assert (done.exit_code, done.stdout) == (0, "")
    assert "0 differ; price " in done.stderr
    path.write_bytes(handmade.with_cells(made().data, {place("total_price"): 1.0}))
    done = run(path)
    assert done.exit_code == 3
    assert done.stdout.startswith("!".join(place("total_price")))
    path.write_bytes(handmade.with_cells(made().data, {place("a_width"): None}))
    done = run(path)
    assert (done.exit_code, done.stdout) == (1, "")
    assert done.stderr.startswith(f"deck.xlsx: {'!'.join(place('a_width'))} width: is empty")
    assert run(tmp_path / "none.xlsx").exit_code == 1


# --------------------------------------------------------------------------------------------------------- comparing


def test_formulas_but_for_what_programs_write_otherwise():
    assert same_formula("='Areas'!A8&\"'a b'!\"", "= Areas!A8 & \"'a b'!\"")
    assert same_formula("='Work areas'!A1", "='Work areas'!A1")
    assert not same_formula("=A1", "=A2")
    assert not same_formula('="a b"', '="ab"')
    assert not same_formula("=1", None)


@pytest.mark.parametrize(
    ("left", "right", "same"),
    [
        (1.0, 1.0 + 1e-12, True),
        (1.0, 1.0 + 1e-8, False),
        (None, "", True),
        (0.0, None, False),
        ("a ", "a", True),
        ("a", "A", False),
        (ErrorValue("#N/A"), ErrorValue("#VALUE!"), True),
        (ErrorValue("#N/A"), 0.0, False),
        (True, 1.0, True),
        (1_002_304_006_001.0, 1_002_304_007_001.0, False),  # a key to sort by: another rank
        (1_002_304_006_001.5, 1_002_304_006_001.25, True),
    ],
)
def test_values_but_for_the_last_digits(left, right, same):
    assert same_value(left, right) is same


# ------------------------------------------------------------------------------------------------------ declarations


def test_whatever_the_engine_states_says_so():
    # two jobs in workbooks of one shape: what differs is an input, a formula's value, or of a stated origin
    plain = books.estimate()
    shape = shape_of(plain)
    others = (
        {"area": {"width": "17 ft", "height": "10 ft", "borders": 1, "gutter_side": "ledger"}},
        {"job": {"rainfall": "9 in/h", "overhead": "10", "profit": "12"}, "rates": {"crew": 3, "leader_size": "3x4"}},
        {"liner": {"drape_in": 3}, "framing": [{"kind": "blocking", "y": "6 ft"}]},
    )
    ours = {one.key: one for one in declared_keys(spec_of(plain, WHEN, shape))}
    for changes in others:
        for one in declared_keys(spec_of(books.estimate(**changes), WHEN, shape)):
            held = ours[one.key]
            assert one.formula == held.formula
            if one.role != "input" and not one.origin:
                assert getattr(one, "values", None) == getattr(held, "values", None), one.key
                assert getattr(one, "value", None) == getattr(held, "value", None), one.key


def test_every_column_of_the_cut_plan_is_known_as_one():
    plan = {one.key for one in declared_keys(made().spec) if one.origin == "plan"}
    assert plan >= CUTTING
    others = {key for key in plan - CUTTING if not key.startswith(DRAWN)}
    drawings = ("oa_", "sg_", "gs_", "rib_", "fo_", "dr_", "ms_")
    assert all(key.startswith(("dec_", *drawings)) or key == "inputs_id" for key in others)


def test_marks_of_layout_and_inputs():
    base = made().spec
    assert layout_id(base) == layout_id(random_made(11).spec)
    changed = with_values(base, {"a_width": [16.5]})
    assert inputs_id(changed) != inputs_id(base)
    assert inputs_id(with_values(base, {"log_note": ["x"], "u_plan": [1]})) == inputs_id(base)
    assert layout_id(changed) == layout_id(base)


def test_verify_needs_inputs_it_can_read():
    with pytest.raises(BookError, match="spacing"):
        found_with({place("a_spacing"): 24.0})


@pytest.mark.parametrize(
    "key", ["u_plan16", "u_plan_price", "r_plan_value", "r_plan16", "n_plan", "t_planned", "pat_where"]
)
def test_what_the_plan_was_made_for_is_named_while_the_inputs_stand(key):
    last = made("stock").layout.count(key) - 1
    new = "elsewhere" if key == "pat_where" else 777.0
    cells = [place(key, row, "stock") for row in (0, last)]  # one in use, one spare
    said = [str(one) for one in found_with(dict.fromkeys(cells, new), read("stock")).differences]
    assert all(any(named("!".join(cell), line) for line in said) for cell in cells), said[:3]


@pytest.mark.parametrize("seed", [12, 19])
def test_no_text_of_a_formula_begins_or_ends_with_a_space(seed):
    # LibreOffice drops it from the stored text, and then works on without it
    values = random_made(seed).values
    assert {value for value in values.values() if isinstance(value, str) and value != value.strip()} == set()
