"""Workbooks that a person worked on in LibreOffice, brought up to date, and opened there again."""

from __future__ import annotations

import datetime as dt
import io
import re
from functools import lru_cache

import books
import handmade
import openpyxl
import pytest
from live.programs import compare, needs, shared_calc

from baybook.problems import BookError
from baybook.workbook.build import Made, make_workbook
from baybook.workbook.declare import column_letter
from baybook.workbook.given import given_in
from baybook.workbook.read import book_of, read_workbook
from baybook.workbook.redeclare import redeclare
from baybook.workbook.refresh import refreshed
from baybook.workbook.verify import verified

pytestmark = pytest.mark.live
MADE = dt.datetime(2026, 6, 15, 12, 0)  # noqa: DTZ001  the file holds no zone
LATER = dt.datetime(2026, 7, 1, 9, 30)  # noqa: DTZ001  the same


@lru_cache(maxsize=1)
def made() -> Made:
    return make_workbook(
        books.estimate(
            areas=[{"area": "main"}, {"area": "side", "width": "8 ft", "projection": "10 ft"}],
            extras=[{"description": "lift hire", "quantity": 2, "unit_cost": "145.00", "kind": "other"}],
        ),
        MADE,
    )


def place(key, row=0):
    sheet, line, col = made().layout.address(key, row)
    return sheet, f"{column_letter(col)}{line}"


@pytest.fixture
def calc(tmp_path):
    needs("soffice")
    needs("uno")
    path = tmp_path / "deck.xlsx"
    path.write_bytes(handmade.rich(made().data))
    lent = shared_calc()
    lent.open(path)
    yield lent
    lent.close()


def saved(calc, tmp_path):
    path = tmp_path / "saved.xlsx"
    calc.recalculate()
    calc.save_as(path)
    return path


def opened(path):
    """Return what LibreOffice shows of a file, and the cells that show something else once all is calculated."""

    def trimmed():  # LibreOffice drops spaces at the end of a stored text
        return {at: value.rstrip() if isinstance(value, str) else value for at, value in calc.read_all().items()}

    calc = shared_calc()
    calc.open(path)
    shown = trimmed()
    calc.recalculate(hard=True)
    return shown, compare(shown, trimmed())


def our_parts(book):
    return {book.parts[sheet.title] for sheet in made().layout.sheets}


@pytest.mark.filterwarnings("ignore:Sparkline Group")
def test_a_book_worked_on_in_libreoffice(calc, tmp_path):
    width, note = place("a_width"), place("a_height")
    calc.set(*width, 18.0)
    for key, value in (
        ("e_description", "skip hire"),
        ("e_quantity", 1.0),
        ("e_unit_cost", 200.0),
        ("e_kind", "other"),
    ):
        calc.set(*place(key, 1), value)
    calc.paint(*width, 0xFFCC00)
    calc.note(*note, "measured twice")
    calc.add_sheet("Budget")
    price = place("quote_price")
    calc.set_formula("Budget", "A1", f"=$'{price[0]}'.{price[1]}*2")
    calc.set("Budget", "A2", "twice the price")
    path = saved(calc, tmp_path)

    book = read_workbook(path)
    assert verified(redeclare(book, LATER)).differences == ()  # what LibreOffice stored is what the inputs give
    assert book.at("plans_stale") > 0
    new = refreshed(book, LATER).data
    before, after = handmade.parts_of(path.read_bytes()), handmade.parts_of(new)
    assert list(before) == list(after)
    changed = {name for name in before if before[name] != after[name]}
    assert changed <= our_parts(book) | {book.parts["Budget"], book.parts["Mine"]}
    fresh = make_workbook(given_in(book).estimate(), LATER)
    again = book_of(new, "deck.xlsx")
    for key in ("total_materials", "total_other", "total_price", "quote_price", "plans_stale"):
        assert again.at(key) == fresh.values[fresh.layout.address(key)], key
    assert again.at("total_other") == 490.0  # 2 x 145 and 200

    target = tmp_path / "new.xlsx"
    target.write_bytes(new)
    shown, stale = opened(target)
    assert shown["Budget", "A1"] == pytest.approx(2 * again.at("quote_price"))
    assert shown["Mine", "B3"] == pytest.approx(2 * again.at("quote_price"))
    assert stale == []
    kept = openpyxl.load_workbook(io.BytesIO(new))
    assert kept[note[0]][note[1]].comment.text == "measured twice"
    assert kept[width[0]][width[1]].fill.fgColor.rgb == "FFFFCC00"


@pytest.mark.filterwarnings("ignore:Sparkline Group")
def test_a_rich_file_opens_after_a_refresh(tmp_path):
    needs("soffice")
    needs("uno")
    data = handmade.with_cells(handmade.rich(made().data, macros=True), {place("a_width"): 18.0})
    path = tmp_path / "deck.xlsm"
    path.write_bytes(refreshed(book_of(data, path.name), LATER).data)
    shown, stale = opened(path)
    assert stale == []
    assert shown["Mine", "B2"] == shown[place("quote_price")]
    kept = handmade.parts_of(path.read_bytes())
    for name, part in handmade.parts_of(data).items():
        if re.search(r"vba|media|drawing|chart|comment|styles|Content_Types|workbook.xml|docProps", name):
            assert kept[name] == part, name


def test_text_typed_where_numbers_stand(calc, tmp_path):
    calc.set(*place("a_width"), "18 ft")
    book = read_workbook(saved(calc, tmp_path))
    assert book.at("quote_price") == "not priced: see Checks"
    result = refreshed(book, LATER)
    again = book_of(result.data, "deck.xlsx")
    assert (result.before, again.at("a_width")) == ("not priced: see Checks", 18.0)
    assert again.at("quote_price") == result.after > 0


def test_a_deleted_input_row_is_refused_by_place(calc, tmp_path):
    sheet, line, _ = made().layout.address("a_area", 2)
    calc.delete_rows(sheet, line)
    with pytest.raises(BookError) as found:
        refreshed(read_workbook(saved(calc, tmp_path)), LATER)
    assert str(found.value).startswith(
        "saved.xlsx: Areas!A8:A11: a_area stands at Areas!A8:A10: rows, columns or cells"
    )
    assert "baybook export, then baybook build" in str(found.value)


def test_a_renamed_sheet_is_refused_by_place(calc, tmp_path):
    calc.rename_sheet("Areas", "Decks")
    with pytest.raises(BookError, match="the sheet Areas is now called Decks; undo that, or baybook export"):
        refreshed(read_workbook(saved(calc, tmp_path)), LATER)
