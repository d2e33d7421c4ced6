"""The customer's page: payments to the cent, options, tax, limits, own words; and what must not stand on it."""

from __future__ import annotations

import datetime as dt
import io
import re
import zipfile
from decimal import ROUND_HALF_UP, Decimal

import openpyxl
import pytest
from books import JOB, book_folder, csv_text, deck, estimate, inputs_of
from click.testing import CliRunner

from baybook.batch import estimates_of
from baybook.cli import main
from baybook.files import pdf
from baybook.problems import BookError
from baybook.workbook.build import make_workbook, spec_of
from baybook.workbook.declare import layout
from baybook.workbook.evaluate import evaluate
from baybook.workbook.paper import paper

WHEN = dt.datetime(2026, 6, 15, 8)  # noqa: DTZ001  a workbook's clock has no zone
CENT = Decimal("0.01")


def quote_csv(*rows):
    return csv_text(rows, ("job", "kind", "words", "share", "amount", "when", "of"))


def pay(words, share="", amount="", when=""):
    return {"kind": "payment", "words": words, "share": share, "amount": amount, "when": when}


def sheet_of(one):
    """Return the rows of a job's quote, each as its section, text, amount and difference."""
    spec = spec_of(one, WHEN)
    placed = layout(spec)
    values = evaluate(spec, placed)
    at = {key: placed.address(key) for key in ("qs_label", "qs_text", "qs_amount", "qs_more")}
    rows, section = [], ""
    for row in range(placed.count("qs_text")):
        label, text, amount, more = (values[sheet, first + row, col] for sheet, first, col in at.values())
        section = label or section
        if text != "":
            rows.append((section, text, amount, more))
    return rows, placed, values


def of_section(rows, name):
    return [row[1:] for row in rows if row[0] == name]


# ------------------------------------------------------------------------------------------------------- payments


@pytest.mark.parametrize("labour", ["61.37", "58.01", "77.77"])
def test_the_last_payment_takes_the_rest_to_the_cent(labour):
    one = estimate(
        job={"labour_rate": labour},
        quote=quote_csv(pay("first", "33.33%"), pay("second", "33.33%"), pay("fixed", amount="0.01"), pay("rest")),
    )
    rows, placed, values = sheet_of(one)
    price = one.totals.price
    third = (price * Decimal("0.3333")).quantize(CENT, ROUND_HALF_UP)
    said = [Decimal(f"{amount:.2f}") for _, amount, _ in of_section(rows, "Payment")]
    assert said == [third, third, CENT, price - third - third - CENT]
    assert sum(said) == price
    assert values[placed.address("failed_found")] == 0


def test_one_payment_is_the_whole_price_and_says_when():
    one = estimate()
    rows, _, _ = sheet_of(one)
    ((text, amount, _),) = of_section(rows, "Payment")
    assert text == "the whole price, when the work is done and has passed its water test"
    assert Decimal(f"{amount:.2f}") == one.totals.price


def test_steps_over_the_price_are_told():
    rows, placed, values = sheet_of(estimate(quote=quote_csv(pay("too much", amount="900000"), pay("rest"))))
    assert of_section(rows, "Payment")[1][1] < 0
    assert sum(values[sheet, row + i, col] for sheet, row, col in [placed.address("qp_over")] for i in range(16)) == 1


# -------------------------------------------------------------------------------------------------------- reading


@pytest.mark.parametrize(
    ("rows", "column", "said"),
    [
        ([pay("a"), pay("b")], "share", "give share or amount, one of the two"),
        ([pay("a", "30%", "5"), pay("b")], "share", "give share or amount, one of the two"),
        ([pay("a", "30%"), pay("b", "60%")], "share", "the payments make 90 % of the price"),
        ([pay("a", "30%"), pay("b", amount="5")], "amount", "the last payment takes the rest"),
        ([pay("a", amount="-5"), pay("b")], "amount", "a payment is 0 or more"),
        ([{"kind": "option", "words": "a"}], "of", "name the job that prices the option, or give amount"),
        ([{"kind": "option", "words": "a", "of": "X", "amount": "4"}], "of", "one of the two"),
        ([{"job": JOB, "kind": "option", "words": "a", "of": JOB}], "of", "no option of itself"),
        ([{"kind": "term", "words": "a", "amount": "4"}], "amount", "leave it empty for kind term"),
        ([{"kind": "gift", "words": "a"}], "kind", "payment, option, excluded, term"),
        ([{"kind": "term", "words": ""}], "words", ""),
        ([{"job": "X9", "kind": "term", "words": "a"}], "job", "is no job of jobs.csv"),
    ],
)
def test_what_cannot_be_meant_is_refused(rows, column, said):
    with pytest.raises(BookError) as found:
        inputs_of(deck(quote=quote_csv(*rows)))
    assert any(
        one.source == "quote.csv" and one.field == column and said in one.message for one in found.value.problems
    )


def test_shares_that_make_a_whole_are_taken():
    assert len(inputs_of(deck(quote=quote_csv(pay("a", "30%"), pay("b", "70%")))).quote) > 2


