"""Files as spreadsheet programs of other countries save them: read to the same values, or refused with the reason."""

from __future__ import annotations

import csv
import datetime as dt
import io
import re
from decimal import Decimal
from pathlib import Path

import books
import handmade
import pytest

from baybook.estimate import build_estimate
from baybook.files.book import read_book
from baybook.files.orders import append_accepted, read_buying
from baybook.files.table import read_table
from baybook.job.reading import read_prices
from baybook.problems import BookError
from baybook.report import as_data
from baybook.workbook.build import make_workbook
from baybook.workbook.declare import column_letter
from baybook.workbook.given import given_in
from baybook.workbook.read import book_of

RAIN = Path(__file__).parent / "published" / "atlas14_39N_105W.csv"
WHEN = dt.datetime(2026, 7, 1, 9, 30)  # noqa: DTZ001 - the local time of a run

# (separator, decimal mark, date, encoding), as LibreOffice 7.4 saves under these settings; Excel likewise
SAVED = {
    "German, Windows code page": (";", ",", "{2}.{1}.{0}", "cp1252"),
    "German, UTF-8 with its mark": (";", ",", "{2}.{1}.{0}", "utf-8-sig"),
    "French, UTF-16": (";", ",", "{2}/{1}/{0}", "utf-16"),
    "French, tabs": ("\t", ",", "{2}/{1}/{0}", "utf-8"),
    "British": (",", ".", "{2}/{1}/{0}", "utf-8-sig"),
    "American, tabs, UTF-16": ("\t", ".", "{1}/{2}/{0}", "utf-16"),
    "American": (",", ".", "{1}/{2}/{0}", "cp1252"),
}
NUMBER = re.compile(r"-?[0-9]+\.[0-9]+")
DATE = re.compile(r"([0-9]{4})-([0-9]{2})-([0-9]{2})")


def saved(text: str, how: str) -> bytes:
    """Return a CSV text as a program of another country saves it: cells that are numbers and dates its own way."""
    separator, mark, date, encoding = SAVED[how]
    out = io.StringIO(newline="")
    writer = csv.writer(out, delimiter=separator, lineterminator="\r\n")
    for row in csv.reader(io.StringIO(text, newline="")):
        writer.writerow([
            date.format(*found.groups())
            if (found := DATE.fullmatch(cell))
            else cell.replace(".", mark)
            if NUMBER.fullmatch(cell)
            else cell
            for cell in row
        ])  # fmt: skip
    return out.getvalue().encode(encoding)


def book_as(folder: Path, how: str, tables: dict[str, str]) -> Path:
    folder.mkdir()
    for name, text in tables.items():
        (folder / f"{name}.csv").write_bytes(saved(text, how))
    return folder


TABLES = books.deck(
    job={"customer": "Müller & Söhne, 1½ Höfe", "tax_rate": "8.25", "labour_rate": "60.50", "quoted_on": "2026-06-15"},
    area={"width": "4.35 m", "projection": "12.25", "height": "9.5"},
    liner={"outlet_made_for_in": "9.25"},
    rates={"narrow_bay_in": "5.5"},
    more_prices=[books.offer("strap", "1.95", sku="s2", valid_from="2026-01-31", valid_to="2026-12-31")],
    extras=[{"description": "skip", "quantity": "1.5", "unit_cost": "220.40", "kind": "other"}],
)


@pytest.mark.parametrize("how", SAVED)
def test_a_book_gives_the_same_job_wherever_it_was_saved(tmp_path, how):
    (found,) = read_book(book_as(tmp_path / "book", how, TABLES), books.TODAY)
    assert found.job.customer == "Müller & Söhne, 1½ Höfe"
    assert (found.job.labour_rate, found.job.tax_rate) == (Decimal("60.50"), Decimal("0.0825"))
    assert found.areas[0].width_in == pytest.approx(171.259842520, abs=1e-9)  # 4.35 m over 0.0254
    (strap,) = [row for row in found.prices if row.sku == "s2"]
    assert (strap.pack_price, strap.valid_from, strap.valid_to) == (
        Decimal("1.95"),
        dt.date(2026, 1, 31),
        dt.date(2026, 12, 31),
    )
    assert as_data(build_estimate(found)) == as_data(build_estimate(books.inputs_of(TABLES)))


def refused(folder: Path, name: str, text: str | bytes, encoding: str = "utf-8") -> str:
    book = books.book_folder(folder)
    (book / name).write_bytes(text if isinstance(text, bytes) else text.encode(encoding))
    with pytest.raises(BookError) as found:
        read_book(book, books.TODAY)
    return str(found.value)


