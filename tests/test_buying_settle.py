"""What becomes of findings: accepted, closed by credits, claimed in words; and the rows that are written."""

from __future__ import annotations

from decimal import Decimal

from purchases import back, bill, came, d, invoice, line, matched, only, order, states

from baybook.buying.records import Accepted
from baybook.buying.report import EXCEPTION_COLUMNS, LINE_COLUMNS, exception_rows, line_rows, supplier_sums
from baybook.buying.settle import claim_text, decided, settle


def accepted(mark, action="accepted"):
    return Accepted(at="2026-07-20 10:00:00", who="M. Varga", action=action, finding=mark)


def over():
    """4 at 33.00 for 31.50: 6.00 to claim."""
    return matched(order(line(1, 4, "31.50")), [came(1, 4)], [invoice(bill(1, 4, "33.00"))])


def with_credits(*given, **more):
    return matched(
        order(line(1, 10, "10.00"), line(2, 5, "4.00")),
        [came(1, 8), came(2, 5)],
        [invoice(bill(1, 10, "10.00"), bill(2, 5, "5.00")), *given],
        **more,
    )


def test_what_somebody_accepted_is_no_longer_open():
    found = over()
    mark = only(found, "price_over").mark
    assert states(found) == {"price_over": "open"}
    assert states(found, [accepted(mark)]) == {"price_over": "accepted"}
    assert states(found, [accepted(mark), accepted(mark, "withdrawn")]) == {"price_over": "open"}
    (one,) = settle(found, [accepted(mark)])
    assert (one.by, one.claim) == ("M. Varga, 2026-07-20 10:00:00", 0)


def test_what_was_accepted_is_open_again_when_its_figures_change():
    mark = only(over(), "price_over").mark
    worse = matched(order(line(1, 4, "31.50")), [came(1, 4)], [invoice(bill(1, 4, "40.00"))])
    assert states(worse, [accepted(mark)]) == {"price_over": "open"}


def test_the_last_row_of_the_log_counts():
    rows = [accepted("a"), accepted("b"), accepted("a", "withdrawn"), accepted("a")]
    assert decided(rows) == {"b": rows[1], "a": rows[3]}


def test_a_credit_of_the_goods_closes_the_claim():
    # 2 that did not come are 20.00, 5 at 1.00 too much are 5.00
    none = with_credits()
    assert states(none) == {"billed_not_received": "open", "price_over": "open"}
    goods = with_credits(invoice(bill(1, -2, "10.00"), number="C-1", days=20))
    assert states(goods) == {"billed_not_received": "closed", "price_over": "open"}
    both = with_credits(invoice(bill(1, -2, "10.00"), bill(2, -5, "1.00"), number="C-1", days=20))
    assert states(both) == {"billed_not_received": "closed", "price_over": "closed"}
    closed = settle(both)[0]
    assert closed.by == "credit C-1 of 2026-07-21"


def test_a_credit_that_names_only_the_invoice_closes_its_claims():
    lump = bill(9, -1, "25.00", order="", sku="", description="as agreed")
    found = with_credits(invoice(lump, number="C-1", days=20, credit_of="a-01"))
    assert states(found) == {"billed_not_received": "closed", "price_over": "closed"}


def test_a_credit_that_is_too_small_leaves_the_rest_to_claim():
    found = with_credits(invoice(bill(1, -1, "10.00"), number="C-1", days=20))
    rest = next(one for one in settle(found) if one.finding.kind == "billed_not_received")
    assert (rest.state, rest.credited, rest.claim) == ("open", d("10.00"), d("10.00"))
    assert claim_text(rest) == (
        "Invoice A-1 of 2026-07-08, our order 0001 line 1 (S1): You bill more than came: 10 billed, 8 came in good "
        "order. Please credit 10.00 USD; 10.00 came so far."
    )