def test_own_words_win_by_kind_then_those_of_all_jobs_then_plain_ones():
    shared, own = {"kind": "term", "words": "for all"}, {"job": JOB, "kind": "term", "words": "for this one"}
    words = {row.kind: [] for row in inputs_of(deck()).quote}
    assert words.keys() == {"payment", "excluded", "term"}
    for rows, expected in (([shared], ["for all"]), ([shared, own], ["for this one"])):
        read = inputs_of(deck(quote=quote_csv(*rows))).quote
        assert [row.words for row in read if row.kind == "term"] == expected
        assert len([row for row in read if row.kind == "excluded"]) > 2


# -------------------------------------------------------------------------------------------------------- options


def two_jobs(tmp_path, *rows, **second):
    texts = deck(
        jobs=[{}, {"job": "D9", **second}], areas=[{}, {"job": "D9", "width": "17 ft"}], quote=quote_csv(*rows)
    )
    return book_folder(tmp_path / "book", texts)


def test_an_option_is_another_job_with_its_price_and_the_difference(tmp_path):
    option = {"job": JOB, "kind": "option", "words": "a foot wider", "of": "d9"}
    extra = {"job": JOB, "kind": "option", "words": "without screens", "amount": "-12.50"}
    one, other = estimates_of(two_jobs(tmp_path, option, extra), WHEN.date())
    rows, _, _ = sheet_of(one)
    price, wider = one.totals.price, other.totals.price
    assert wider != price
    assert [(text, f"{a:.2f}", f"{m:.2f}") for text, a, m in of_section(rows, "Options")] == [
        ("a foot wider", f"{wider}", f"{wider - price}"),
        ("without screens", f"{price - Decimal('12.50')}", "-12.50"),
    ]
    assert not of_section(sheet_of(other)[0], "Options")


@pytest.mark.parametrize(
    ("second", "of", "said"),
    [
        ({}, "D7", "'D7' is no job of this book"),
        ({"quoted_on": "2026-06-14"}, "D9", "job D9 has the prices of 2026-06-14, job D8 those of 2026-06-15"),
    ],
)
def test_a_job_that_cannot_stand_beside_it_is_refused(tmp_path, second, of, said):
    book = two_jobs(tmp_path, {"job": JOB, "kind": "option", "words": "a", "of": of}, **second)
    with pytest.raises(BookError, match=re.escape(said)):
        estimates_of(book, WHEN.date())


# -------------------------------------------------------------------------------------------------- price and limits


@pytest.mark.parametrize(
    ("tax_on", "lines"),
    [
        ("none", ["price; no tax is added"]),
        ("materials", ["price, tax on materials included"]),
        ("total", ["the work above", "tax", "price, tax included"]),
    ],
)
def test_tax_is_said_as_it_is_charged(tax_on, lines):
    one = estimate(job={"tax_on": tax_on, "tax_rate": "8.25%"})
    rows, _, _ = sheet_of(one)
    said = of_section(rows, "Price")
    assert [text for text, _, _ in said] == lines
    amounts = [Decimal(f"{amount:.2f}") for _, amount, _ in said]
    assert amounts[-1] == one.totals.price
    if tax_on == "total":
        assert (amounts[1], amounts[0] + amounts[1]) == (one.totals.tax, amounts[2])


def test_the_day_it_ends_and_an_accepted_limit():
    beam = [{"kind": "dropped_beam", "y": "11 ft 6 in", "plies": 3}]
    accepted = {"job": JOB, "rule": "G9", "where": "main", "person": "A. Marlow", "reason": "the beam moves"}
    one = estimate(
        job={"status": "offered", "valid_days": 45},
        framing=beam,
        acceptances=csv_text([{**accepted, "on": "2026-06-14"}]),
    )
    rows, placed, values = sheet_of(one)
    assert values[placed.address("quote_until")] == "2026-07-30"  # 15 June and 45 days: 15 are left of June, 30 in July
    ((said, _, _),) = of_section(rows, "Stated limits")
    assert "the beam moves" in said
    assert "must be settled" not in said


def test_a_failed_check_that_nobody_accepted_is_said():
    rows, _, _ = sheet_of(estimate(framing=[{"kind": "dropped_beam", "y": "11 ft 6 in", "plies": 3}]))
    assert "must be settled before this is an offer" in of_section(rows, "Stated limits")[0][0]


# -------------------------------------------------------------------------------------------- nothing of the inside