JOBS = "job;customer;quoted_on;rainfall;labour_rate;currency;overhead\n"


@pytest.mark.parametrize(
    ("row", "said"),
    [
        ("D8;A;01/02/2026;5 in/h;60;USD;10", "quoted_on: '01/02/2026' is ambiguous: write 2026-01-02 or 2026-02-01"),
        ("D8;A;01.02.2026;5 in/h;60;USD;10", "quoted_on: '01.02.2026' is ambiguous: write 2026-01-02 or 2026-02-01"),
        ("D8;A;15.06.26;5 in/h;60;USD;10", "quoted_on: '15.06.26' is not a date: write year-month-day, 2026-11-25"),
        ("D8;A;32/12/2026;5 in/h;60;USD;10", "quoted_on: '32/12/2026' is no day of the calendar"),
        ("D8;A;46188;5 in/h;60;USD;10", "quoted_on: '46188' is not a date: write year-month-day, 2026-11-25"),
        ("D8;A;15. Juni 2026;5 in/h;60;USD;10", "quoted_on: '15. Juni 2026' is not a date"),
        # a semicolon file is a decimal-comma file more often than not, and nothing else in it tells
        ("D8;A;2026-06-15;5 in/h;1.234;USD;10", "labour_rate: '1.234' is ambiguous: write 1234, or 1.2340"),
        ("D8;A;2026-06-15;5 in/h;1,234;USD;10", "labour_rate: '1,234' is ambiguous: write 1234 or 1.234"),
        # one cell tells that it is one: then 1.234 may be a thousand and more
        ("D8;A;2026-06-15;4,7 in/h;1.234;USD;10", "labour_rate: '1.234' is ambiguous: write 1234, or 1,234"),
        ("D8;A;2026-06-15;1.234 mm/h;60,5;USD;10", "rainfall: '1.234 mm/h' is ambiguous: write 1234, or 1,234"),
        # both marks in one file
        (
            "D8;A;2026-06-15;4.7 in/h;60,5;USD;10",
            "labour_rate: '60,5' is not a number: write digits with a decimal point",
        ),
        ("D8;A;2026-06-15;5 in/h;60,50;USD;0,25", "overhead: '0,25' is ambiguous: write 25% or 0,25%"),
    ],
)
def test_what_can_be_read_two_ways_is_refused_with_the_reason(tmp_path, row, said):
    assert f"jobs.csv:2: {said}" in refused(tmp_path, "jobs.csv", f"{JOBS}{row}\n")


@pytest.mark.parametrize(
    ("row", "rate", "rain"),
    [
        ("D8;A;2026-06-15;4,7 in/h;1.234,50;USD;10", "1234.50", 4.7),
        ("D8;A;2026-06-15;4,7 in/h;1\u202f234,50 €;USD;10", "1234.50", 4.7),  # French, as the cell shows
        ("D8;A;2026-06-15;4,7 in/h;1\u00a0234,50;USD;8,25\u00a0%", "1234.50", 4.7),
        ("D8;A;2026-06-15;4,7 in/h;60,125;USD;10", "60.125", 4.7),  # the file is known to write a comma
        ("D8;A;2026-06-15;119,380 mm/h;60,5;USD;10", "60.5", 4.7),  # 119.38 mm over 25.4
        ("D8;A;2026-06-15;4.7 in/h;$60.50;USD;10", "60.50", 4.7),
        ("D8;A;2026-06-15;4.7 in/h;1,234.50;USD;10", "1234.50", 4.7),
    ],
)
def test_what_can_be_read_one_way_is_read(tmp_path, row, rate, rain):
    book = books.book_folder(tmp_path)
    (book / "jobs.csv").write_text(f"{JOBS}{row}\n", encoding="utf-8")
    (found,) = read_book(book, books.TODAY)
    assert found.job.labour_rate == Decimal(rate)
    assert found.job.rain_in_per_h == pytest.approx(rain, abs=1e-12)


@pytest.mark.parametrize(
    ("width", "inches"),
    [("4,35 m", 171.25984252), ("4,350 m", 171.25984252), ("14' 3,5\"", 171.5), ("14 ft 3-1/2 in", 171.5)],
)
def test_lengths_in_a_file_with_a_decimal_comma(tmp_path, width, inches):
    tables = books.deck(area={"width": width, "height": "9.5"})
    book = book_as(tmp_path / "book", "German, UTF-8 with its mark", tables)
    assert read_book(book, books.TODAY)[0].areas[0].width_in == pytest.approx(inches, abs=1e-8)


