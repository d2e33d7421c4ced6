from __future__ import annotations

import gc
import io
import random
import time
import zipfile
from pathlib import Path
from xml.etree import ElementTree as ET

import hostile
import pytest

from baybook.files.guard import check_text_bytes, check_workbook, check_xml
from baybook.files.limits import Limits
from baybook.files.table import read_table
from baybook.problems import FileRefused

MOST_S = 0.05


def refused_fast(check, *arguments):
    """Return the one problem of a refusal; its best of five tries by processor time."""
    times = []
    gc.collect()
    for _ in range(5):
        start = time.process_time()
        with pytest.raises(FileRefused) as caught:
            check(*arguments)
        times.append(time.process_time() - start)
        if times[-1] < MOST_S:
            break
    assert min(times) < MOST_S
    (problem,) = caught.value.problems
    assert problem.message.isprintable()
    assert problem.field.isprintable()
    assert len(str(problem)) < 300
    return problem


@pytest.fixture(scope="module", autouse=True)
def warm():
    """Imports and first calls are start-up."""
    check_text_bytes(b"a,b\n", "a.csv")
    check_xml(b"<a/>", "a.xml")


# ---- workbooks

SAID = {  # a few, so that each is refused for its own reason
    "entity bomb in UTF-16": (hostile.SHEET, "document type"),
    "entity bomb in a drawing of notes": ("xl/drawings/x.vml", "document type"),
    "entity bomb under another name": ("xl/worksheets/sheet9.dat", "document type"),
    "cell XFD1048576": (hostile.SHEET, "holds the cell XFD1048576; at most 20,000 rows and 500 columns are read"),
    "cell written with character references": (hostile.SHEET, "holds the cell XFD1;"),
    "cell whose row is only its row's": (hostile.SHEET, "holds the cell row 1048576, column 1;"),
    "cell whose column is only counted": (hostile.SHEET, "holds the cell row 1, column 501;"),
    "cells of rows that are only counted": (hostile.SHEET, "holds the cell row 20001, column 1;"),
    "cell that is none": (hostile.SHEET, "names a cell 'A1:XFD9'"),
    "merged range without end": (hostile.SHEET, "holds the cell A1:XFD1048576"),
    "link over a range without end": (hostile.SHEET, "holds the cell A1:XFD1048576"),
    "many merged ranges": (hostile.SHEET, "merges or links more than 200,000 cells"),
    "zip bomb, 300 MB in 300 KB": ("", "unpacks to more than 64 MiB"),
    "zip bomb that says it is small": ("", "is cut short or damaged"),
    "zip bomb that says it was never packed": ("", "unpacks to more than 64 MiB"),
    "zip bomb within the ratio's blind spot": ("xl/worksheets/sheet1.xml", "unpacks to more than 200 times its size"),
    "parts lying over one another": ("", "lie over one another"),
    "70,000 parts": ("", "more than 1,000 parts"),
    "1,001 parts": ("", "more than 1,000 parts"),
    "two parts of one name": (hostile.SHEET, "stands twice"),
    "two parts of one name but for case": (hostile.SHEET.upper(), "stands twice"),
    "name with a NUL": ("xl/a.xml?.png", "leads out of the file"),
    "locked part": ("docProps/app.xml", "locked with a password"),
    "old .xls, or a password": ("", "locked with a password or an old .xls"),
    "part packed by bzip2": ("docProps/app.xml", "packed in a way no workbook is"),
    "part smaller than stated": ("", "is cut short or damaged"),
    "part with a wrong checksum": ("", "is cut short or damaged"),
    "elements 100,000 deep": ("xl/a.xml", "more than 200 deep"),
    "part that is not well-formed": (hostile.SHEET, "no well-formed XML"),
    "no workbook part": ("", "holds no workbook"),
    "another office file": ("", "holds no workbook"),
    "macros in an .xlsx": ("", "holds macros"),
    "bytes of no zip": ("", "is no workbook"),
    "torn after 80 %": ("", "is cut short or damaged"),
    "33 MB": ("", "larger than 32 MiB"),
}


