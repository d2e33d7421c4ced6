"""``order`` and ``reconcile`` as a person runs them: exit status, what is said and written; and their workbooks."""

from __future__ import annotations

import csv
import datetime as dt
import io
import re
from pathlib import Path

import openpyxl
import pytest
from books import JOB, TODAY, book_folder, csv_text
from click.testing import CliRunner
from published.test_ubl_order_schema import odd_order
from purchases import bill, came, invoice, line, matched, order

from baybook.buying.report import EXCEPTION_COLUMNS, LINE_COLUMNS, exception_rows, line_rows, supplier_sums
from baybook.buying.settle import settle
from baybook.buying.used import hours_used, materials_used
from baybook.cli import main
from baybook.workbook import buying as sheets
from baybook.workbook.declare import layout
from baybook.workbook.evaluate import evaluate
from baybook.workbook.lint import lint

DAY = TODAY.isoformat()
WHEN_S = 1_790_000_000  # 2026-09-21
WHEN = dt.datetime(2026, 9, 21)  # noqa: DTZ001 - a wall clock


def run(*words: str, status: int = 0):
    result = CliRunner(env={"SOURCE_DATE_EPOCH": str(WHEN_S)}).invoke(main, [*map(str, words)])
    assert result.exit_code == status, result.output
    return result


@pytest.fixture
def book(tmp_path) -> Path:
    return book_folder(tmp_path / "book", job={"status": "won"})


def ordered(book: Path) -> list[dict[str, str]]:
    """Issue the order of the worked deck; return its rows."""
    run("order", book, "--on", DAY)
    return list(csv.DictReader((book / "orders" / "0001.csv").open(encoding="utf-8", newline="")))


def put(book: Path, name: str, rows) -> None:
    (book / f"{name}.csv").write_text(csv_text(rows), encoding="utf-8")


def deliver(book: Path, rows, **packs) -> None:
    """All of an order came, but for the packs given by SKU."""
    put(book, "receipts", ({"order": row["order"], "sku": row["sku"], "received_on": "2026-06-20",
                            "quantity": packs.get(row["sku"], row["packs"])} for row in rows))  # fmt: skip


def charge(book: Path, rows, **prices) -> None:
    """All of an order is billed, at its prices but for those given by SKU."""
    billed = []
    for row in rows:
        price = prices.get(row["sku"], row["pack_price"])
        billed.append({
            "supplier": row["supplier"], "invoice": "A-1", "invoice_date": "2026-06-22", "order": row["order"],
            "sku": row["sku"], "quantity": row["packs"], "unit_price": price,
            "amount": f"{int(row['packs']) * float(price):.2f}",
        })  # fmt: skip
    put(book, "invoices", billed)


def exceptions(book: Path) -> list[dict[str, str]]:
    return list(csv.DictReader((book / "reconciliation" / "exceptions.csv").open(encoding="utf-8", newline="")))


def test_order_and_nothing_more_to_order(book):
    first = run("order", book, "--on", DAY)
    assert [Path(path).name for path in first.stdout.split()] == ["0001.csv", "0001.xlsx", "0001.xml"]
    assert first.stderr == "order 0001 to Alder Yard: 14 lines, 750.05 USD\n"
    again = run("order", book, "--on", DAY)
    assert (again.stdout, again.stderr) == ("", "nothing to order: what the jobs need is on hand or on order\n")


def test_a_revision_from_the_command_line(book):
    ordered(book)
    put(book, "overrides", [{"job": JOB, "item": "strap", "quantity": 8}])
    result = run("order", book, "--revise", "0001", "--on", DAY)
    assert "order 0001-1: strap: 3 becomes 8" in result.stderr
    assert run("order", book, "--revise", "0001", "--on", DAY).stdout == ""


def test_orders_that_need_a_look_end_with_3(book):
    put(book, "suppliers", [{"supplier": "Alder Yard", "currency": "USD", "minimum_order": "9000"}])
    held = run("order", book, "--on", DAY, status=3)
    assert "stay 8249.95 under the minimum" in held.stderr
    run("order", book, "--on", DAY, "--below-minimum", status=3)


def test_problems_end_with_1_and_write_nothing(book):
    (book / "invoices.csv").write_text("supplier,invoice\nA,1\n", encoding="utf-8")
    result = run("order", book, status=1)
    assert "invoices.csv:1: quantity: column is missing" in result.stderr
    assert not (book / "orders").exists()
    assert "is no folder" in run("order", book / "none", status=1).stderr
    run("reconcile", book, status=1)
    assert not (book / "reconciliation").exists()


