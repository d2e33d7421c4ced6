"""What jobs really used, beside the take-off: by hand for the worked deck, and the rates that jobs bear out.

The worked deck needs 156 ft of tape net and 163.8 ft with 5 % waste (4 rolls of 50 ft), 12 outlets at 0.20 h each.
"""

from __future__ import annotations

import csv
import datetime as dt
import io
from dataclasses import replace
from decimal import Decimal

import pytest
from books import TODAY, all_inputs_of, deck, inputs_of
from purchases import line, order

from baybook.buying.records import HoursRow, Receipt, Return
from baybook.buying.report import proposed_rates_text
from baybook.buying.used import ENOUGH, hours_used, materials_used, proposals
from baybook.estimate import build_estimate


def jobs_of(count: int, status: str = "done"):
    """Return estimates of equal jobs J1, J2 and so on."""
    names = [f"J{n}" for n in range(1, count + 1)]
    tables = deck(jobs=[{"job": name, "status": status} for name in names], areas=[{"job": name} for name in names])
    return [build_estimate(one) for one in all_inputs_of(tables)]


def tape(job: str, rolls, number: str = "0001", **more):
    values = {"sku": "seam_tape", "item": "seam_tape", "pack_qty": Decimal(50), "unit": "ft"}
    return order(line(1, rolls, "18.75", **values | {"jobs": ((job, Decimal(rolls)),)} | more), number=number)


def received(quantity, number: str = "0001", sku: str = "seam_tape", damaged=0):
    return Receipt(
        order=number, sku=sku, quantity=Decimal(str(quantity)), received_on=TODAY, damaged=Decimal(str(damaged))
    )


def kept(quantity, kind: str = "left_over", job: str = "", number: str = "0001"):
    return Return(order=number, sku="seam_tape", quantity=Decimal(str(quantity)), returned_on=TODAY, kind=kind, job=job)


def hours(job: str, task: str, *spent: str):
    return [
        HoursRow(job=job, task=task, date=TODAY + dt.timedelta(n), person_hours=Decimal(one))
        for n, one in enumerate(spent)
    ]


PRICES = inputs_of(deck()).prices


def test_received_less_sent_back_and_left_over():
    """5 rolls came, 1 of them damaged; 0.4 of a roll went back, 0.26 is left: 167 ft used, 7.05 % over 156 ft."""
    frame = materials_used(
        jobs_of(1), [tape("J1", 5)], [received(5, damaged=1)], [kept("0.4", "returned"), kept("0.26")], PRICES
    )
    (row,) = frame.to_dict("records")
    assert (row["job"], row["item"], row["unit"], row["status"]) == ("J1", "seam_tape", "ft", "done")
    assert (row["net"], row["order"], row["received"], row["returned"], row["left_over"]) == (156, 163.8, 200, 20, 13)
    assert row["used"] == 167
    assert row["waste"] == pytest.approx(11 / 156)
    assert row["in_use"] == 0.05


def test_packs_of_several_jobs_go_by_their_shares():
    """8 rolls for two jobs came, 5 for one and 3 for the other; half a roll is left over from the second."""
    shared = tape("", 8, jobs=(("J1", Decimal(5)), ("J2", Decimal(3))))
    frame = materials_used(jobs_of(2), [shared], [received(8)], [kept("0.5", job="J2")], PRICES)
    assert dict(zip(frame["job"], frame["used"], strict=True)) == {"J1": 250, "J2": 125}


def test_cut_goods_are_measured_in_feet_and_get_no_rate():
    """12 pieces of 142.5 in are 142.5 ft; 13 stock pieces of 12 ft came, 156 ft."""
    liner = order(line(1, 13, "41.00", sku="liner-12", item="liner", unit="piece", jobs=(("J1", Decimal(13)),)))
    frame = materials_used(jobs_of(1), [liner], [received(13, sku="liner-12")], [], PRICES)
    (row,) = frame.to_dict("records")
    assert (row["unit"], row["net"], row["order"], row["used"]) == ("ft", 142.5, 144, 156)
    assert frame["in_use"].isna().all()
    assert proposals(frame, hours_used([], [])) == []


def test_hours_are_held_against_the_estimate():
    """12 outlets at 0.20 h are 2.4 h; 3.0 h were worked: 0.25 h each."""
    frame = hours_used(jobs_of(1), hours("J1", "outlet", "1.75", "1.25"))
    (row,) = frame.to_dict("records")
    assert (row["count"], row["estimated"], row["worked"], row["each"], row["in_use"]) == (12, 2.4, 3, 0.25, 0.2)


