"""Orders: what they hold, what is taken off, their numbers, records, revisions, freight and dates.

The worked deck needs 12 liner pieces of 12 ft, 12 outlets, 163.8 ft of tape (4 rolls of 50 ft), 2 sticks of gutter, 13
hangers, 3 straps (section 8 of the rules, by hand).
"""

from __future__ import annotations

import csv
import datetime as dt
from decimal import Decimal
from pathlib import Path

import pytest
from books import JOB, PRICE_ROWS, TODAY, book_folder, csv_text, offer
from hypothesis import given
from hypothesis import strategies as st
from purchases import line

from baybook.buying.orders import difference, jobs_of, jobs_text
from baybook.buying.records import Supplier
from baybook.files.orders import write_order
from baybook.ledger import issue_orders, revise_order
from baybook.pricing.freight import freight_due
from baybook.problems import BookError

WHEN = dt.datetime(2026, 6, 20, 9, 30)  # noqa: DTZ001 - a wall clock as the log shows it
WON = {"status": "won"}


def book_of(tmp_path: Path, **changes):
    return book_folder(tmp_path / "book", **({"job": WON} | changes))


def issue(book: Path, on: dt.date = TODAY, **more):
    return issue_orders(book, None, on, WHEN, **more)


def packs(issued) -> dict[str, Decimal]:
    return {one.sku or one.item: one.packs for order in issued.orders for one in order.lines}


def put(book: Path, name: str, *rows: dict) -> None:
    (book / f"{name}.csv").write_text(csv_text(rows), encoding="utf-8")


def settings(book: Path, *rows: tuple[str, str, str]) -> None:
    put(book, "buying", *({"job": job, "key": key, "value": value} for job, key, value in rows))


def straps(book: Path, count: int) -> None:
    put(book, "overrides", {"job": JOB, "item": "strap", "quantity": count})


def splash(book: Path, count: int) -> None:
    put(book, "overrides", {"job": JOB, "item": "splash_block", "quantity": count})


# ---------------------------------------------------------------------------------------------- what an order holds


def test_the_worked_deck(tmp_path):
    issued = issue(book_of(tmp_path))
    (order,) = issued.orders
    assert (order.number, order.revision, order.supplier, order.issued_on) == ("0001", 0, "Alder Yard", TODAY)
    assert packs(issued) == {
        "liner-12": 12, "bay_outlet": 12, "seam_tape": 4, "sealant": 1, "staples": 1, "gutter": 2, "gutter_joiner": 1,
        "gutter_end_cap": 2, "gutter_drop": 1, "hanger": 13, "leader": 1, "elbow": 3, "strap": 3, "splash_block": 1,
    }  # fmt: skip
    tape = next(one for one in order.lines if one.sku == "seam_tape")
    assert (tape.pack_qty, tape.unit, tape.pack_price, tape.amount) == (50, "ft", Decimal("18.75"), Decimal("75.00"))
    assert tape.jobs == ((JOB, Decimal(4)),)


def test_the_csv_has_the_columns_told(tmp_path):
    book = book_of(tmp_path)
    issue(book)
    rows = list(csv.DictReader((book / "orders" / "0001.csv").open(encoding="utf-8", newline="")))
    told = "order revision issued_on supplier line sku item description packs pack_qty unit pack_price amount currency"
    assert " ".join(rows[0]) == f"{told} jobs"
    tape = next(row for row in rows if row["sku"] == "seam_tape")
    assert tape["packs"] == "4"
    assert (tape["pack_qty"], tape["amount"], tape["jobs"]) == ("50", "75.00", JOB)
    assert {path.name for path in (book / "orders").iterdir()} == {"0001.csv", "0001.xlsx", "0001.xml", "counter.txt"}


def test_one_order_a_supplier(tmp_path):
    other = [dict(row, supplier="Skerrow") if row["item"] in {"gutter", "hanger"} else row for row in PRICE_ROWS]
    issued = issue(book_of(tmp_path, prices=other))
    assert [(one.number, one.supplier, len(one.lines)) for one in issued.orders] == [
        ("0001", "Alder Yard", 12), ("0002", "Skerrow", 2),
    ]  # fmt: skip


def test_the_price_is_that_of_the_day_of_the_order(tmp_path):
    strap = next(row for row in PRICE_ROWS if row["item"] == "strap")
    prices = [row for row in PRICE_ROWS if row is not strap]
    prices += [dict(strap, valid_to="2026-06-30"), dict(strap, pack_price="2.40", valid_from="2026-07-01")]
    for on, price in ((dt.date(2026, 6, 30), "1.90"), (dt.date(2026, 7, 1), "2.40")):
        (order,) = issue(book_of(tmp_path / on.isoformat(), prices=prices), on).orders
        assert next(one for one in order.lines if one.sku == "strap").pack_price == Decimal(price)


