"""Workbooks read back: cells as any program writes them, and the inputs in them."""

from __future__ import annotations

import datetime as dt
import re
from functools import lru_cache

import books
import handmade
import pytest
from again import WHEN, random_made

from baybook.files.guard import check_workbook
from baybook.job.fields import fields_of
from baybook.problems import BookError, FileRefused
from baybook.report import as_data
from baybook.workbook.build import Made, make_workbook
from baybook.workbook.declare import column_letter
from baybook.workbook.given import given_in, inputs_of
from baybook.workbook.read import Range, book_of, read_workbook
from baybook.workbook.semantics import ErrorValue
from baybook.workbook.sheetxml import moved, scan_sheet, shared_texts


@lru_cache(maxsize=4)
def made(kind: str = "plain") -> Made:
    """The worked deck; "two": with a second area, framing, an extra, an override; "metric": in millimetres."""
    changes = {
        "plain": {},
        "two": {
            "areas": [{"area": "main"}, {"area": "side", "width": "8 ft", "layout": "even"}],
            "framing": [{"kind": "member", "x": "8 ft", "plies": 2}, {"kind": "blocking", "y": "6 ft"}],
            "extras": [{"description": "lift hire", "quantity": 2, "unit_cost": "145.00", "kind": "other"}],
            "overrides": [{"item": "strap", "quantity": 7}],
            "stock": [{"item": "gutter", "length": "7 ft 4 in", "quantity": 2, "location": "van"}],
        },
        "metric": {
            "rates": {"units": "metric"},
            "area": {"width": "4.8 m", "projection": "3600 mm", "spacing": "400 mm", "height": "2.75 m"},
            "prices": [
                {
                    **row,
                    **{key: "3.66 m" for key in ("length",) if row.get(key)},
                    **({"width": "510 mm"} if row.get("width") else {}),
                }
                for row in books.PRICE_ROWS
                if row["sku"] != "liner-16"
            ],
        },
    }[kind]
    return make_workbook(books.estimate(**changes), WHEN)


@lru_cache(maxsize=4)
def held(kind: str = "plain"):
    return book_of(made(kind).data, "deck.xlsx")


def place(key, row=0, kind="plain"):
    """Sheet and cell of a declared key."""
    sheet, line, col = made(kind).layout.address(key, row)
    return sheet, f"{column_letter(col)}{line}"


def read(changes, kind="plain"):
    """Read the workbook with other contents in some cells, named by (key, row)."""
    cells = {place(key, row, kind): value for (key, row), value in changes.items()}
    return given_in(handmade.as_read(held(kind), cells))


def refused(changes, kind="plain"):
    with pytest.raises(BookError) as found:
        read(changes, kind)
    return str(found.value)


def same_inputs(ours, theirs):
    """Say which fields differ by more than a millionth."""
    found = []
    pairs = [(ours.job, theirs.job), (ours.rates, theirs.rates)]
    for name in ("areas", "framing", "extras", "overrides", "stock"):
        pairs += zip(getattr(ours, name), getattr(theirs, name), strict=True)
    pairs += [(one, theirs.liners[name]) for name, one in ours.liners.items()]
    for mine, other in pairs:
        for one in fields_of(type(mine)):
            a, b = getattr(mine, one.attribute), getattr(other, one.attribute)
            if a != b and not (isinstance(a, float) and abs(a - b) <= 1e-6):
                found.append((type(mine).__name__, one.name, a, b))
    return found


# --------------------------------------------------------------------------------------------------------- round trip


@pytest.mark.parametrize("seed", [11, 12, 19])  # metric; two liners; six areas and posts
def test_what_was_built_is_read_back(seed):
    estimate = books.random_estimate(seed)
    given = given_in(book_of(random_made(seed).data, "r.xlsx"))
    assert same_inputs(estimate.inputs, given.inputs) == []
    assert given.inputs.on == estimate.inputs.on
    assert as_data(given.estimate()) == as_data(estimate)
    assert given.texts == [] or {one.field.kind.name for one in given.texts} <= {
        "NAME",
        "TEXT",
        "WORD",
        "CURRENCY",
        "SIZE",
        "JOIST",
    }