def test_a_credit_goes_first_to_the_claim_of_its_amount():
    # 10 billed at 12.00 for 10.00 and 7 here: 36.00 for what did not come, 14.00 for the price; 14.00 comes back
    found = matched(
        order(line(1, 10, "10.00")), [came(1, 7)],
        [invoice(bill(1, 10, "12.00")), invoice(bill(1, -7, "2.00"), number="C-1", days=20)],
    )  # fmt: skip
    assert states(found) == {"billed_not_received": "open", "price_over": "closed"}
    found.findings.reverse()
    assert states(found) == {"billed_not_received": "open", "price_over": "closed"}


def test_a_credit_for_nothing_known_is_open():
    found = matched(
        order(line(1, 4, "31.50")), [came(1, 4)],
        [invoice(bill(1, 4, "31.50")), invoice(bill(1, -1, "31.50"), number="C-9", days=20)],
    )  # fmt: skip
    (one,) = settle(found)
    assert (one.finding.kind, one.finding.money, one.state) == ("unknown", d("-31.50"), "open")
    assert one.finding.said == "31.50 of this credit belongs to no claim"


def test_a_credit_closes_what_went_back():
    def of(*given):
        return matched(
            order(line(1, 4, "31.50")), [came(1, 4)], [invoice(bill(1, 4, "31.50")), *given], returns=[back(1, 1)]
        )

    assert states(of()) == {"returned": "open"}
    assert states(of(invoice(bill(1, -1, "31.50"), number="C-9", days=20))) == {"returned": "closed"}


def test_a_credit_note_may_bear_the_number_of_an_invoice():
    found = with_credits(invoice(bill(1, -2, "10.00"), number="A-1", days=20))
    assert "duplicate" not in states(found)


def test_a_credit_note_that_came_twice_counts_once():
    one, two = (invoice(bill(1, -1, "10.00"), number="C-1", days=days) for days in (20, 25))
    found = with_credits(one, two)
    rest = next(one for one in settle(found) if one.finding.kind == "billed_not_received")
    assert rest.credited == d("10.00")


def test_an_allowance_on_an_invoice_is_no_credit():
    allowance = bill(9, 1, "-3.00", order="0001", sku="", description="discount", whole=True)
    found = matched(order(line(1, 4, "31.50")), [came(1, 4)], [invoice(bill(1, 4, "31.50"), allowance)])
    assert settle(found) == []


def test_exceptions_come_dearest_first_and_notes_are_left_out():
    settled = settle(with_credits())
    rows = [dict(zip(EXCEPTION_COLUMNS, row, strict=True)) for row in exception_rows(settled)]
    assert [(row["kind"], row["claim"]) for row in rows] == [
        ("billed_not_received", d("20.00")), ("price_over", d("5.00")),
    ]  # fmt: skip
    assert rows[0]["file"] == "invoices.csv"
    assert rows[0]["wording"].endswith("Please credit 20.00 USD.")


def test_every_line_has_its_status_and_open_ones_come_first():
    found = matched(
        order(line(1, 4, "31.50"), line(2, 1, "9.00"), line(3, 2, "8.00")),
        [came(1, 4), came(2, 1), came(9, 1)],
        [invoice(bill(1, 4, "31.50"), bill(2, 1, "9.50"))],
    )
    rows = [dict(zip(LINE_COLUMNS, row, strict=True)) for row in line_rows(found, settle(found))]
    assert [(row["sku"], row["status"]) for row in rows] == [
        ("S2", "price over the order's"),
        ("S3", "ordered, not yet here"),
        ("S9", "received, not ordered"),
        ("S1", "matched"),
    ]


def test_sums_by_supplier_are_exact():
    credit = invoice(bill(1, -2, "10.00"), number="C-1", days=20)
    found = with_credits(credit)
    (one,) = supplier_sums(found, settle(found))
    # ordered 100 + 20; billed 100 + 25; credited 20; 5.00 left to claim
    assert (one.ordered, one.billed, one.credited, one.claims, one.open) == (120, 125, 20, Decimal("5.00"), 1)
