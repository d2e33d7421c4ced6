"""Workbooks brought up to date in place: our cells as a fresh build has them, everything else as it was."""

from __future__ import annotations

import datetime as dt
import errno
import io
import re
import warnings
from functools import lru_cache

import books
import faults
import handmade
import kills
import openpyxl
import pytest
from click.testing import CliRunner

from baybook.cli import main
from baybook.files import write
from baybook.problems import BookError
from baybook.workbook import refresh as refreshing
from baybook.workbook.build import Made, make_workbook
from baybook.workbook.declare import column_letter
from baybook.workbook.due import Held
from baybook.workbook.given import given_in
from baybook.workbook.patch import patched_sheet, without_values
from baybook.workbook.read import book_of, read_workbook
from baybook.workbook.redeclare import redeclare
from baybook.workbook.refresh import refresh_workbook, refreshed
from baybook.workbook.sheetxml import scan_sheet
from baybook.workbook.verify import verified

MADE = dt.datetime(2026, 6, 15, 12, 0)  # noqa: DTZ001  the file holds no zone
LATER = dt.datetime(2026, 7, 1, 9, 30)  # noqa: DTZ001  the same


@lru_cache(maxsize=1)
def made() -> Made:
    """Two areas, an override, a line of its own."""
    return make_workbook(
        books.estimate(
            areas=[{"area": "main"}, {"area": "side", "width": "8 ft", "projection": "10 ft"}],
            extras=[{"description": "lift hire", "quantity": 2, "unit_cost": "145.00", "kind": "other"}],
            overrides=[{"item": "strap", "quantity": 9, "note": "as counted"}],
        ),
        MADE,
    )


def place(key, row=0):
    sheet, line, col = made().layout.address(key, row)
    return sheet, f"{column_letter(col)}{line}"


def with_inputs(changes, data=None):
    """Change inputs, named by (key, row), and leave every stored value as it is."""
    return handmade.with_cells(data or made().data, {place(key, row): value for (key, row), value in changes.items()})


WIDER = {("a_width", 0): 18.0}


@lru_cache(maxsize=1)
def wider():
    """A workbook whose width a person changed without calculating, and the refreshed one."""
    data = handmade.rich(with_inputs(WIDER))
    return data, refreshed(book_of(data, "deck.xlsx"), LATER).data


def price(data):
    return book_of(data, "deck.xlsx").at("quote_price")


def lists(data, key):
    book = book_of(data, "deck.xlsx")
    return [book.at(key, row) for row in range(book.names[key].rows)]


# ------------------------------------------------------------------------------------------------- what it becomes


def test_totals_are_those_of_a_fresh_build():
    data, new = wider()
    fresh = make_workbook(given_in(book_of(data, "deck.xlsx")).estimate(), LATER)
    theirs, ours = book_of(new, "deck.xlsx"), book_of(fresh.data, "fresh.xlsx")
    for key in (
        "total_materials",
        "total_labour",
        "total_price",
        "quote_price",
        "bays_listed",
        "flow_gpm",
        "plan_words",
    ):
        assert theirs.at(key) == ours.at(key), key
    assert theirs.at("total_price") > price(made().data)
    assert lists(new, "i_cost")[:5] == [ours.at("i_cost", row) for row in range(5)]
    assert theirs.at("plans_stale") == 0


def test_everything_else_is_byte_for_byte_the_same():
    data, new = wider()
    before, after = handmade.parts_of(data), handmade.parts_of(new)
    assert list(before) == list(after)
    ours = {handmade.part_of(data, sheet.title) for sheet in made().layout.sheets}
    mine = handmade.part_of(data, "Mine")
    changed = {name for name in before if before[name] != after[name]}
    assert changed <= ours | {mine}
    # of a person's own sheet only the values beside formulas are gone: two of them hang on ours
    assert (
        before[mine].replace(b"<v>1.0</v>", b"").replace(b"<v>2.0</v>", b"").replace(b"<v>7.0</v>", b"") == after[mine]
    )
    assert handmade.part_of(data, "Apart") not in changed


