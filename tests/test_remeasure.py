"""A deck measured again: what differs, the change order, its signature, and what a stopped run leaves."""

from __future__ import annotations

import datetime as dt
import errno
from contextlib import suppress
from decimal import Decimal

import openpyxl
import pytest
from books import JOB, book_folder, csv_text, deck, inputs_of
from click.testing import CliRunner
from faults import failing_calls

from baybook.changes import ChangeRow, bay_changes, contract_of, goods_changes
from baybook.cli import main
from baybook.estimate import build_estimate
from baybook.files.book import read_book
from baybook.files.changes import read_changes
from baybook.files.write import sweep
from baybook.problems import BookError
from baybook.remeasure import decide_change, remeasure

ON = dt.date(2026, 7, 1)
WHEN = dt.datetime(2026, 7, 1, 9, 30)  # noqa: DTZ001  the time of the run is the user's own


def rows(*bays):
    return csv_text(
        [{"job": JOB, "area": "main", "bay": bay, "clear_width": wide, "clear_run": run} for bay, wide, run in bays]
    )


@pytest.fixture
def book(tmp_path):
    """The worked deck, offered, and two bays found longer than drawn, one of them narrower."""
    folder = book_folder(tmp_path / "book", job={"status": "offered"})
    (tmp_path / "measured.csv").write_text(
        rows(("3", "14 1/4 in", "144 3/4 in"), ("4", "", "146 in")), encoding="utf-8"
    )
    return folder


def run(*arguments, status=0):
    result = CliRunner().invoke(main, ["remeasure", *map(str, arguments)])
    assert isinstance(result.exception, (SystemExit, type(None))), result.exception
    assert result.exit_code == status, result.output
    return result


def test_bays_goods_and_price_by_hand(book, tmp_path):
    # Drawn: clear run 141, cut 142.5 = 141 + 1.5 - 3 + 3. Measured 144.75: 146.25, up to the next half inch 146.5;
    # 146: 147.5. Both are over 144: two sticks of 12 ft at 41 become two of 16 ft at 54. Bay 3 is a quarter inch
    # narrower, so its outlet takes less bead: still one cartridge. 26.00 more material, no overhead, profit or tax.
    (change,) = remeasure(book, tmp_path / "measured.csv", ON, WHEN).changes
    assert [(one.bay, one.cut_before_in, one.cut_after_in) for one in change.bays] == [
        ("main-3", 142.5, 146.5),
        ("main-4", 142.5, 147.5),
    ]
    assert (change.bays[0].width_before_in, change.bays[0].width_after_in) == (14.5, 14.25)
    assert [(one.sku, one.before, one.after, one.more) for one in change.goods] == [
        ("liner-12", 12, 10, -2),
        ("liner-16", 0, 2, 2),
    ]
    assert change.amount == Decimal("26.00")
    assert change.contract.total == change.before


def test_telling_writes_nothing(book, tmp_path):
    before = {path.name: path.read_bytes() for path in book.iterdir() if not path.name.startswith(".")}
    said = run(book, tmp_path / "measured.csv").output
    assert f"{JOB} liner: return 2 pieces of 12' 0\"" in said
    assert f"{JOB} liner: add 2 pieces of 16' 0\"" in said
    assert "(+26.00)" in said
    assert {path.name: path.read_bytes() for path in book.iterdir() if not path.name.startswith(".")} == before


def test_issued_signed_and_measured_once_more(book, tmp_path):
    bid = build_estimate(read_book(book, ON)[0]).totals.price
    run(book, tmp_path / "measured.csv", "--issue", "--by", "R. Holm", "--note", "out of square")
    assert f"waiting: --sign {JOB}-01" in run(book, tmp_path / "measured.csv", "--issue", "--by", "x", status=1).stderr
    run(book, "--sign", f"{JOB}-01", "--by", "the customer")
    assert build_estimate(read_book(book, ON)[0]).totals.price == bid + 26
    (tmp_path / "again.csv").write_text(rows(("4", "", "141 in")), encoding="utf-8")
    (change,) = remeasure(book, tmp_path / "again.csv", ON, WHEN).changes
    assert (change.number, change.amount) == (2, Decimal("-13.00"))
    assert change.contract.bid == bid
    assert change.contract.total == bid + 26
    run(book, tmp_path / "again.csv", "--issue", "--by", "R. Holm")
    run(book, "--withdraw", f"{JOB}-02", "--by", "R. Holm")
    log = read_changes(book)
    assert [(row.change, row.action) for row in log] == [(1, "issued"), (1, "signed"), (2, "issued"), (2, "withdrawn")]
    assert contract_of(JOB, bid, log).total == bid + 26
    (change,) = remeasure(book, tmp_path / "again.csv", ON, WHEN).changes
    assert change.number == 3, "a number is never used again"
    assert "does not wait" in run(book, "--sign", f"{JOB}-02", "--by", "x", status=1).stderr