def test_wrong_use_ends_with_2(book):
    run("order", status=2)
    run("reconcile", book, "--nonsense", status=2)


def test_a_clean_reconciliation_ends_with_0(book):
    rows = ordered(book)
    deliver(book, rows)
    charge(book, rows)
    result = run("reconcile", book)
    assert result.stdout == ""
    assert "14 billed lines against 14 ordered lines: 0 open" in result.stderr
    assert exceptions(book) == []
    assert {path.name for path in (book / "reconciliation").iterdir() if not path.name.startswith(".")} == {
        "reconciliation.xlsx", "exceptions.csv", "lines.csv", "proposed rates.csv",
    }  # fmt: skip


def test_differences_end_with_3_and_are_found_in_the_files(book):
    """One roll of tape less came (18.75), 3 straps at 2.00 for 1.90 are 0.30 over."""
    rows = ordered(book)
    deliver(book, rows, seam_tape="3")
    charge(book, rows, strap="2.00")
    result = run("reconcile", book, status=3)
    assert re.search(
        r"^\w{10}  billed_not_received  Alder Yard  invoice A-1, order 0001, line 3: ", result.stdout, re.MULTILINE
    )
    found = exceptions(book)
    assert [(row["kind"], row["state"], row["claim"]) for row in found] == [
        ("billed_not_received", "open", "18.75"), ("price_over", "open", "0.30"),
    ]  # fmt: skip
    assert found[0]["file"] == "invoices.csv"
    assert found[0]["file_line"] == "4"
    lines = list(csv.DictReader((book / "reconciliation" / "lines.csv").open(encoding="utf-8", newline="")))
    assert [row["status"] for row in lines].count("matched") == 12


def test_what_is_accepted_is_logged_and_closes(book):
    rows = ordered(book)
    deliver(book, rows)
    charge(book, rows, strap="2.00")
    run("reconcile", book, status=3)
    (mark,) = (row["finding"] for row in exceptions(book))
    assert "name yourself" in run("reconcile", book, "--accept", mark, status=1).stderr
    assert "stands for nothing that is open" in run("reconcile", book, "--accept", "x", "--by", "K", status=1).stderr
    assert not (book / "settled.csv").exists()
    run("reconcile", book, "--accept", mark, "--by", "K. Oyelaran", "--note", "new list came late")
    assert [(row["state"], row["by"]) for row in exceptions(book)] == [("accepted", "K. Oyelaran, 2026-09-21 14:13:20")]
    first = (book / "settled.csv").read_bytes()
    run("reconcile", book, "--withdraw", mark, "--by", "M. Varga", status=3)
    assert (book / "settled.csv").read_bytes().startswith(first)
    (one, two) = csv.DictReader(io.StringIO((book / "settled.csv").read_text(encoding="utf-8")))
    assert (one["action"], one["money"], one["note"]) == ("accepted", "0.30", "new list came late")
    assert (two["action"], two["who"]) == ("withdrawn", "M. Varga")


def test_a_credit_note_in_the_book_closes_the_claim(book):
    rows = ordered(book)
    deliver(book, rows)
    charge(book, rows, strap="2.00")
    run("reconcile", book, status=3)
    text = (book / "invoices.csv").read_text(encoding="utf-8")
    (book / "invoices.csv").write_text(text + "Alder Yard,C-1,2026-07-01,0001,strap,-3,0.10,-0.30\n", encoding="utf-8")
    run("reconcile", book)
    assert [(row["state"], row["by"]) for row in exceptions(book)] == [("closed", "credit C-1 of 2026-07-01")]


def test_the_tolerance_of_the_book_counts(book):
    rows = ordered(book)
    deliver(book, rows)
    charge(book, rows, strap="2.00")
    put(book, "buying", [{"key": "price_money", "value": "0.30"}])
    run("reconcile", book)
    put(book, "buying", [{"key": "price_money", "value": "0.29"}])
    run("reconcile", book, status=3)


def test_a_workbook_that_a_person_changed_is_kept_beside(book):
    rows = ordered(book)
    deliver(book, rows)
    charge(book, rows)
    run("reconcile", book)
    path = book / "reconciliation" / "reconciliation.xlsx"
    path.write_bytes(path.read_bytes() + b"x")
    run("reconcile", book)
    assert len(list(path.parent.glob("reconciliation before *.xlsx"))) == 1


def test_the_same_inputs_give_the_same_files(book):
    rows = ordered(book)
    deliver(book, rows, seam_tape="3")
    charge(book, rows)
    for name in ("one", "two"):
        run("reconcile", book, "--out", book / name, status=3)
    for path in (book / "one").iterdir():
        assert path.read_bytes() == (book / "two" / path.name).read_bytes()