def test_no_cost_no_margin_no_hours_are_in_the_paper():
    one = estimate(job={"overhead": "13%", "profit": "21%", "labour_rate": "61.37"})
    made = make_workbook(one, WHEN)
    data = paper(made.layout, made.values, "Quote", "D8", WHEN, "Letter")
    with zipfile.ZipFile(io.BytesIO(data)) as package:
        names = package.namelist()
        everything = "".join(package.read(name).decode("utf-8", "replace") for name in names)
    assert not [name for name in names if "chart" in name or "drawing" in name or "comments" in name]
    assert "<f>" not in everything
    assert all(to.startswith("'Quote'!") for to in re.findall(r"<definedName [^>]+>([^<]+)", everything))
    book = openpyxl.load_workbook(io.BytesIO(data))
    assert book.sheetnames == ["Quote"]
    cells = [cell.value for row in book["Quote"].iter_rows() for cell in row if cell.value is not None]
    inside = {getattr(one.totals, name) for name in ("materials", "labour", "overhead", "profit")} - {Decimal(0)}
    inside |= {Decimal("61.37")}
    assert len(inside) == 5
    assert not inside & {Decimal(f"{value:.2f}") for value in cells if isinstance(value, float | int)}
    words = " ".join(value for value in cells if isinstance(value, str)).lower()
    assert not re.search(
        r"\b(cost|costs|margin|profit|overhead|mark-?up|hours?|labou?r|checks?:)\b", words.replace("an hour", "")
    )
    assert f"{one.totals.price}" in {f"{value:.2f}" for value in cells if isinstance(value, float | int)}


def test_the_sheet_itself_has_no_chart_and_says_no_more():
    made = make_workbook(estimate(), WHEN)
    (sheet,) = (one for one in made.spec.sheets if one.title == "Quote")
    assert sheet.charts == ()


# ---------------------------------------------------------------------------------------------------- the command


def run(*words):
    result = CliRunner().invoke(main, [str(word) for word in words])
    return result.exit_code, result.stdout, result.stderr


def test_a_book_and_its_workbook_give_the_same_quote(tmp_path, monkeypatch):
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "1781481600")
    book = book_folder(tmp_path / "book", quote=quote_csv(pay("deposit", "30%"), pay("rest")))
    assert run("build", book, "--out", tmp_path / "out")[0] == 0
    assert run("quote", book, "--out", tmp_path / "a")[:2] == (0, f"{tmp_path / 'a' / 'D8 quote.xlsx'}\n")
    assert run("quote", tmp_path / "out" / "D8.xlsx", "--job", "d8", "--out", tmp_path / "b")[0] == 0
    first, second = ((tmp_path / folder / "D8 quote.xlsx").read_bytes() for folder in "ab")
    assert first == second


def test_what_is_not_there_is_said(tmp_path, monkeypatch):
    book = book_folder(tmp_path / "book")
    code, _, said = run("quote", book, "--job", "X", "--out", tmp_path / "out")
    assert (code, said.splitlines()[0]) == (1, "book: no job is called 'X': it has D8")
    monkeypatch.setattr(pdf, "office", lambda: "")
    monkeypatch.setattr("baybook.papers.office", lambda: "")
    code, _, said = run("quote", book, "--pdf", "--out", tmp_path / "out")
    assert code == 1
    assert "install LibreOffice" in said
    assert "print it to PDF" in said
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize(
    ("program", "said"), [("true", "it said nothing"), ("sleep", "longer than"), ("no", "No such file")]
)
def test_a_program_that_makes_no_pdf_is_found_out(tmp_path, monkeypatch, program, said):
    script = tmp_path / program
    if program != "no":
        script.write_text(f"#!/bin/sh\n{'sleep 20' if program == 'sleep' else 'exit 0'}\n", encoding="utf-8")
        script.chmod(0o755)
    monkeypatch.setattr(pdf, "office", lambda: str(script))
    with pytest.raises(BookError) as found:
        pdf.pdf_of(b"PK", "D8 quote", timeout_s=0.5)
    (problem,) = found.value.problems
    assert "made no PDF" in problem.message
    assert said in problem.message


def test_an_offer_with_a_failed_check_is_not_written(tmp_path):
    beam = [{"kind": "dropped_beam", "y": "11 ft 6 in", "plies": 3}]
    book = book_folder(tmp_path / "book", job={"status": "offered"}, framing=beam)
    assert run("quote", book, "--out", tmp_path / "out")[0] == 1
    assert not (tmp_path / "out").exists()


# --------------------------------------------------------------------------------------------------------- printing


def test_printed_from_the_workbook_it_begins_below_the_state_of_the_checks():
    made = openpyxl.load_workbook(io.BytesIO(make_workbook(estimate(), WHEN).data))
    sheet = made["Quote"]
    assert str(sheet["A2"].value).startswith("=")  # on the screen it stands there, as on every sheet
    (printed,) = sheet.print_area if isinstance(sheet.print_area, list) else [sheet.print_area]
    assert re.fullmatch(r"'Quote'!\$A\$3:\$D\$\d+", printed)
    assert sheet["A3"].value.startswith("Under-deck drainage")


def test_a_file_of_its_own_is_printed_whole(tmp_path):
    book = book_folder(tmp_path / "book")
    assert CliRunner().invoke(main, ["quote", str(book), "--out", str(tmp_path)]).exit_code == 0
    sheet = openpyxl.load_workbook(tmp_path / f"{JOB} quote.xlsx")["Quote"]
    assert not sheet.print_area
    assert "Checks" not in " ".join(str(cell.value) for row in sheet.iter_rows() for cell in row)