def test_the_page_shows_the_contract_and_no_cost(book, tmp_path):
    done = remeasure(book, tmp_path / "measured.csv", ON, WHEN, issue=True, who="R. Holm", reason="out of square")
    page = openpyxl.load_workbook(next(path for path in done.paths if path.suffix == ".xlsx"), data_only=True)
    words = [str(cell.value) for sheet in page for row in sheet.iter_rows() for cell in row if cell.value is not None]
    said = " ".join(words).casefold()
    assert "out of square" in said
    assert "main-3" in said
    assert str(float(done.changes[0].after)) in words
    for never in ("cost", "margin", "markup", "overhead", "profit", "hours", "sku", "alder"):
        assert never not in said, never


def test_a_bay_behind_a_beam_and_one_that_is_none():
    framing = [{"kind": "flush_beam", "y": "6 ft", "plies": 2}]
    before = build_estimate(inputs_of(deck(framing=framing)))
    after = build_estimate(inputs_of(deck(framing=framing, measured=rows(("3b", "", "70 in")))))
    assert [one.bay for one in bay_changes(before, after)] == ["main-3b"]
    assert len(goods_changes(before, before)) == 0
    with pytest.raises(BookError, match="measured bay 40 is none of its bays: 1, 2"):
        build_estimate(inputs_of(deck(measured=rows(("40", "", "70 in")))))


@pytest.mark.parametrize(
    ("change", "status", "said"),
    [
        ({"status": "pricing"}, "pricing", "is still in pricing"),
        ({"status": "lost"}, "lost", "is lost: its contract does not change any more"),
    ],
)
def test_a_job_without_a_contract_gets_no_change_order(change, status, said, book, tmp_path):
    book_folder(book, job=change)
    with pytest.raises(BookError, match=said):
        remeasure(book, tmp_path / "measured.csv", ON, WHEN, issue=True, who="R. Holm")
    assert remeasure(book, tmp_path / "measured.csv", ON, WHEN).changes[0].status == status


@pytest.mark.parametrize(
    ("arguments", "status"),
    [
        ((), 2),
        (("--issue", "--by", "x"), 2),
        (("--sign", "a", "--withdraw", "b", "--by", "x"), 2),
        (("--sign", "a"), 1),
    ],
)
def test_wrong_use(arguments, status, book):
    run(book, *arguments, status=status)


def test_the_sum_of_signed_changes_alone_counts():
    def row(change, action, before, after):
        return ChangeRow(at="x", who="y", action=action, job="a", change=change, before=Decimal(before),
                         after=Decimal(after), currency="USD")  # fmt: skip

    first = [row(1, "issued", 100, 120), row(1, "signed", 100, 120)]
    log = [*first, row(2, "issued", 120, 90), row(2, "withdrawn", 120, 90), row(3, "issued", 120, 125)]
    contract = contract_of("A", Decimal(7), log)
    assert (contract.bid, contract.total, contract.last) == (100, 120, 3)
    assert [one.name for one in contract.waiting] == ["a-03"]
    assert contract_of("b", Decimal(7), log).total == 7


def test_whatever_call_fails_a_change_counts_whole_or_not_at_all(book, tmp_path):
    def start():
        for path in [*book.glob("changes/*"), *book.glob("changes.csv")]:
            path.unlink()

    def issue():
        return remeasure(book, tmp_path / "measured.csv", ON, WHEN, issue=True, who="R. Holm")

    with failing_calls() as calls:
        issue()
    whole = {path.name: path.read_bytes() for path in (book / "changes").iterdir()}
    for number in range(1, len(calls) + 1):
        start()
        with failing_calls(number, code=errno.ENOSPC), suppress(BookError):
            issue()
        sweep(book / "changes", older_than_s=-1)
        sweep(book, older_than_s=-1)
        if not read_changes(book):
            issue()
        assert len(read_changes(book)) == 1, calls[number - 1]
        left = {path.name: path.read_bytes() for path in (book / "changes").iterdir() if not path.name.startswith(".")}
        assert left == whole, calls[number - 1]


def test_a_signature_that_is_stopped_can_be_given_again(book, tmp_path):
    remeasure(book, tmp_path / "measured.csv", ON, WHEN, issue=True, who="R. Holm")
    name = f"{JOB}-01"
    with failing_calls() as calls:
        decide_change(book, name, "signed", "the customer", WHEN)
    for path in (book / "measured.csv", book / "changes.csv"):
        path.unlink()
    for number in range(1, len(calls) + 1):
        for path in [*book.glob("changes/*"), *book.glob("*changes*.csv"), *book.glob("measured*.csv")]:
            path.unlink()
        remeasure(book, tmp_path / "measured.csv", ON, WHEN, issue=True, who="R. Holm")
        with failing_calls(number), suppress(BookError):
            decide_change(book, name, "signed", "the customer", WHEN)
        sweep(book, older_than_s=-1)
        if read_changes(book)[-1].action != "signed":
            decide_change(book, name, "signed", "the customer", WHEN)
        assert [row.action for row in read_changes(book)] == ["issued", "signed"], calls[number - 1]
        assert len(read_book(book, ON)[0].measured) == 2