def test_only_jobs_that_are_won_unless_named(tmp_path):
    book = book_of(tmp_path, job={"status": "offered"})
    with pytest.raises(BookError, match=r"no job is won \(D8 is offered\): goods are ordered for jobs that are won"):
        issue(book)
    assert len(issue(book, jobs=["d8"]).orders) == 1
    with pytest.raises(BookError, match="there is no job 'x'"):
        issue(book, jobs=["x"])


# ---------------------------------------------------------------------------------------------- what is taken off


def test_a_second_order_asks_for_nothing(tmp_path):
    book = book_of(tmp_path)
    issue(book)
    again = issue(book)
    assert (again.orders, again.paths) == ((), ())


def test_only_what_is_new_is_ordered(tmp_path):
    """Two posts take 6 ft of tape more, with 5 % 170.1 ft: the 200 ft on order do; 8 straps are 5 more than 3."""
    book = book_of(tmp_path)
    issue(book)
    book_of(tmp_path, area={"posts_through": 2})
    straps(book, 8)
    assert packs(issue(book)) == {"strap": 5}


def test_tape_beyond_what_is_on_order(tmp_path):
    """15 posts take 45 ft more: (156 + 45) 1.05 = 211.05 ft, 11.05 beyond 4 rolls: one roll."""
    book = book_of(tmp_path)
    issue(book)
    book_of(tmp_path, area={"posts_through": 15})
    assert packs(issue(book))["seam_tape"] == 1


def test_stock_pieces_on_order_go_into_the_cut_plan(tmp_path):
    """One bay more (17 ft 4 in wide, 14 joists): one liner piece more than the 12 on order."""
    book = book_of(tmp_path)
    issue(book)
    book_of(tmp_path, area={"width": "17 ft 4 in"})
    found = packs(issue(book))
    assert (found["liner-12"], found["bay_outlet"]) == (1, 1)


def test_pieces_that_the_estimator_set_are_not_ordered_twice(tmp_path):
    book = book_of(tmp_path, overrides=[{"item": "liner", "length": "12 ft", "quantity": 14}])
    assert packs(issue(book))["liner-12"] == 14
    assert issue(book).orders == ()


def test_another_pack_of_the_same_item_counts_as_on_order(tmp_path):
    """3 straps are on order singly; then packs of 10 become cheapest: for 8 straps 5 are missing: one pack."""
    book = book_of(tmp_path)
    issue(book)
    book_of(tmp_path, more_prices=[offer("strap", "2.00", sku="strap-10", pack_qty=10)])
    straps(book, 8)
    assert packs(issue(book)) == {"strap-10": 1}


def test_offcuts_on_hand_are_used_and_not_by_two_jobs(tmp_path):
    """One 12 ft piece lies in the rack: of two equal jobs one buys 11 pieces, the other 12."""
    jobs = [WON | {"job": "A"}, WON | {"job": "B"}]
    areas = [{"job": "A"}, {"job": "B"}]
    rack = [{"item": "liner", "length": "12 ft", "quantity": 1}]
    issued = issue(book_of(tmp_path, jobs=jobs, areas=areas, stock=rack, job=None))
    assert sorted(one.packs for order in issued.orders for one in order.lines if one.sku == "liner-12") == [11, 12]


def test_an_offcut_that_an_ordered_job_counts_on_is_not_given_away(tmp_path):
    """The same, one job ordered first: the other, ordered later, still buys 12."""
    jobs, areas = [WON | {"job": "A"}, WON | {"job": "B"}], [{"job": "A"}, {"job": "B"}]
    book = book_of(
        tmp_path, jobs=jobs, areas=areas, job=None, stock=[{"item": "liner", "length": "12 ft", "quantity": 1}]
    )
    assert packs(issue(book, jobs=["B"]))["liner-12"] == 11
    assert packs(issue(book, jobs=["A"]))["liner-12"] == 12


def test_a_number_that_left_the_price_list_is_told(tmp_path):
    book = book_of(tmp_path)
    issue(book)
    prices = [dict(row, sku="new-12") if row["sku"] == "liner-12" else row for row in PRICE_ROWS]
    book_of(tmp_path, prices=prices)
    issued = issue(book)
    assert [str(one) for one in issued.told] == [
        "0001.csv:2: sku: liner-12 of order 0001 is not in prices.csv: without its length it is not taken off"
    ]
    assert packs(issued) == {"new-12": 12}


# ---------------------------------------------------------------------------------------------- numbers and records