def test_values_and_formulas_are_those_written():
    book = held()
    formulas = {(cell.sheet, cell.row, cell.col): cell.formula for cell in made().layout.formulas()}
    assert book.formulas == formulas
    for address, value in made().values.items():
        assert book.values.get(address) == (value or None if isinstance(value, str) else value)
    assert {key: str(where) for key, where in book.names.items()}.keys() == made().layout.names.keys()
    assert book.names["a_width"] == Range(
        "Areas", *made().layout.address("a_width")[1:], made().layout.count("a_width"), 1
    )
    assert book.broken == {}


def test_a_mapping_of_cells_is_enough():
    # what a running spreadsheet program answers: values by cell, texts empty for blanks
    book = held("two")
    values = {
        at: book.values.get(at, "") for scan in book.scans for at in ((scan, *cell) for cell in book.scans[scan].cells)
    }
    assert same_inputs(made_inputs("two"), inputs_of(values, book.names)) == []


def made_inputs(kind):
    return given_in(held(kind)).inputs


def test_read_from_a_file(tmp_path):
    path = tmp_path / "deck.xlsx"
    path.write_bytes(made().data)
    assert read_workbook(path).values == held().values
    path.write_bytes(made().data[:20_000])
    with pytest.raises(FileRefused, match=r"deck.xlsx: is cut short or damaged"):
        read_workbook(path)


# ------------------------------------------------------------------------------------------------- what people type


def test_lengths_typed_as_text():
    inputs = read(
        {("a_width", 0): "14' 3-1/2\"", ("a_projection", 0): "3.6 m", ("a_spacing", 0): "12", ("a_height", 0): "9 ft"}
    ).inputs
    area = inputs.areas[0]
    # 14 x 12 + 3.5; 3600/25.4; inches where the column is in inches
    assert (area.width_in, area.projection_in, area.spacing_in) == pytest.approx((171.5, 141.732283465, 12.0), abs=1e-8)


def test_other_fields_typed_as_text():
    given = read(
        {
            ("job_rainfall", 0): "120 mm/h",
            ("job_tax_rate", 0): "8.25%",
            ("job_quoted_on", 0): "2026-06-15",
            ("job_labour_rate", 0): "$61.50",
            ("a_joist", 0): "2 x 10",
            ("leader_size", 0): "3X4",
            ("v_pack_price", 0): "40.10",
        }
    )
    job = given.inputs.job
    # 120/25.4 = 4.724409449
    assert job.rain_in_per_h == pytest.approx(4.724409449, abs=1e-8)
    assert (str(job.tax_rate), job.quoted_on) == ("0.0825", dt.date(2026, 6, 15))
    assert str(job.labour_rate) == "61.50"
    assert given.inputs.areas[0].joist_depth_in == 9.25
    assert given.inputs.rates.leader_size == "3x4"
    assert str(given.inputs.prices[0].pack_price) == "40.10"


def test_a_joist_that_is_no_dressed_size():
    assert read({("a_joist", 0): "9-1/2 in"}).inputs.areas[0].joist_depth_in == 9.5
    assert read({("a_joist", 0): None, ("a_joist_depth", 0): 11.875}).inputs.areas[0].joist_depth_in == 11.875
    assert read({("a_joist_depth", 0): "11-7/8 in"}).inputs.areas[0].joist_depth_in == 11.875


def test_numbers_where_names_stand():
    inputs = read({("v_sku", 0): 1012.0, ("a_area", 0): 7.0}).inputs
    assert inputs.prices[0].sku == "1012"
    assert inputs.areas[0].area == "7"


def test_metric_books_speak_metres():
    inputs = made_inputs("metric")
    area = inputs.areas[0]
    # 4.8 m, 3600 mm, 400 mm over 25.4
    assert (area.width_in, area.projection_in, area.spacing_in) == pytest.approx(
        (188.976377953, 141.732283465, 15.748031496), abs=1e-8
    )
    assert read({("a_width", 0): "14 ft"}, "metric").inputs.areas[0].width_in == 168.0
    assert "16 has no unit" in refused({("a_width", 0): "16"}, "metric")


