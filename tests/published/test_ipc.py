"""International Plumbing Code: single numbers of its tables, as others quote them unless said otherwise.

The tables are the publisher's; the user types the adopted one, and these numbers go through that door.
"""

from __future__ import annotations

import pytest

from baybook.data import table
from baybook.water import AdoptedRow, adopted_capacity, catchment_sq_ft, flow_gpm, leader_capacity, suggestions


def test_one_inch_an_hour_on_a_square_foot():
    # 1106, quoted by another: 0.0104 gpm
    assert round(flow_gpm(1.0, 1.0), 4) == 0.0104
    assert flow_gpm(1.0, 1.0) == pytest.approx(0.01038961, abs=5e-9)


def test_wall_counts_by_half():
    # 1106.4, read in the source
    shares = {row["code"]: float(row["value"]) for row in table("wall_share")}
    assert shares["International Plumbing Code"] == 0.5
    assert catchment_sq_ft(200.0, shares["International Plumbing Code"], 10.0, 20.0) == 300.0


# Table 1106.3, 2015 and 2018, quoted by another; 5, 6 and 8 in: values from memory. [gpm]
LEADERS = {"2": 30, "2x2": 30, "2x4": 92, "3": 92, "2-1/2x3": 92, "4": 192, "5": 360, "6": 563, "8": 1_208}


@pytest.mark.parametrize(("size", "gpm"), LEADERS.items())
def test_leaders_here_carry_less_than_the_code_of_2015_allows(size, gpm):
    rows = [AdoptedRow(name, value) for name, value in LEADERS.items()]
    typed = adopted_capacity(rows, size, "International Plumbing Code", "2018")
    assert typed.value_gpm == gpm
    assert "2018" in typed.edition
    assert leader_capacity(size).value_gpm < gpm


def test_two_editions_of_one_gutter_differ_by_two():
    # 5 in half-round at 1/8 in/ft: Table 1106.6 of 2018 quoted by another; 3,520 sq ft of 2012: value from memory
    later = [AdoptedRow("5 in half-round", 74.0, 0.125), AdoptedRow("6 in half-round", 110.0, 0.125)]
    earlier = [AdoptedRow("5 in half-round", flow_gpm(1.0, 3_520.0), 0.125)]
    new = adopted_capacity(later, "5 in half-round", "International Plumbing Code", "2018", 0.125)
    old = adopted_capacity(earlier, "5 in half-round", "International Plumbing Code", "2012", 0.125)
    assert old.value_gpm == pytest.approx(36.6, abs=0.05)
    assert new.value_gpm / old.value_gpm == pytest.approx(2.0, abs=0.03)
    assert new.edition != old.edition
    # an assumed flow between the two: the edition alone decides
    assert new.carries(50.0)
    assert not old.carries(50.0)


def test_cities_of_appendix_b():
    # 2018, Appendix B, p. 129: rain of 60 minutes once in 100 years, in/h; read in the source
    printed = {
        ("Birmingham", "AL"): 3.8,
        ("Mobile", "AL"): 4.6,
        ("Fairbanks", "AK"): 1.0,
        ("Juneau", "AK"): 0.6,
        ("Flagstaff", "AZ"): 2.4,
        ("Jacksonville", "FL"): 4.3,
        ("Miami", "FL"): 4.7,
        ("Tampa", "FL"): 4.5,
        ("Atlanta", "GA"): 3.7,
        ("Savannah", "GA"): 4.3,
        ("Louisville", "KY"): 3.2,
        ("New Orleans", "LA"): 4.8,
        ("Shreveport", "LA"): 3.9,
        ("Bangor", "ME"): 2.2,
        ("Helena", "MT"): 1.5,
        ("Missoula", "MT"): 1.3,
        ("North Platte", "NE"): 3.3,
    }
    shown = suggestions()
    assert {(row.place, row.state): row.rain_in_per_h for row in shown} == printed
    assert {(row.duration_min, row.ari_years) for row in shown} == {(60, 100)}
    assert all(row.basis.startswith("suggestion") and "2018" in row.basis and "129" in row.basis for row in shown)