def test_a_number_is_never_used_again(tmp_path):
    book = book_of(tmp_path)
    issue(book)
    for path in (book / "orders").glob("0001.*"):
        path.unlink()
    assert issue(book).orders[0].number == "0002"
    (book / "orders" / "counter.txt").unlink()
    for path in (book / "orders").glob("0002*"):
        path.rename(path.with_name(path.name.replace("0002", "0041")))
    straps(book, 9)
    assert issue(book).orders[0].number == "0042"  # without the counter the highest file counts


def test_a_counter_that_cannot_be_read_is_refused(tmp_path):
    book = book_of(tmp_path)
    (book / "orders").mkdir()
    (book / "orders" / "counter.txt").write_text("five", encoding="utf-8")
    with pytest.raises(BookError, match=r"counter\.txt:1: holds 'five'; it must hold the number of the last order"):
        issue(book)
    assert list((book / "orders").glob("0*")) == []


def test_a_record_is_never_rewritten(tmp_path):
    book = book_of(tmp_path)
    (order,) = issue(book).orders
    before = (book / "orders" / "0001.csv").read_bytes()
    with pytest.raises(BookError, match="an issued order is a record and never rewritten"):
        write_order(book, order)
    straps(book, 9)
    issue(book)
    revise_order(book, "0001", None, TODAY, WHEN)
    assert (book / "orders" / "0001.csv").read_bytes() == before


def test_the_same_inputs_give_the_same_files(tmp_path):
    files = []
    for name in ("one", "two"):
        book = book_of(tmp_path / name)
        issue(book)
        files.append({path.name: path.read_bytes() for path in (book / "orders").iterdir()})
    assert files[0] == files[1]


def test_out_gets_what_leaves_the_office_and_the_book_keeps_the_record(tmp_path):
    book = book_of(tmp_path)
    issue_orders(book, tmp_path / "out", TODAY, WHEN)
    assert {path.name for path in (book / "orders").iterdir()} == {"0001.csv", "counter.txt"}
    assert {path.name for path in (tmp_path / "out").iterdir()} == {"0001.csv", "0001.xlsx", "0001.xml"}


# ---------------------------------------------------------------------------------------------- revisions


def test_a_revision_says_what_changed(tmp_path):
    book = book_of(tmp_path)
    issue(book)
    straps(book, 8)
    issued = revise_order(book, "0001", None, TODAY + dt.timedelta(1), WHEN)
    (order,) = issued.orders
    assert (order.number, order.revision, order.name, order.notes) == ("0001", 1, "0001-1", ("strap: 3 becomes 8",))
    assert packs(issued)["strap"] == 8
    assert packs(issued)["liner-12"] == 12
    assert (book / "orders" / "0001-1.csv").exists()
    assert issue(book).orders == ()  # the revision counts as on order


def test_without_a_change_there_is_no_revision(tmp_path):
    book = book_of(tmp_path)
    issue(book)
    assert revise_order(book, "1".zfill(4), None, TODAY, WHEN).orders == ()
    with pytest.raises(BookError, match="there is no order '0009' to revise"):
        revise_order(book, "0009", None, TODAY, WHEN)


def test_a_line_keeps_its_number_and_a_new_one_gets_one_never_used(tmp_path):
    book = book_of(tmp_path)
    (first,) = issue(book).orders
    splash(book, 0)
    (second,) = revise_order(book, "0001", None, TODAY, WHEN).orders
    assert second.notes == ("splash_block dropped: 1 at 9.50",)
    splash(book, 4)
    (third,) = revise_order(book, "0001", None, TODAY, WHEN).orders
    assert third.notes == ("splash_block added: 4 at 9.50",)
    numbers = {one.sku: one.line for one in third.lines}
    last = first.lines[-1]
    assert last.sku == "splash_block"
    assert numbers == {one.sku: one.line for one in first.lines} | {"splash_block": last.line + 1}


def test_a_revision_stays_with_its_supplier(tmp_path):
    book = book_of(tmp_path)
    issue(book)
    book_of(tmp_path, more_prices=[offer("strap", "0.10", supplier="Cheap Shop", sku="C")])
    straps(book, 5)
    (order,) = revise_order(book, "0001", None, TODAY, WHEN).orders
    assert (order.supplier, order.notes) == ("Alder Yard", ("strap: 3 becomes 5",))


def test_differences_of_price_and_jobs():
    old = [line(1, 2, "5.00"), line(2, 1, "1.00")]
    new = [line(1, 2, "5.50"), line(2, 1, "1.00", jobs=(("B", Decimal(1)),))]
    assert difference(old, new) == ("S1: price 5.00 becomes 5.50", "S2: for B, 1 each a pack")
    assert difference(old, old) == ()


# ---------------------------------------------------------------------------------------------- freight, dates, address