def test_it_opens_in_openpyxl_with_values_beside_the_formulas():
    _, new = wider()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # it says that it cannot keep sparklines
        formulas, values = (openpyxl.load_workbook(io.BytesIO(new), data_only=flag) for flag in (False, True))
    sheet, cell = place("total_price")
    assert formulas[sheet][cell].value.startswith("=ROUND(")
    assert values[sheet][cell].value == price(new)
    assert formulas["Mine"]["B2"].comment.text == "as Ann counted it"
    assert formulas["Mine"]["B2"].value == "=quote_price"
    assert values["Mine"]["B2"].value is None


def test_a_refreshed_workbook_verifies_and_has_nothing_left_to_do():
    _, new = wider()
    book = book_of(new, "deck.xlsx")
    assert verified(redeclare(book, LATER)).differences == ()
    again = refreshed(book, LATER)
    assert (again.cells, again.data) == ((), new)


def test_the_log_gets_a_line():
    data, new = wider()
    assert lists(new, "log_when")[:3] == ["2026-06-15 12:00", "2026-07-01 09:30", None]
    assert lists(new, "log_what")[:2] == ["built", "refreshed"]
    assert lists(new, "log_version")[1].startswith("baybook ")
    assert (lists(new, "log_before")[1], lists(new, "log_price")[1]) == (price(data), price(new))


def test_a_full_log_keeps_its_first_line_and_the_last():
    rows = len(lists(made().data, "log_when"))
    full = {("log_when", row): f"line {row}" for row in range(1, rows)}
    full |= {("log_note", 2): "note of line 2", ("log_note", 1): "goes"}
    new = refreshed(book_of(with_inputs(WIDER | full), "deck.xlsx"), LATER).data
    assert lists(new, "log_when") == [
        "2026-06-15 12:00",
        *(f"line {row}" for row in range(2, rows)),
        "2026-07-01 09:30",
    ]
    assert lists(new, "log_note")[:2] == [None, "note of line 2"]


def test_overrides_and_lines_added_by_hand_stay_and_count():
    added = {
        ("e_description", 2): "skip hire",  # a row left blank before it
        ("e_quantity", 2): 1.0,
        ("e_unit_cost", 2): 200.0,
        ("e_kind", 2): "other",
        ("h_item", 4): "splash_block",
        ("h_quantity", 4): 5.0,
    }
    book = book_of(refreshed(book_of(with_inputs(added), "deck.xlsx"), LATER).data, "deck.xlsx")
    assert [book.at("e_description", row) for row in range(3)] == ["lift hire", None, "skip hire"]
    # 2 x 145 and 1 x 200
    assert book.at("total_other") == 490.0
    assert (book.at("h_item", 4), book.at("h_quantity", 4), book.at("h_note", 0)) == ("splash_block", 5.0, "as counted")
    items = [book.at("i_title", row) for row in range(book.names["i_title"].rows)]
    net = {item: book.at("i_net", row) for row, item in enumerate(items)}
    assert (net["splash block"], net["leader strap"]) == (5.0, 9.0)


def test_a_row_left_blank_between_areas():
    cells = ("area", "width", "projection", "spacing", "joist", "height", "liner")
    book = book_of(made().data, "deck.xlsx")
    moved = {(f"a_{name}", 2): book.at(f"a_{name}", 1) for name in cells}
    gone = {(f"a_{name}", 1): None for name in cells}
    new = book_of(refreshed(book_of(with_inputs(moved | gone), "deck.xlsx"), LATER).data, "deck.xlsx")
    assert [new.at("a_area", row) for row in range(3)] == ["main", None, "side"]
    assert new.at("total_price") == price(made().data)
    assert verified(redeclare(new, LATER)).differences == ()


def test_another_liner_record_than_the_first():
    names = [key.removeprefix("l_") for key in made().layout.names if key.startswith("l_")]
    book = book_of(made().data, "deck.xlsx")
    second = {(f"l_{name}", 1): book.at(f"l_{name}", 0) for name in names} | {("l_liner", 1): "mat"}
    second |= {("a_liner", 0): "mat", ("a_liner", 1): "mat"}
    new = book_of(refreshed(book_of(with_inputs(second), "deck.xlsx"), LATER).data, "deck.xlsx")
    assert new.at("total_price") == price(made().data)  # the same figures under another name
    assert (new.at("t_planned", 0), new.at("t_planned", 1)) == (0.0, book.at("t_planned", 0))
    assert verified(redeclare(new, LATER)).differences == ()


# --------------------------------------------------------------------------------------------------- what people typed