def test_a_length_in_thousands_of_millimetres(tmp_path):
    book = book_as(
        tmp_path / "book", "German, UTF-8 with its mark", books.deck(area={"width": "2.440 mm", "height": "9.5"})
    )
    with pytest.raises(BookError, match=r"^areas\.csv:2: width: '2\.440 mm' is ambiguous: write 2440, or 2,440"):
        read_book(book, books.TODAY)


# ------------------------------------------------------------------------------------------------- the other readers


@pytest.mark.parametrize("how", SAVED)
def test_a_price_list(tmp_path, how):
    text = TABLES["prices"]
    (tmp_path / "list.csv").write_bytes(saved(text, how))
    (tmp_path / "plain.csv").write_text(text, encoding="utf-8")
    found, plain = (read_prices(read_table(tmp_path / name)) for name in ("list.csv", "plain.csv"))
    prices = {row.sku: (row.pack_price, row.pack_qty, row.length_in, row.valid_to) for row in plain}
    assert {row.sku: (row.pack_price, row.pack_qty, row.length_in, row.valid_to) for row in found} == prices


def test_a_price_list_of_whole_prices_and_one_doubtful_one(tmp_path):
    path = tmp_path / "list.csv"
    path.write_text("supplier;sku;item;pack_price;currency\nA;1;strap;12;EUR\nA;2;elbow;1.250;EUR\n", encoding="cp1252")
    with pytest.raises(BookError, match=r"^list\.csv:3: pack_price: '1\.250' is ambiguous: write 1250, or 1\.2500"):
        read_prices(read_table(path))


INVOICES = (
    "supplier,invoice,invoice_date,order,line,sku,description,quantity,unit,unit_price,amount,tax\n"
    "Österreicher,Ö-1,2026-07-28,0001,1,S,Bügel,4,,31.50,126.00,10.08\n"
)
SETTLED = (
    "at,who,action,finding,kind,supplier,order,line,invoice,money,said,note\n"
    "2026-07-21 10:04:00,M. Varga,accepted,3f9a0c1b2d,price,A,0001,1,A-1,1.20,dearer,ok\n"
)


@pytest.mark.parametrize("how", SAVED)
def test_invoices_and_the_log(tmp_path, how):
    book = books.book_folder(tmp_path)
    (book / "invoices.csv").write_bytes(saved(INVOICES, how))
    (book / "settled.csv").write_bytes(saved(SETTLED, how))
    found = read_buying(book)
    (document,) = found.documents
    (line,) = document.lines
    assert (document.supplier, document.number, document.date) == ("Österreicher", "Ö-1", dt.date(2026, 7, 28))
    assert (line.unit_price, line.amount, line.tax) == (Decimal("31.50"), Decimal("126.00"), Decimal("10.08"))
    (row,) = found.accepted
    assert (row.at, row.money) == ("2026-07-21 10:04:00", Decimal("1.20"))
    before = (book / "settled.csv").read_bytes()
    if how in {"British", "American"}:  # commas, UTF-8: rows can be added
        append_accepted(book, [row])
        assert (book / "settled.csv").read_bytes().startswith(before)
    else:
        with pytest.raises(BookError, match=r"^settled\.csv:1: was saved in another form .* must be at,who,"):
            append_accepted(book, [row])
        assert (book / "settled.csv").read_bytes() == before


MAPPING = "supplier,files,column,theirs,dates\n" + "".join(
    f"Skerrow,sk-,{ours},{theirs},{'dmy' if ours == 'invoice_date' else ''}\n"
    for ours, theirs in (
        ("invoice", "Beleg"),
        ("invoice_date", "Datum"),
        ("quantity", "Menge"),
        ("unit_price", "Preis"),
        ("amount", "Netto"),
    )
)


def mapped(tmp_path, rows, mapping=MAPPING, encoding="cp1252"):
    book = books.book_folder(tmp_path)
    (book / "mapping.csv").write_text(mapping, encoding="utf-8")
    (book / "invoices").mkdir()
    (book / "invoices" / "sk-1.csv").write_bytes(f"Beleg;Datum;Menge;Preis;Netto\n{rows}\n".encode(encoding))
    return read_buying(book)


@pytest.mark.parametrize("encoding", ["cp1252", "utf-8-sig", "utf-16"])
def test_a_supplier_s_file_by_mapping_whose_order_of_days_is_stated(tmp_path, encoding):
    (document,) = mapped(tmp_path, "Ä-1;01.02.2026;3;1.031,50 €;3.094,50", encoding=encoding).documents
    assert (document.number, document.date) == ("Ä-1", dt.date(2026, 2, 1))
    assert (document.lines[0].unit_price, document.lines[0].amount) == (Decimal("1031.50"), Decimal("3094.50"))