@pytest.mark.parametrize("name", hostile.WORKBOOKS)
def test_hostile_workbooks_are_refused_fast(tmp_path, name):
    path = tmp_path / "book.xlsx"
    path.write_bytes(hostile.WORKBOOKS[name]())
    problem = refused_fast(check_workbook, path)
    assert (problem.source, problem.line) == ("book.xlsx", 0)
    if name in SAID:
        field, words = SAID[name]
        assert problem.field == field
        assert words in problem.message


def test_what_is_said_is_of_cases_there_are():
    assert SAID.keys() <= hostile.WORKBOOKS.keys()


def test_without_the_guard_the_parser_would_have_read_them():
    # The cells and ranges do reach a reader: what is refused is no figment.
    from openpyxl import load_workbook

    book = load_workbook(io.BytesIO(hostile.CELLS["cell of another name in a row"]()))
    assert book.active.max_row == 99_999
    book = load_workbook(io.BytesIO(hostile.CELLS["cell whose row is only its row's"]()))
    assert book.active.max_row == 1_048_576
    book = load_workbook(io.BytesIO(hostile.sheet("", '<mergeCells><mergeCell ref="A1:T400"/></mergeCells>')))
    assert len(book.active._cells) == 8000


def test_good_workbooks_are_not_refused(tmp_path):
    from openpyxl import load_workbook

    for name, data in hostile.odd_but_good().items():
        for suffix in (".xlsx", ".XLSM"):
            path = tmp_path / f"book{suffix}"
            path.write_bytes(data)
            assert check_workbook(path) == data, name
    assert load_workbook(io.BytesIO(check_workbook(path)))


def test_workbooks_of_other_programs_are_not_refused(tmp_path):
    import xlwings
    from xlsxwriter import Workbook

    made_by_excel = sorted(Path(xlwings.__file__).parent.glob("*.xlsm"))
    assert made_by_excel
    for path in made_by_excel:
        assert check_workbook(path)
    for memory in (False, True):
        path = tmp_path / "other.xlsx"
        with Workbook(path, {"constant_memory": memory}) as book:
            page = book.add_worksheet("Größe")
            for row in range(2000):
                page.write_row(row, 0, [row, "text", row * 0.5, None, "=A1"])
            page.set_column("A:XFD", 12)
            page.merge_range("G1:K1", "title")
            page.data_validation("A1:A1048576", {"validate": "list", "source": ["a", "b"]})
            page.write_comment("A1", "note")
            chart = book.add_chart({"type": "bar"})
            chart.add_series({"values": "='Größe'!$A$1:$A$9"})
            page.insert_chart("M2", chart)
            if not memory:
                page.add_table("O1:Q9")
        assert check_workbook(path)


def test_macros_belong_into_an_xlsm(tmp_path):
    data = hostile.WORKBOOKS["macros in an .xlsx"]()
    (tmp_path / "book.xlsm").write_bytes(data)
    assert check_workbook(tmp_path / "book.xlsm") == data
    types = hostile.good_parts()["[Content_Types].xml"].replace(
        b"application/vnd.openxmlformats-officedocument.spreadsheetml.sheet.main+xml",
        b"application/vnd.ms-excel.sheet.macroEnabled.main+xml",
    )
    assert b"macroEnabled" in types
    data = hostile.changed(**{"[Content_Types].xml": types})
    (tmp_path / "book.xlsm").write_bytes(data)
    assert check_workbook(tmp_path / "book.xlsm") == data
    (tmp_path / "book.xlsx").write_bytes(data)
    with pytest.raises(FileRefused, match="holds macros"):
        check_workbook(tmp_path / "book.xlsx")


def test_names_that_are_no_workbook(tmp_path):
    (tmp_path / "folder.xlsx").mkdir()
    for name, words in (
        ("book.xls", "is no .xlsx or .xlsm"),
        ("book", "is no .xlsx or .xlsm"),
        ("none.xlsx", "there is no such file"),
        ("folder.xlsx", "is a folder"),
    ):
        with pytest.raises(FileRefused, match=words):
            check_workbook(tmp_path / name)