def test_blank_keys_are_left_out_and_rows_behind_them_are_read():
    width, depth = place("a_width", 2), place("a_projection", 2)
    assert width[0] == depth[0] == "Areas"
    given = read(
        {
            ("a_area", 1): None,
            ("a_area", 3): "stair",
            ("a_width", 3): 4.0,
            ("a_projection", 3): 6.0,
            ("a_spacing", 3): 16.0,
            ("a_joist", 3): "2x8",
            ("a_height", 3): 9.0,
            ("a_liner", 3): "sheet",
        },
        "two",
    )
    assert [area.area for area in given.inputs.areas] == ["main", "stair"]
    sheet, line, _ = made("two").layout.address("a_area", 3)
    assert (given.inputs.areas[1].place.source, given.inputs.areas[1].place.line) == (sheet, line)


def test_liner_records_beside_an_item():
    inputs = read({("r_item", 0): "liner", ("r_liner", 0): "sheet"}, "two").inputs
    assert inputs.stock[0].item == "liner: sheet"
    assert read({("r_item", 0): "liner: sheet"}, "two").inputs.stock[0].item == "liner: sheet"


def test_the_day_while_pricing():
    on = read({("job_quoted_on", 0): None, ("job_prices_on", 0): 46190.0, ("job_status", 0): "pricing"}).inputs.on
    assert on == dt.date(2026, 6, 17)  # 46188 is 15 June
    said = refused({("job_quoted_on", 0): None, ("job_prices_on", 0): None})
    assert said.startswith(f"deck.xlsx: Job!{place('job_prices_on')[1]} prices_on: is empty")


# ------------------------------------------------------------------------------------------------------- refusals


@pytest.mark.parametrize(
    ("key", "value", "words"),
    [
        ("a_width", "about 16", "about 16 is not read as a length"),
        ("a_width", -2.0, "must be above 0 in"),
        ("a_joist", "2x7", "'2x7' is not a dressed size"),
        ("a_layout", "centre", "'centre' is not one of left, right, even"),
        ("a_rim_plies", 1.5, "'1.5' is not a whole number"),
        ("a_height", True, "TRUE is not read as a length"),
        ("a_liner", "mat", "'mat' is no liner of sheet Liners"),
        ("job_tax_rate", 8.25, "'825%' must be 100 % or less"),
        ("job_quoted_on", 46188.5, "46188.5 is not a day"),
        ("job_currency", "dollars", "'dollars' is no currency"),
        ("v_pack_price", "forty", "'forty' is not a number"),
        ("v_valid_from", "05/06/2026", "'05/06/2026' is ambiguous: write 2026-05-06 or 2026-06-05"),
        ("crew", 0.0, "'0' must be 1 or more"),
        ("l_drape_in", None, "is empty"),
    ],
)
def test_refused_by_sheet_and_cell(key, value, words):
    said = refused({(key, 0): value})
    sheet, cell = place(key)
    assert said.startswith(f"deck.xlsx: {sheet}!{cell} "), said
    assert words in said


def test_errors_in_inputs_are_named():
    data = made().data
    sheet, cell = place("a_width")
    part = handmade.part_of(data, sheet)

    def broken(xml):
        return re.sub(rf'<c r="{cell}"[^>]*>.*?</c>'.encode(), f'<c r="{cell}" t="e"><v>#REF!</v></c>'.encode(), xml)

    with pytest.raises(BookError, match=rf"Areas!{cell} width: shows the error #REF!: type the value itself"):
        given_in(book_of(handmade.with_parts(data, {part: broken}), "deck.xlsx"))


def test_all_problems_in_the_order_of_the_sheets():
    said = refused({("v_pack_price", 0): "x", ("a_width", 0): "y", ("crew", 0): "z"}).splitlines()
    assert [line.split("!")[0] for line in said] == ["deck.xlsx: Areas", "deck.xlsx: Rates", "deck.xlsx: Prices"]