def test_text_that_says_a_number_becomes_it():
    typed = {("a_width", 0): "18 ft", ("job_tax_rate", 0): "8.25%", ("a_joist", 1): "2 x 8", ("h_item", 0): "Strap "}
    result = refreshed(book_of(with_inputs(typed), "deck.xlsx"), LATER)
    book = book_of(result.data, "deck.xlsx")
    assert (book.at("a_width"), book.at("job_tax_rate"), book.at("a_joist", 1)) == (18.0, 0.0825, "2x8")
    assert book.at("h_item") == "Strap"
    assert {f"{one.address[0]}!{column_letter(one.address[2])}{one.address[1]}" for one in result.mended} == {
        "!".join(place(key, row)) for key, row in typed
    }
    plain = with_inputs({("a_width", 0): 18.0, ("job_tax_rate", 0): 0.0825, ("a_joist", 1): "2x8"})
    assert price(result.data) == price(refreshed(book_of(plain, "deck.xlsx"), LATER).data)


def test_depth_of_other_lumber_moves_to_its_column():
    book = book_of(refreshed(book_of(with_inputs({("a_joist", 0): "9-1/2 in"}), "deck.xlsx"), LATER).data, "deck.xlsx")
    assert (book.at("a_joist"), book.at("a_joist_depth"), book.at("w_depth")) == (None, 9.5, 9.5)


def test_a_formula_typed_in_an_input_stays():
    data = with_inputs({("a_width", 0): ("=14+4", 18.0)})
    new = refreshed(book_of(data, "deck.xlsx"), LATER).data
    sheet, line, col = made().layout.address("a_width")
    assert book_of(new, "deck.xlsx").formulas[sheet, line, col] == "=14+4"
    assert price(new) == price(wider()[1])
    with pytest.raises(BookError, match="its formula gives the text '18 ft'; let it give a number"):
        refreshed(book_of(with_inputs({("a_width", 0): ('=18&" ft"', "18 ft")}), "deck.xlsx"), LATER)


def test_input_spelt_otherwise_is_left_alone():
    same = {("a_layout", 0): "Left", ("job_currency", 0): "usd", ("a_joist", 0): "2X10"}
    data = with_inputs(same)
    result = refreshed(book_of(data, "deck.xlsx"), LATER)
    assert result.mended == ()
    assert book_of(result.data, "deck.xlsx").at("a_layout") == "Left"


# ------------------------------------------------------------------------------------------------- other people's cells


def test_values_that_hang_on_ours_by_a_name_or_another_sheet_are_taken_away():
    def row(cell, formula, value):
        return f'<row r="1">{handmade.cell_xml(cell, "", (formula, value))}</row>'

    data = handmade.with_sheet(with_inputs(WIDER), "Near", row("A1", "budget-1", 5.0))
    data = handmade.with_sheet(data, "Far away", row("A1", "Near!A1*2", 10.0))
    data = handmade.with_sheet(data, "Anywhere", row("A1", 'INDIRECT("x")', 11.0))
    data = handmade.with_sheet(data, "Alone", row("A1", "SUM(1,2)", 3.0))
    sheet, cell = place("total_price")
    named = f"<definedName name=\"budget\">'{sheet}'!${cell[0]}${cell[1:]}</definedName></definedNames>".encode()
    data = handmade.with_parts(data, {"xl/workbook.xml": lambda xml: xml.replace(b"</definedNames>", named)})
    new = book_of(refreshed(book_of(data, "deck.xlsx"), LATER).data, "deck.xlsx")
    values = {title: new.values.get((title, 1, 1)) for title in ("Near", "Far away", "Anywhere", "Alone")}
    assert values == {"Near": None, "Far away": None, "Anywhere": None, "Alone": 3.0}
    assert new.formulas["Far away", 1, 1] == "=Near!A1*2"


def test_a_note_beside_ours_stays_and_a_formula_there_loses_its_value():
    part = handmade.part_of(made().data, "Estimate")

    def noted(xml):
        cells = handmade.cell_xml("X7", "", "mind the stairs") + handmade.cell_xml("Y7", "", ("total_price*2", 1.0))
        return re.sub(rb'(<row r="7"[^>]*>.*?)</row>', rb"\1" + cells.encode() + b"</row>", xml, count=1)

    new = book_of(
        refreshed(book_of(handmade.with_parts(with_inputs(WIDER), {part: noted}), "deck.xlsx"), LATER).data, "d"
    )
    assert new.values["Estimate", 7, 24] == "mind the stairs"
    assert new.formulas["Estimate", 7, 25] == "=total_price*2"
    assert ("Estimate", 7, 25) not in new.values