@pytest.mark.parametrize(
    ("limits", "words"),
    [
        (Limits(disk_bytes=1000), "larger than 1,000 bytes"),
        (Limits(unpacked_bytes=10_000), "unpacks to more than 10,000 bytes"),
        (Limits(parts=5), "more than 5 parts"),
        (Limits(elements=100), "more than 100 XML elements"),
        (Limits(depth=3), "more than 3 deep"),
        (Limits(rows=58), "at most 58 rows"),
        (Limits(columns=3), "at most 20,000 rows and 3 columns"),
        (Limits(spread=3), "more than 3 cells"),
    ],
)
def test_each_limit_is_held_and_can_be_changed(tmp_path, limits, words):
    path = tmp_path / "book.xlsx"
    path.write_bytes(hostile.GOOD_PACKED)
    with pytest.raises(FileRefused, match=words):
        check_workbook(path, limits)
    data = hostile.sheet('<row r="20001"><c r="A20001"/></row>')
    path.write_bytes(data)
    assert check_workbook(path, Limits(rows=20_001)) == data


def test_one_long_token_costs_no_more_than_its_length(tmp_path):
    # An XML parser that begins a token again with every small piece it is fed needs many times as long for these 40 MB.
    path = tmp_path / "book.xlsx"
    data = hostile.changed(**{"docProps/a.xml": b"<a b='" + hostile.random_text(40_000_000) + b"'/>"})
    path.write_bytes(data)
    start = time.perf_counter()
    assert check_workbook(path) == data
    assert time.perf_counter() - start < 4


def test_bytes_changed_at_random_are_read_or_refused(tmp_path):
    chance = random.Random(6)
    path = tmp_path / "book.xlsx"
    refused = 0
    for _ in range(150):
        data = bytearray(hostile.GOOD_PACKED)
        for _ in range(chance.choice((1, 1, 3, 30))):
            data[chance.randrange(len(data))] = chance.randrange(256)
        path.write_bytes(data)
        try:
            check_workbook(path)
        except FileRefused:
            refused += 1
    assert refused > 75


# ---- XML


@pytest.mark.parametrize("name", hostile.XML)
def test_hostile_xml_is_refused_fast(name):
    problem = refused_fast(check_xml, hostile.XML[name](), "invoice.xml")
    assert problem.source == "invoice.xml"
    if "entity" in name:
        assert "document type" in problem.message


def test_good_xml_is_read():
    root = check_xml(
        "<?xml version='1.0' encoding='utf-16'?><a b='1'><c>½ &amp; &#189;</c></a>".encode("utf-16"), "a.xml"
    )
    assert isinstance(root, ET.Element)
    assert (root.get("b"), root.findtext("c")) == ("1", "½ & ½")
    assert check_xml(b"<a><![CDATA[<!DOCTYPE x>]]></a>", "a.xml").text == "<!DOCTYPE x>"
    assert check_xml(hostile.deep(200), "a.xml") is not None
    with pytest.raises(FileRefused, match="no well-formed") as caught:
        check_xml(b"<a>\n<b>\n</a>", "a.xml")
    assert caught.value.problems[0].line == 3


# ---- CSV


@pytest.mark.parametrize("name", hostile.CSV)
def test_hostile_csv_is_refused_fast(tmp_path, name):
    path = tmp_path / "areas.csv"
    path.write_bytes(hostile.CSV[name]())
    assert refused_fast(read_table, path).source == "areas.csv"


def test_the_checks_come_before_the_unpacking(tmp_path, monkeypatch):
    # Size, names and ratio are read off the listing: nothing is unpacked for them.
    monkeypatch.setattr(zipfile.ZipFile, "open", lambda *_: pytest.fail("unpacked"))
    path = tmp_path / "book.xlsx"
    for name in ("zip bomb, 300 MB in 300 KB", "two parts of one name", "locked part", "70,000 parts"):
        path.write_bytes(hostile.WORKBOOKS[name]())
        with pytest.raises(FileRefused):
            check_workbook(path)