def test_what_the_rules_refuse_is_named_by_cell():
    given = read({("a_spacing", 0): 24.0})  # the liner is made for 16
    with pytest.raises(BookError) as found:
        given.estimate()
    assert str(found.value).startswith(f"deck.xlsx: Areas!{place('a_spacing')[1]} spacing: area main: ")


def test_somebody_elses_workbook(tmp_path):
    import openpyxl

    other = openpyxl.Workbook()
    other.active["A1"] = 1
    other.save(tmp_path / "other.xlsx")
    with pytest.raises(FileRefused, match=r"other.xlsx: is no workbook of baybook"):
        given_in(read_workbook(tmp_path / "other.xlsx"))


# ------------------------------------------------------------------------------------- as other programs write cells


def sheet(rows, shared=()):
    xml = f'<worksheet xmlns="{handmade.MAIN}"><sheetData>{rows}</sheetData></worksheet>'.encode()
    scan = scan_sheet(xml, shared)
    for cell in scan.cells.values():  # every cell's bytes are one whole element
        assert re.fullmatch(rb"<c\b.*(/>|</c>)", xml[cell.start : cell.end], re.DOTALL)
        assert xml[cell.start : cell.end].count(b"<c") == 1
    return scan


def test_kinds_of_values():
    scan = sheet(
        '<row r="2"><c r="A2" t="s"><v>1</v></c><c r="B2" t="inlineStr"><is><r><t>two </t></r><r><t>runs</t></r>'
        '<rPh sb="0" eb="1"><t>said so</t></rPh></is></c><c r="C2" t="b"><v>1</v></c><c r="D2" t="e"><v>#N/A</v></c>'
        '<c r="E2" t="d"><v>2026-06-15</v></c><c r="F2" s="3"/><c r="G2" t="str"><f>A1&amp;""</f>'
        "<v>a_x0041_&lt;</v></c>"
        '<c r="H2"><v>1.5E-3</v></c><c r="I2" t="str"><f>x</f><v></v></c><c r="J2"><f>y</f></c></row>',
        ("one", "shared & kept"),
    )
    values = [scan.cells[2, col].value for col in range(1, 11)]
    assert values == ["shared & kept", "two runs", True, "#N/A", 46188.0, None, "aA<", 0.0015, None, None]
    assert isinstance(values[3], ErrorValue)
    assert scan.cells[2, 7].formula == '=A1&""'
    assert (scan.cells[2, 6].style, scan.cells[2, 10].formula) == ("3", "=y")


def test_cells_and_rows_without_a_reference():
    scan = sheet(
        "<row><c><v>1</v></c><c><v>2</v></c></row><row r='5'><c r='C5'><v>3</v></c><c><v>4</v></c></row><row>"
        "<c><v>5</v></c></row>"
    )
    assert {place: cell.value for place, cell in scan.cells.items()} == {
        (1, 1): 1,
        (1, 2): 2,
        (5, 3): 3,
        (5, 4): 4,
        (6, 1): 5,
    }


def test_shared_formulas_are_written_out():
    scan = sheet(
        '<row r="1"><c r="B1"><f t="shared" ref="B1:C3" si="0">SUM(A$1:A1)*$D1+rate&amp;"A1"</f><v>1</v></c>'
        '<c r="C1"><f t="shared" si="0"/><v>1</v></c></row><row r="3"><c r="C3"><f t="shared" si="0"/><v>1</v>'
        "</c></row>"
        '<row r="4"><c r="A4"><f t="array" ref="A4:A5">B1:B2*2</f><v>1</v></c></row>'
    )
    assert scan.cells[1, 2].formula == '=SUM(A$1:A1)*$D1+rate&"A1"'
    assert scan.cells[1, 3].formula == '=SUM(B$1:B1)*$D1+rate&"A1"'
    assert scan.cells[3, 3].formula == '=SUM(B$1:B3)*$D3+rate&"A1"'
    assert scan.cells[4, 1].formula == "{=B1:B2*2}"
    assert [scan.cells[at].shared for at in ((1, 2), (1, 3), (3, 3), (4, 1))] == ["0", "0", "0", ""]