def spread():
    """Five jobs done: 160, 164, 168, 172 and 176 ft of tape used; outlets 2.4, 2.4, 3.0, 3.6 and 3.6 h."""
    estimates = jobs_of(5)
    orders = [tape(f"J{n}", 4, f"{n:04d}") for n in range(1, 6)]
    goods = [received(4, f"{n:04d}") for n in range(1, 6)]
    left = [kept(rest, number=f"{n:04d}") for n, rest in enumerate(("0.80", "0.72", "0.64", "0.56", "0.48"), 1)]
    worked = [row for n, h in enumerate(("2.4", "2.4", "3.0", "3.6", "3.6"), 1) for row in hours(f"J{n}", "outlet", h)]
    return estimates, orders, goods, left, worked


def proposed(estimates, orders, goods, left, worked):
    materials = materials_used(estimates, orders, goods, left, PRICES)
    return {one.key: one for one in proposals(materials, hours_used(estimates, worked))}


def test_five_jobs_bear_out_a_rate():
    """840 ft over 780 ft net are 7.69 %; 15 h over 60 outlets are 0.25 h."""
    found = proposed(*spread())
    tape_waste, outlet = found["waste_seam_tape"], found["hours_outlet"]
    assert (tape_waste.jobs, tape_waste.enough, tape_waste.in_use) == (5, True, 0.05)
    assert tape_waste.proposed == pytest.approx(840 / 780 - 1)
    assert tape_waste.low == pytest.approx(160 / 156 - 1)
    assert tape_waste.median == pytest.approx(168 / 156 - 1)
    assert tape_waste.high == pytest.approx(176 / 156 - 1)
    # 4 ft steps: deviations -8, -4, 0, 4, 8 ft, their squares 160 over 4 are 40
    assert tape_waste.deviation == pytest.approx(40**0.5 / 156)
    assert (outlet.proposed, outlet.low, outlet.quartile, outlet.high) == pytest.approx((0.25, 0.2, 0.2, 0.3))


def test_four_jobs_are_too_few():
    estimates, orders, goods, left, worked = spread()
    found = proposed(estimates[:4], orders, goods, left, worked)
    assert {one.jobs for one in found.values()} == {ENOUGH - 1}
    assert not any(one.enough for one in found.values())


def test_jobs_that_are_not_done_do_not_count():
    estimates, *rest = spread()
    running = [replace(one, inputs=replace(one.inputs, job=replace(one.inputs.job, status="won"))) for one in estimates]
    assert proposed(running, *rest) == {}


def test_the_text_is_a_rates_file_in_which_too_few_is_a_comment():
    rows = list(csv.DictReader(io.StringIO(proposed_rates_text(proposed(*spread()).values()))))
    by_key = {row["key"]: row for row in rows}
    assert (by_key["waste_seam_tape"]["job"], by_key["waste_seam_tape"]["value"]) == ("", "7.7%")
    assert by_key["hours_outlet"]["value"] == "0.250"
    assert by_key["waste_seam_tape"]["x_in_use"] == "5.0%"
    estimates, *rest = spread()
    few = list(csv.DictReader(io.StringIO(proposed_rates_text(proposed(estimates[:2], *rest).values()))))
    assert {row["job"] for row in few} == {"#"}
    assert {row["x_says"] for row in few} == {"too few jobs: 2, at least 5 are needed"}


def test_proposed_rates_are_read_as_rates():
    """What is proposed can be put into a book: the waste and the hours are then those."""
    text = proposed_rates_text(proposed(*spread()).values()).replace("\r\n", "\n")
    rates = inputs_of(deck(rates=None) | {"rates": text}).rates
    assert (rates.waste_of("seam_tape"), rates.hours_outlet) == (Decimal("0.077"), 0.25)


def test_less_than_net_proposes_no_waste_below_nothing():
    estimates = jobs_of(5)
    orders = [tape(f"J{n}", 3, f"{n:04d}") for n in range(1, 6)]
    found = proposed(estimates, orders, [received(3, f"{n:04d}") for n in range(1, 6)], [], [])
    assert found["waste_seam_tape"].proposed == 0
    assert found["waste_seam_tape"].median == pytest.approx(150 / 156 - 1)
