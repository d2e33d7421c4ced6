"""Chicago Building Code 18-29-1106.2: round leaders at one local rate; walls at 25 %. Read in the source."""

from __future__ import annotations

from baybook.data import table
from baybook.water import area_at_rain_sq_ft, flow_gpm, leader_capacity_gpm

# leader [in], roof [sq ft]
LEADERS = {2: 720, 2.5: 1_300, 3: 2_150, 4: 4_600, 5: 8_300, 6: 13_000, 8: 29_000}


def test_every_leader_serves_what_ours_does_at_one_rate():
    # The rate itself was not read: recomputed, each row gives 2.99 to 3.14 in/h, so 3 in/h and areas
    # rounded to hundreds and thousands: within 5 %.
    for size, printed in LEADERS.items():
        ours = area_at_rain_sq_ft(leader_capacity_gpm(size) / flow_gpm(1.0, 1.0), 3.0)
        assert abs(ours / printed - 1) < 0.05, size


def test_wall_share():
    assert [float(row["value"]) for row in table("wall_share") if row["code"] == "Chicago"] == [0.25]