TERMS = {"supplier": "Alder Yard", "currency": "USD", "freight": "45", "minimum_order": "", "free_freight_from": ""}


def test_freight_is_a_line_of_the_order(tmp_path):
    book = book_of(tmp_path)
    put(book, "suppliers", TERMS)
    (order,) = issue(book).orders
    last = order.lines[-1]
    assert (last.item, last.packs, last.amount, last.jobs) == ("freight", 1, Decimal("45.00"), ((JOB, Decimal(1)),))
    assert order.total == sum(one.amount for one in order.lines)


@pytest.mark.parametrize(("goods", "freight"), [("999.99", "45.00"), ("1000.00", "0"), ("1000.01", "0")])
def test_freight_is_free_from_a_limit_on(goods, freight):
    terms = Supplier(supplier="A", currency="USD", freight=Decimal(45), free_freight_from=Decimal(1000))
    assert freight_due(Decimal(goods), terms) == Decimal(freight)


def test_an_order_under_the_minimum_is_held(tmp_path):
    book = book_of(tmp_path)
    put(book, "suppliers", TERMS | {"minimum_order": "5000"})
    issued = issue(book)
    # the goods of the worked deck: 492 of liner, 76.80 of outlets, 75 of tape, 106.25 of all the rest
    assert (issued.orders, issued.held) == ((), 1)
    assert issued.told[0].message == "goods of 750.05 stay 4249.95 under the minimum of Alder Yard, 5000"
    assert not (book / "orders" / "counter.txt").exists()
    assert len(issue(book, below_minimum=True).orders) == 1


def test_dates_come_from_start_buffer_and_lead(tmp_path):
    prices = [dict(row, lead_days=6) if row["item"] == "liner" else row for row in PRICE_ROWS]
    book = book_of(tmp_path, prices=prices)
    settings(book, (JOB, "start", "2026-07-20"), ("", "buffer_days", "3"))
    issued = issue(book)
    assert issued.orders[0].wanted_on == dt.date(2026, 7, 17)
    assert issued.order_by == (dt.date(2026, 7, 11),)
    assert issued.told == ()


def test_a_late_order_is_told(tmp_path):
    prices = [dict(row, lead_days=6) if row["item"] == "liner" else row for row in PRICE_ROWS]
    book = book_of(tmp_path, prices=prices)
    settings(book, (JOB, "start", "2026-06-20"))
    (told,) = issue(book).told
    assert told.message == "should have been ordered by 2026-06-12: goods wanted on 2026-06-18 take 6 days"


TWO = {
    "jobs": [WON | {"job": "A", "site": "1 Rd"}, WON | {"job": "B", "site": "2 Rd"}],
    "areas": [{"job": "A"}, {"job": "B"}],
}


def test_each_job_has_an_order_of_its_own_unless_asked(tmp_path):
    book = book_of(tmp_path, **TWO, job=None)
    orders = issue(book).orders
    assert [(one.number, one.ship_to) for one in orders] == [("0001", "1 Rd"), ("0002", "2 Rd")]


def test_several_jobs_on_one_order_keep_their_packs(tmp_path):
    book = book_of(tmp_path, **TWO, job=None)
    put(book, "suppliers", TERMS)
    with pytest.raises(BookError, match="A and B go on one order and have different sites: set ship_to"):
        issue(book, together=True)
    settings(book, ("", "ship_to", "Yard; Back gate"))
    (order,) = issue(book, together=True).orders
    assert order.ship_to == "Yard\nBack gate"
    tape = next(one for one in order.lines if one.sku == "seam_tape")
    assert (tape.packs, jobs_text(tape.jobs)) == (8, "A (4); B (4)")
    assert jobs_text(order.lines[-1].jobs) == "A (0.5); B (0.5)"  # freight by the goods
    assert issue(book, together=True).orders == ()


def test_jobs_in_words():
    two = (("LH-021", Decimal(4)), ("TM-034", Decimal("0.5")))
    assert jobs_of(jobs_text(two), Decimal("4.5")) == two
    assert jobs_of("LH-021", Decimal(4)) == (("LH-021", Decimal(4)),)
    assert jobs_of("", Decimal(4)) == ()
    odd = (("deck (2)", Decimal(3)),)
    assert jobs_of(jobs_text(odd), Decimal(3)) == odd


@given(
    st.lists(
        st.tuples(
            st.text(st.characters(codec="utf-8", exclude_categories=["C", "Z"]), min_size=1, max_size=12),
            st.decimals("0.0001", 9999, places=4),
        ),
        min_size=1,
        max_size=5,
    )
)
def test_jobs_read_back(jobs):
    total = sum(packs for _, packs in jobs)
    assert jobs_of(jobs_text(jobs), total) == tuple(jobs)