def test_shared_formulas_and_renumbered_styles_stay():
    # as another program writes a column of one formula: once, and shared down
    part = handmade.part_of(made().data, "Work areas")
    first, second = (place("w_no", row)[1] for row in (0, 1))

    def shared(xml):
        xml = re.sub(
            rf'(<c r="{first}" s=")\d+("><f)>'.encode(),
            rf'\g<1>7\2 t="shared" si="4" ref="{first}:{second}">'.encode(),
            xml,
        )
        return re.sub(rf'(<c r="{second}"[^>]*>)<f>[^<]*</f>'.encode(), rb'\1<f t="shared" si="4"/>', xml)

    data = handmade.with_parts(with_inputs(WIDER), {part: shared})
    before, after = (
        book_of(held, "d").scans["Work areas"] for held in (data, refreshed(book_of(data, "d"), LATER).data)
    )
    for cell in (first, second):
        at = made().layout.address("w_no", 0 if cell == first else 1)[1:]
        old, new = before.cells[at], after.cells[at]
        assert (new.formula, new.shared, new.style) == (old.formula, "4", old.style)
        assert before.xml[old.start : old.end] == after.xml[new.start : new.end]


# --------------------------------------------------------------------------------------------------------- refusals


def refused(data):
    with pytest.raises(BookError) as found:
        refreshed(book_of(data, "deck.xlsx"), LATER)
    return str(found.value)


def with_names(change, data=None):
    return handmade.with_parts(data or made().data, {"xl/workbook.xml": change})


def test_a_renamed_sheet():
    # as a program does it: the names follow
    def renamed(xml):
        return xml.replace(b'name="Areas"', b'name="Decks"').replace(b"'Areas'!", b"'Decks'!")

    said = refused(with_names(renamed))
    assert re.match(
        r"deck.xlsx: Areas![A-Z]+\d+:[A-Z]+\d+: the sheet Areas is now called Decks; undo that, or baybook export", said
    )


def test_a_deleted_input_row():
    # as a program does it: the names of the rows below move up, those of the table lose a row
    def deleted(xml):
        return re.sub(rb"('Areas'!\$[A-Z]+\$8:\$[A-Z]+\$)11\b", rb"\g<1>10", xml)

    assert b"$8:$A$11" in handmade.parts_of(made().data)["xl/workbook.xml"]
    assert refused(with_names(deleted)) == (
        "deck.xlsx: Areas!A8:A11: a_area stands at Areas!A8:A10: rows, columns or cells of the sheet Areas were "
        "inserted, deleted or moved; undo that, or baybook export, then baybook build"
    )


def test_a_deleted_column():
    def deleted(xml):
        return re.sub(rb'(<definedName name="a_width">)[^<]*', rb"\1#REF!", xml)

    said = refused(with_names(deleted))
    # the input is missing before the place is looked at
    assert said.startswith("deck.xlsx: ")
    assert "width" in said


def test_a_name_that_tells_the_size_of_a_table_is_gone():
    said = refused(with_names(lambda xml: re.sub(rb'<definedName name="pat_item">[^<]*</definedName>', b"", xml)))
    assert "the name pat_item is missing" in said


def test_another_layout():
    sheet, cell = place("layout_id")
    said = refused(handmade.with_cells(made().data, {(sheet, cell): "0123abcd"}))
    assert said.startswith("deck.xlsx: was made by a version of this program that lays workbooks out otherwise: ")
    assert "baybook export, then baybook build" in said


def test_a_plan_that_no_longer_fits():
    # spacing 4 in over 80 ft: many more bays than the table has rows
    said = refused(with_inputs({("a_width", 0): 60.0, ("a_spacing", 0): 8.0}))
    assert re.search(r"there are \d+ bays, the workbook has room for \d+: baybook export, then baybook build", said)


def test_an_input_the_rules_refuse_is_named_by_cell():
    sheet, cell = place("a_spacing")
    assert refused(with_inputs({("a_spacing", 0): 24.0})).startswith(f"deck.xlsx: {sheet}!{cell} spacing: ")