def test_hours_of_an_unknown_job_are_a_problem(book):
    put(book, "hours", [{"job": "D9", "task": "outlet", "date": "2026-07-01", "person_hours": "2"}])
    assert "hours.csv:2: job: 'D9' is no job of jobs.csv" in run("reconcile", book, status=1).stderr


def test_a_job_that_is_done_shows_what_it_used(tmp_path):
    book = book_folder(tmp_path / "book", job={"status": "done"})
    run("order", book, "--job", JOB, "--on", DAY)
    rows = list(csv.DictReader((book / "orders" / "0001.csv").open(encoding="utf-8", newline="")))
    deliver(book, rows)
    charge(book, rows)
    put(book, "hours", [{"job": JOB, "task": "outlet", "date": "2026-07-01", "person_hours": "3"}])
    run("reconcile", book)
    text = (book / "reconciliation" / "proposed rates.csv").read_text(encoding="utf-8")
    told = {row["key"]: row for row in csv.DictReader(io.StringIO(text))}
    # 200 ft of tape came for 156 ft net: 28.2 %; 3 h for 12 outlets
    assert (told["waste_seam_tape"]["job"], told["waste_seam_tape"]["value"]) == ("#", "28.2%")
    assert (told["hours_outlet"]["value"], told["hours_outlet"]["x_says"]) == (
        "0.250",
        "too few jobs: 1, at least 5 are needed",
    )
    seen = openpyxl.load_workbook(book / "reconciliation" / "reconciliation.xlsx")
    assert seen.sheetnames == [
        "Summary", "Exceptions", "Claims", "All lines", "Materials used", "Hours worked", "Proposed rates",
    ]  # fmt: skip


# ---------------------------------------------------------------------------------------------- the workbooks


def reconciliation():
    found = matched(
        order(line(1, 4, "31.50"), line(2, 10, "1.35", description="=1+1")),
        [came(1, 3), came(2, 10)],
        [invoice(bill(1, 4, "31.50"), bill(2, 10, "1.40"))],
    )
    settled = settle(found)
    return sheets.Reconciliation(
        sums=supplier_sums(found, settled),
        settled=settled,
        exceptions=exception_rows(settled),
        lines=line_rows(found, settled),
        materials=materials_used([], [], [], [], []),
        hours=hours_used([], []),
        proposed=[],
        tolerance="nothing",
    )


def values_of(spec):
    placed = layout(spec)
    return placed, evaluate(spec, placed)


def test_the_formulas_keep_to_good_practice():
    specs = [sheets.order_spec(odd_order(3)), sheets.reconciliation_spec(reconciliation(), WHEN)]
    for spec in specs:
        assert lint(spec, layout(spec)) == []


@pytest.mark.parametrize("seed", range(10))
def test_the_sum_of_a_printed_order_is_that_of_its_lines(seed):
    one = odd_order(seed)
    placed, values = values_of(sheets.order_spec(one))
    assert values[placed.address("order_total")] == pytest.approx(float(one.total))
    for row, ordered_line in enumerate(one.lines):
        assert values[placed.address("ol_amount", row)] == pytest.approx(float(ordered_line.amount))


def test_the_summary_adds_up_the_exceptions():
    placed, values = values_of(sheets.reconciliation_spec(reconciliation(), WHEN))
    # one of 4 at 31.50 did not come; 10 at 0.05 too much
    assert values[placed.address("s_claims")] == pytest.approx(32.00)
    assert values[placed.address("s_open")] == 2
    assert values[placed.address("r_open")] == 2


def test_words_from_outside_stay_words():
    book = openpyxl.load_workbook(io.BytesIO(sheets.reconciliation_workbook(reconciliation(), WHEN)))
    cells = [cell for row in book["All lines"].iter_rows() for cell in row if cell.value in {"=1+1", "thing 2"}]
    assert cells
    assert all(cell.data_type == "s" for cell in cells)


def test_more_lines_than_a_sheet_holds(monkeypatch):
    monkeypatch.setattr(sheets, "MOST_ROWS", 1)
    found = reconciliation()
    placed, values = values_of(sheets.reconciliation_spec(found, WHEN))
    assert values[placed.address("r_open")] == 2  # still all of them
    assert placed.count("l_sku") == 1


def test_the_columns_are_those_told():
    found = reconciliation()
    assert {len(row) for row in found.exceptions} == {len(EXCEPTION_COLUMNS)}
    assert {len(row) for row in found.lines} == {len(LINE_COLUMNS)}
