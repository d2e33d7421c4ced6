"""Books saved by a real LibreOffice that is set to German, French, British or American."""

from __future__ import annotations

import csv
import datetime as dt
import io
import re
from decimal import Decimal
from pathlib import Path

import books
import pytest
from live.programs import _run, needs

from baybook.estimate import build_estimate
from baybook.files.book import read_book
from baybook.files.orders import read_buying
from baybook.files.table import read_table
from baybook.problems import BookError
from baybook.report import as_data

pytestmark = pytest.mark.live

SETTINGS = """<?xml version="1.0" encoding="UTF-8"?>
<oor:items xmlns:oor="http://openoffice.org/2001/registry"><item oor:path="/org.openoffice.Setup/L10N">
<prop oor:name="ooSetupSystemLocale" oor:op="fuse"><value>{}</value></prop></item></oor:items>
"""
# locale, separator and character set as LibreOffice numbers them: ; is 59, tab 9; UTF-8 76, cp1252 1, UTF-16 65535
SAVED = {
    "German, Windows code page": ("de-DE", 59, 1),
    "French, UTF-16": ("fr-FR", 59, 65535),
    "British, UTF-8": ("en-GB", 44, 76),
    "American, tabs": ("en-US", 9, 76),
}
TABLES = books.deck(
    job={"customer": "Müller & Söhne", "tax_rate": "8.25", "labour_rate": "1060.50", "quoted_on": "2026-06-15"},
    area={"width": "4.35 m", "projection": "12.25", "height": "9.5"},
    more_prices=[books.offer("strap", "1.95", sku="s2", valid_from="2026-01-31", valid_to="2026-12-31")],
)
INVOICES = (
    "supplier,invoice,invoice_date,order,sku,quantity,unit_price,amount\nÖ,Ö-1,2026-07-28,0001,S,4,31.50,126.00\n"
)
NUMBER = re.compile(r"-?[0-9]+(?:\.[0-9]+)?")


def workbook(path: Path, text: str) -> None:
    """Write a CSV text as a workbook: numbers, dates in the form that follows the country, codes as text."""
    from openpyxl import Workbook

    book = Workbook()
    header, *rows = csv.reader(io.StringIO(text, newline=""))
    book.active.append(header)
    for row in rows:
        book.active.append([
            dt.date.fromisoformat(cell) if re.fullmatch(r"\d{4}-\d\d-\d\d", cell)
            else float(cell) if NUMBER.fullmatch(cell) and name not in {"order", "job"} else cell or None
            for name, cell in zip(header, row, strict=True)
        ])  # fmt: skip
    for line in book.active.iter_rows():
        for cell in line:
            if cell.is_date:
                cell.number_format = "mm-dd-yy"  # number 14 of the built-in formats: the short date of the country
            elif isinstance(cell.value, float) and cell.value != int(cell.value):
                cell.number_format = "#,##0.00"
    book.save(path)


def saved(folder: Path, how: str, tables: dict[str, str]) -> Path:
    """Return a book folder whose files LibreOffice saved, each from a workbook, with its cells as they show."""
    needs("soffice")
    locale, separator, charset = SAVED[how]
    room, book = folder / "room", folder / "book"
    for made in (room / "profile" / "user", book):
        made.mkdir(parents=True)
    (room / "profile" / "user" / "registrymodifications.xcu").write_text(SETTINGS.format(locale), encoding="utf-8")
    for name, text in tables.items():
        workbook(room / f"{name}.xlsx", text)
    _run(
        [
            "soffice",
            "--headless",
            "--norestore",
            f"-env:UserInstallation={(room / 'profile').as_uri()}",
            "--convert-to",
            f"csv:Text - txt - csv (StarCalc):{separator},34,{charset},1,,0,false,true,true",
            "--outdir",
            str(book),
            *(str(room / f"{name}.xlsx") for name in tables),
        ],
        room,
        timeout_s=120,
    )
    assert sorted(path.stem for path in book.iterdir()) == sorted(tables)
    return book


@pytest.mark.parametrize("how", SAVED)
def test_a_book_that_libreoffice_saved_gives_the_same_job(tmp_path, how):
    book = saved(tmp_path, how, {**TABLES, "invoices": INVOICES})
    text = read_table(book / "jobs.csv").rows[0].cells
    assert text[4] in {"de-DE": {"1.060,50"}, "fr-FR": {"1\u202f060,50", "1\u00a0060,50"}}.get(
        SAVED[how][0], {"1,060.50"}
    )
    (found,) = read_book(book, books.TODAY)
    assert found.job.customer == "Müller & Söhne"
    assert as_data(build_estimate(found)) == as_data(build_estimate(books.inputs_of(TABLES)))
    (strap,) = [row for row in found.prices if row.sku == "s2"]
    assert (strap.valid_from, strap.valid_to) == (dt.date(2026, 1, 31), dt.date(2026, 12, 31))
    (document,) = read_buying(book).documents
    assert (document.supplier, document.date) == ("Ö", dt.date(2026, 7, 28))
    assert (document.lines[0].unit_price, document.lines[0].amount) == (Decimal("31.50"), Decimal(126))


@pytest.mark.parametrize(
    ("how", "day"),
    [
        ("German, Windows code page", "01.02.2026"),
        ("French, UTF-16", "01/02/2026"),
        ("British, UTF-8", "01/02/2026"),
        ("American, tabs", "2/1/2026"),
    ],
)
def test_what_libreoffice_saved_and_can_be_read_two_ways_is_refused(tmp_path, how, day):
    book = saved(tmp_path, how, books.deck(job={"quoted_on": "2026-02-01"}))
    with pytest.raises(BookError) as refused:
        read_book(book, books.TODAY)
    said = f"jobs.csv:2: quoted_on: {day!r} is ambiguous: write 2026-01-02 or 2026-02-01"
    assert said in str(refused.value).splitlines()