# ------------------------------------------------------------------------------------------------------- the file


@pytest.fixture
def file(tmp_path, monkeypatch):
    path = tmp_path / "deck.xlsx"
    path.write_bytes(with_inputs(WIDER))
    monkeypatch.setattr(write, "_now", lambda: "2026-07-01 093000")
    return path


def run(*arguments):
    return CliRunner().invoke(main, ["refresh", *map(str, arguments)], catch_exceptions=False)


def test_the_old_file_is_kept_beside_the_new(file):
    before = file.read_bytes()
    done = run(file)
    assert done.exit_code == 0, done.stderr
    assert sorted(path.name for path in file.parent.iterdir()) == ["deck before 2026-07-01 093000.xlsx", "deck.xlsx"]
    assert (file.parent / "deck before 2026-07-01 093000.xlsx").read_bytes() == before
    assert "Estimate, price, tax included: " in done.stdout
    assert done.stderr.strip().endswith("the file as it was is deck before 2026-07-01 093000.xlsx")
    again = run(file)
    assert (again.exit_code, again.stdout, again.stderr) == (0, "", "up to date; nothing was written\n")


def test_a_dry_run_only_tells(file):
    before = file.read_bytes()
    done = run(file, "--dry-run")
    assert done.exit_code == 0
    assert "Estimate, price, tax included: " in done.stdout
    assert "nothing was written" in done.stderr
    assert [path.name for path in file.parent.iterdir()] == ["deck.xlsx"]
    assert file.read_bytes() == before


@pytest.mark.parametrize("status", ["won", "done"])
def test_a_settled_job_needs_force(file, status):
    file.write_bytes(with_inputs({("job_status", 0): status} | WIDER))
    done = run(file)
    assert (done.exit_code, done.stdout) == (1, "")
    assert f"deck.xlsx: the job is {status}; --force refreshes it all the same" in done.stderr
    assert [path.name for path in file.parent.iterdir()] == ["deck.xlsx"]
    if status == "won":
        assert run(file, "--force").exit_code == 0


def test_one_that_is_open_elsewhere_is_left(file):
    (file.parent / ".~lock.deck.xlsx#").write_text(
        "Ann Miller,ann,office-2,01.07.2026 07:05,file:///x;", encoding="utf-8"
    )
    done = run(file)
    assert done.exit_code == 1
    assert "deck.xlsx: is open elsewhere (" in done.stderr
    assert "Ann Miller" in done.stderr


def test_one_that_was_saved_meanwhile_is_left(file, monkeypatch):
    real = refreshing.refreshed

    def slow(book, when):
        file.write_bytes(with_inputs({("a_width", 0): 20.0}))
        return real(book, when)

    monkeypatch.setattr(refreshing, "refreshed", slow)
    with pytest.raises(BookError, match="was saved by somebody meanwhile"):
        refresh_workbook(file, LATER)
    assert read_workbook(file).at("a_width") == 20.0


@pytest.mark.parametrize("code", [errno.ENOSPC, errno.EACCES])
def test_whatever_fails_the_old_or_the_new_workbook_stands(file, monkeypatch, code):
    book = read_workbook(file)
    result = refreshed(book, LATER)
    monkeypatch.setattr(refreshing, "refreshed", lambda *_: result)  # what takes time and touches no disk
    monkeypatch.setattr(refreshing, "read_workbook", lambda _: book)
    monkeypatch.setattr(refreshing, "check_workbook", lambda path: path.read_bytes())
    failed, saved = faults.fail_every_step(lambda: refresh_workbook(file, LATER), file.parent, code)
    assert failed >= 10
    assert failed + saved >= 15


def test_a_killed_refresh_leaves_the_old_or_the_new_workbook(tmp_path):
    # killed at a moment of no choice; more of them in tests/long/workbooks_again.py
    found = kills.kill_refreshes(tmp_path, *wider(), 8, seed=7)
    assert sum(found.values()) == 8


# ---------------------------------------------------------------------------------------------------------- patching


def patched(rows, cells, head="<sheetData>", tail="</sheetData>"):
    xml = f'<worksheet xmlns="{handmade.MAIN}">{head}{rows}{tail}<x/></worksheet>'.encode()
    new = patched_sheet(scan_sheet(xml, ("one",)), cells)
    return new.decode().split("<worksheet", 1)[1].split(">", 1)[1].removesuffix("<x/></worksheet>"), scan_sheet(
        new, ("one",)
    )