@pytest.mark.parametrize(
    ("rows", "said"),
    [
        ("A-1;31.12.2026;3;1.031;3.093", "unit_price: '1.031' is ambiguous: write 1031, or 1.0310"),
        ("A-1;31.12.2026;3;31,50;3.093", "amount: '3.093' is ambiguous: write 3093, or 3,093"),
    ],
)
def test_doubtful_amounts_of_a_supplier_s_file(tmp_path, rows, said):
    with pytest.raises(BookError) as found:
        mapped(tmp_path, rows)
    assert f"sk-1.csv:2: {said}" in str(found.value)


def test_days_of_a_supplier_s_file_whose_order_is_not_stated(tmp_path):
    plain = MAPPING.replace("dmy", "")
    (document,) = mapped(tmp_path / "a", "A-1;31.12.2026;3;31,50;94,50", plain).documents
    assert document.date == dt.date(2026, 12, 31)
    with pytest.raises(BookError) as found:
        mapped(tmp_path / "b", "A-1;01.02.2026;3;31,50;94,50", plain)
    assert "sk-1.csv:2: invoice_date: '01.02.2026' is ambiguous: write 2026-01-02 or 2026-02-01" in str(found.value)


@pytest.mark.parametrize("how", ["German, Windows code page", "French, UTF-16", "American, tabs, UTF-16"])
def test_a_rainfall_file_that_a_spreadsheet_program_saved_anew_is_told_to_be_fetched_again(tmp_path, how):
    said = refused(tmp_path, "rainfall.csv", saved(RAIN.read_text(encoding="utf-8"), how))
    assert re.search(r"^rainfall\.csv(:\d+)?: \w+( \w+)?: .*download", said, re.MULTILINE), said


@pytest.mark.parametrize("encoding", ["utf-8-sig", "utf-16", "cp1252"])
def test_a_rainfall_file_in_another_encoding(tmp_path, encoding):
    book = books.book_folder(tmp_path, job={"rainfall": None})
    (book / "rainfall.csv").write_bytes(RAIN.read_text(encoding="utf-8").encode(encoding))
    plain = books.book_folder(tmp_path / "plain", job={"rainfall": None})
    (plain / "rainfall.csv").write_bytes(RAIN.read_bytes())
    assert read_book(book, books.TODAY)[0].job.rain_in_per_h == read_book(plain, books.TODAY)[0].job.rain_in_per_h


# --------------------------------------------------------------------------------------------------------- workbooks


@pytest.fixture(scope="module")
def made():
    return make_workbook(books.estimate(), WHEN)


def typed(made, key: str, text: str):
    sheet, row, col = made.layout.address(key)
    data = handmade.with_cells(made.data, {(sheet, f"{column_letter(col)}{row}"): text})
    return given_in(book_of(data, "deck.xlsx")).inputs


@pytest.mark.parametrize(
    ("key", "text", "said"),
    [
        ("v_pack_price", "12,5", "'12,5' is not a number: write digits with a decimal point"),
        ("v_pack_price", "1,234", "'1,234' is ambiguous: write 1234 or 1.234"),
        ("v_pack_price", "1.234,50", "'1.234,50' is not a number: write digits with a decimal point"),
        ("job_labour_rate", "60,50 €", "'60,50' is not a number: write digits with a decimal point, 60.50"),
        ("a_width", "4,350 m", "4,350 m could be 4350 or 4.350: write one of them, with no comma"),
        ("job_quoted_on", "01.02.2026", "'01.02.2026' is ambiguous: write 2026-01-02 or 2026-02-01"),
        ("job_tax_rate", "8,25%", "'8,25' is not a number: write digits with a decimal point, 8.25"),
    ],
)
def test_text_in_a_number_s_cell_that_leaves_a_doubt_is_refused_by_cell(made, key, text, said):
    with pytest.raises(BookError) as found:
        typed(made, key, text)
    sheet = made.layout.address(key)[0]
    assert re.search(rf"^deck\.xlsx: {sheet}![A-Z]+\d+ \w+: {re.escape(said)}", str(found.value)), str(found.value)


def test_text_in_a_number_s_cell_that_leaves_none_is_read(made):
    assert typed(made, "a_width", "4,35 m").areas[0].width_in == pytest.approx(171.25984252, abs=1e-8)
    assert typed(made, "job_quoted_on", "15.06.2026").job.quoted_on == dt.date(2026, 6, 15)
    assert typed(made, "job_labour_rate", "$60.50").job.labour_rate == Decimal("60.50")