@pytest.mark.parametrize(
    ("formula", "there"),
    [
        ("A1", "C4"),
        ("$A1+A$1+$A$1", "$A4+C$1+$A$1"),
        ("'Work A1'!B2&Areas!B2", "'Work A1'!D5&Areas!D5"),
        ('"it""s B2 {"&B2', '"it""s B2 {"&D5'),
        ("LOG10(B2)+a_b2+x.B2", "LOG10(D5)+a_b2+x.B2"),
        ("Z1:AA10", "AB4:AC13"),
    ],
)
def test_a_formula_moved_three_down_and_two_right(formula, there):
    assert moved(formula, 3, 2) == there


def test_prefixes_and_other_encodings():
    xml = (
        f'<?xml version="1.0" encoding="UTF-16"?><x:worksheet xmlns:x="{handmade.MAIN}"><x:sheetData><x:row r="1">'
        '<x:c r="A1" t="inlineStr"><x:is><x:t>Zoë</x:t></x:is></x:c></x:row></x:sheetData></x:worksheet>'
    ).encode("utf-16")
    scan = scan_sheet(xml, ())
    assert scan.cells[1, 1].value == "Zoë"
    cell = scan.cells[1, 1]
    assert scan.xml[cell.start : cell.end].decode().startswith("<x:c r=")
    assert shared_texts(b"<sst><si><t>a</t></si><si><r><t>b</t></r><r><t>c</t></r><rPh><t>d</t></rPh></si></sst>") == (
        "a",
        "bc",
    )


def test_dates_counted_from_1904_are_refused():
    data = handmade.with_parts(
        made().data, {"xl/workbook.xml": lambda xml: xml.replace(b"<workbookPr", b'<workbookPr date1904="1"', 1)}
    )
    with pytest.raises(FileRefused, match=r"deck.xlsx: counts its dates from 1904"):
        book_of(data, "deck.xlsx")


def test_damage_is_told():
    part, start = handmade.part_of(made().data, "Areas"), f'<c r="{place("a_width")[1]}" s='.encode()
    data = handmade.with_parts(
        made().data, {part: lambda xml: re.sub(start + rb'("\d+")><v>', start + rb"\1><v>x", xml)}
    )
    with pytest.raises(
        FileRefused, match=rf"is damaged \(the cell {place('a_width')[1]} holds 'x16', which is no value"
    ):
        book_of(data, "deck.xlsx")


def test_a_sheet_without_a_place_for_rows_is_damaged():
    part = handmade.part_of(made().data, "Site")
    data = handmade.with_parts(made().data, {part: lambda xml: xml.replace(b"sheetData", b"sheetDatb")})
    with pytest.raises(FileRefused, match=r"is damaged \(a sheet of it has no sheetData, the part that holds the rows"):
        book_of(data, "deck.xlsx")


def test_names_of_other_kinds_are_kept_apart():
    extra = (
        b'<definedName name="Rate">0.5</definedName><definedName name="gone">#REF!$A$1</definedName>'
        b'<definedName name="mine" localSheetId="0">Areas!$A$1</definedName><definedName '
        b'name="back">Areas!$C$9:$B$8</definedName>'
    )
    book = book_of(
        handmade.with_parts(
            made().data, {"xl/workbook.xml": lambda xml: xml.replace(b"</definedNames>", extra + b"</definedNames>")}
        ),
        "deck.xlsx",
    )
    assert book.broken == {"Rate": "0.5", "gone": "#REF!$A$1"}
    assert "mine" not in book.names
    assert book.names["back"] == Range("Areas", 8, 2, 2, 2)


def test_the_guard_sees_it_first(tmp_path):
    path = tmp_path / "deck.xlsx"
    path.write_bytes(handmade.with_parts(made().data, {"xl/media/x.xml": b'<!DOCTYPE a [<!ENTITY b "c">]><a>&b;</a>'}))
    for reader in (check_workbook, read_workbook):
        with pytest.raises(FileRefused, match="document type"):
            reader(path)