def test_values_of_every_kind():
    rows = '<row r="1">' + "".join(f'<c r="{letter}1" s="2" t="s"><v>0</v></c>' for letter in "ABCDE") + "</row>"
    text, scan = patched(
        rows,
        {
            (1, 1): Held(1.5),
            (1, 2): Held('a<"&é'),
            (1, 3): Held(value=True),
            (1, 4): Held(None),
            (1, 5): Held("", '=""'),
        },
    )
    assert text == (
        '<sheetData><row r="1"><c r="A1" s="2"><v>1.5</v></c><c r="B1" s="2" t="inlineStr"><is><t xml:space="preserve">'
        'a&lt;"&amp;&#233;</t></is></c><c r="C1" s="2" t="b"><v>1</v></c><c r="D1" s="2"/>'
        '<c r="E1" s="2" t="str"><f>""</f><v></v></c></row></sheetData>'
    )
    assert scan.cells[1, 2].value == 'a<"&é'


def test_cells_the_file_does_not_have():
    rows = '<row r="2" ht="15"><c r="B2" s="4"><v>1</v></c><c r="D2"/></row><row r="5"/>'
    text, scan = patched(
        rows, {(2, 1): Held(1.0), (2, 3): Held(2.0), (2, 9): Held(3.0), (3, 2): Held(4.0), (5, 2): Held(5.0),
               (7, 1): Held(6.0), (8, 8): Held(None)}
    )  # fmt: skip
    assert text == (
        '<sheetData><row r="2" ht="15"><c r="A2"><v>1</v></c><c r="B2" s="4"><v>1</v></c><c r="C2"><v>2</v></c>'
        '<c r="D2"/>'
        '<c r="I2"><v>3</v></c></row><row r="3"><c r="B3" s="4"><v>4</v></c></row><row r="5"><c r="B5"><v>5</v>'
        "</c></row>"
        '<row r="7"><c r="A7"><v>6</v></c></row></sheetData>'
    )
    assert scan.cells[5, 2].value == 5.0
    assert patched("", {(1, 1): Held(1.0)}, "<sheetData/>", "")[0] == (
        '<sheetData><row r="1"><c r="A1"><v>1</v></c></row></sheetData>'
    )


def test_a_formula_of_a_shared_group_is_replaced():
    rows = (
        '<row r="1"><c r="A1"><f t="shared" ref="A1:A3" si="0">B1*2</f><v>1</v></c></row><row r="2"><c r="A2">'
        '<f t="shared" '
        'si="0"/><v>2</v></c></row><row r="3"><c r="A3"><f t="shared" si="0"/><v>3</v></c></row>'
        '<row r="4"><c r="A4"><f t="shared" ref="A4:A5" si="1">B4</f><v>4</v></c></row>'
    )
    _, scan = patched(rows, {(1, 1): Held(7.0), (2, 1): Held(8.0, "=B2*2"), (4, 1): Held(9.0, "=B4")})
    held = {
        row: (scan.cells[row, 1].formula, scan.cells[row, 1].shared, scan.cells[row, 1].value) for row in (1, 2, 3, 4)
    }
    assert held == {1: (None, "", 7.0), 2: ("=B2*2", "", 8.0), 3: ("=B3*2", "", 3.0), 4: ("=B4", "1", 9.0)}


def test_a_formula_that_stays_keeps_its_bytes():
    text, _ = patched(
        '<row r="1"><c r="A1" t="str"><f aca="false">B1&amp;"é"</f><v>x</v></c></row>', {(1, 1): Held(2.0, '=B1&"é"')}
    )
    assert '<f aca="false">B1&amp;"é"</f><v>2</v>' in text


def test_values_taken_away():
    xml = (
        f'<worksheet xmlns="{handmade.MAIN}"><sheetData><row r="1"><c r="A1" s="1" t="str"><f>x</f><v>t</v></c>'
        '<c r="B1"><f>y</f><v>1</v></c><c r="C1"><v>2</v></c></row></sheetData></worksheet>'
    ).encode()
    new = without_values(scan_sheet(xml, ()), [(1, 1), (1, 2)])
    assert b'<c r="A1" s="1"><f>x</f></c><c r="B1"><f>y</f></c><c r="C1"><v>2</v></c>' in new
