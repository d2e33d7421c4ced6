"""Three more decks worked by hand from the take-off rules, every quantity, the sums in the comments."""

from __future__ import annotations

import pytest
from books import taken

GPM = 7.480519 / 720  # gpm of 1 in/h on 1 sq ft
CARTRIDGE_FT = 30.943700  # 10.1 fl oz * 231/128 = 18.227 cu in over a 1/4 in round bead of 0.0490874 sq in


def nets(job):
    return {item: row["net"] for item, row in job["items"].items()}


def packs(job):
    return {item: row["packs"] for item, row in job["items"].items()}


class TestOddWidthDoubledJoistBordersAndDivider:
    """17 ft 5 in wide, 10 ft 6 in deep, 2x8; one border board each side, a divider at 8 ft, a doubled joist at 12 ft.

    Width 209. Field joists: k*16 - 0.75 < 207.5 up to k = 13, whose centre is min(208, 206.75): 206 to 207.5, tight
    against the end joist at 207.5. Border joints at 5.6875 from each face, two plies (3 wide): 4.1875 to 7.1875 and
    201.8125 to 204.8125. The right one leaves 206 - 204.8125 = 1.1875 < 1.5: packed, one end member 201.8125 to 209.
    Divider: pairs centred at 96 -+ 2.84375: 91.65625 to 94.65625 and 97.34375 to 100.34375; the joist at 96 is out.
    Doubled joist at 144: 142.5 to 145.5, over the field joist there.
    Members: 0-1.5, 4.1875-7.1875, 16, 32, 48, 64, 80, the pair, 112, 128, 142.5-145.5, 160, 176, 192, 201.8125-209: 16.
    """

    @pytest.fixture
    def job(self):
        area = {"width": "17 ft 5 in", "projection": "10'6\"", "joist": "2x8", "borders": 1}
        framing = [{"kind": "divider", "x": "8 ft"}, {"kind": "member", "x": "144 in", "plies": 2}]
        return taken(area=area, framing=framing)

    def test_members_and_bays(self, job):
        main = job["areas"]["main"]
        assert (main["members"], main["bays"], main["outlets"]) == (16, 15, 13)
        assert main["clear_widths_in"] == [
            2.6875,  # 4.1875 - 1.5: capped
            8.0625,  # 15.25 - 7.1875: an outlet cut narrower
            14.5,
            14.5,
            14.5,
            14.5,
            10.90625,  # 91.65625 - 80.75
            2.6875,  # 97.34375 - 94.65625: capped
            10.90625,  # 111.25 - 100.34375
            14.5,
            13.75,  # 142.5 - 128.75
            13.75,  # 159.25 - 145.5
            14.5,
            14.5,
            9.0625,  # 201.8125 - 192.75: an outlet cut narrower
        ]

    def test_panels(self, job):
        main = job["areas"]["main"]
        assert main["clear_run_in"] == 123  # 126 - 3
        assert main["cut_lengths_in"] == [124.5] * 15  # 123 + 1.5 - 3 + 3
        assert main["fall_in_per_ft"] == pytest.approx(48 / 123, abs=1e-6)
        assert main["outlet_trim_in"] == 2  # 9.25 - 7.25
        assert main["plan_area_sq_ft"] == 182.875  # 209 * 126 / 144

    def test_items(self, job):
        assert nets(job) == {
            # 13 panels; 2 narrow strips 2.6875 + 3 wide, three side by side: 1; 4 strips of 3 in over the border's,
            # the pair's and the doubled joist's members (the end member excepted), six side by side: 1
            "liner": 15,
            "gutter": 2,  # 209 = 120 + 89
            "leader": 1,
            "bay_outlet": 13,
            "seam_tape": 178.5,  # 15 members of one strip, the end member 7.1875 of two: 17 * 126 = 2,142 in
            # w: 8.0625: 14.357989, 14.5: 19.560495, 10.90625: 16.525764, 13.75: 18.907938, 9.0625: 15.088379
            # 7 of 14.5, 2 of 10.90625, 2 of 13.75: 237.237238 in = 19.769770 ft
            "sealant": pytest.approx(19.769770 / CARTRIDGE_FT, abs=1e-6),
            "staples": 534,  # pieces placed 13 + 2 + 4 = 19, each 2 * (ceil(10.375) + 1) = 24; 13 * 6
            "gutter_joiner": 1,
            "gutter_end_cap": 2,
            "gutter_drop": 1,
            "hanger": 15,  # ceil(13.0625) + 1
            "elbow": 3,
            "strap": 3,  # 2 + floor(100.75 / 60)
            "splash_block": 1,
        }
        assert job["bead_ft"] == pytest.approx(19.769770, abs=1e-6)
        # tape 187.425 of 50; sealant 0.703; staples 587.4 of 500
        assert [packs(job)[item] for item in ("liner", "seam_tape", "sealant", "staples")] == [15, 4, 1, 2]

    def test_water_and_gutter(self, job):
        assert job["flow_gpm"] == pytest.approx(5 * 182.875 * GPM, abs=1e-6)  # 9.5 gpm
        assert job["gutter_lines"] == {
            "main": {
                "length_ft": pytest.approx(209 / 12, abs=1e-6),
                "flow_gpm": job["flow_gpm"],
                "leaders": 1,  # 17.4 ft of a reach of 24
                "leader_length_in": pytest.approx(107.661458, abs=1e-6),  # 100.75 - 0.5 - 1.088542 - 3.5 + 12
                "joist_bottom_in": 100.75,
                "corners_outside": 0,
                "corners_inside": 0,
            }
        }

    def test_hours(self, job):
        # 178.5 * 0.01 = 1.785 goes half up; 17.4167 * 0.12 = 2.09
        assert job["hours"] == {
            "job": 3,
            "area": 1,
            "outlet": 2.6,
            "narrow_outlet": 0.3,
            "piece": 5.7,
            "tape_ft": 1.79,
            "gutter_ft": 2.09,
            "leader": 1,
        }
        assert job["labour_hours"] == 17.48

    def test_money(self, job):
        # 15*41 + 2*13.20 + 12.10 + 13*6.40 + 4*18.75 + 7.95 + 2*5.20 + 2.85 + 2*2.10 + 4.60 + 15*1.35 + 3*3.40
        # + 3*1.90 + 9.50 = 887.35; labour 17.48 * 60 = 1,048.80
        assert (job["totals"]["materials"], job["totals"]["labour"]) == ("887.35", "1048.80")
        assert job["totals"]["price"] == "1936.15"

    def test_warnings(self, job):
        (only,) = job["warnings"]
        assert only == "main: bay outlets cut narrower: 2 (O1)"


class TestLedgerSideGutterOn52Feet:
    """52 ft wide, 12 ft deep, the gutter on the ledger side.

    Field joists: k*16 - 0.75 < 622.5 up to k = 38: 40 members, 39 bays, the first and last 13.75.
    """

    @pytest.fixture
    def job(self):
        return taken(area={"width": "52 ft", "gutter_side": "ledger"})

    def test_members_and_panels(self, job):
        main = job["areas"]["main"]
        assert (main["members"], main["bays"], main["outlets"]) == (40, 39, 39)
        assert main["clear_widths_in"] == [13.75, *[14.5] * 37, 13.75]
        assert main["clear_run_in"] == 141
        assert main["cut_lengths_in"] == [143.5] * 39  # 141 + (1.5 + 1) - 3 + 3
        assert main["plan_area_sq_ft"] == 624

    def test_items(self, job):
        assert nets(job) == {
            # 39 panels; the apron, 624 long in 16-ft stock: three of 192 and one of 48; two of a length side by side in
            # 20 in: ceil(3/2) = 2 and 1
            "liner": 42,
            "gutter": 6,  # 5 of 120 and 24
            "leader": 6,  # 165.9375 = 120 + 45.9375, three times
            "bay_outlet": 39,
            "seam_tape": 532,  # 40 * 12 ft, and 52 ft along the high edge
            "sealant": pytest.approx(63.462850 / CARTRIDGE_FT, abs=1e-6),  # (37*19.560495 + 2*18.907938)/12 ft
            "staples": 1360,  # 39 * 26 + 3 * 2*(16 + 1) + 2*(4 + 1) + 39 * 6
            "gutter_joiner": 5,
            "gutter_end_cap": 2,
            "gutter_drop": 3,
            "hanger": 40,  # ceil(624/16) + 1
            "elbow": 9,
            "strap": 9,  # 3 * (2 + 1)
            "splash_block": 3,
        }
        # tape 558.6 of 50; sealant 2.256; staples 1,496 of 500
        assert [packs(job)[item] for item in ("seam_tape", "sealant", "staples")] == [12, 3, 3]

    def test_leaders(self, job):
        # reach 24: ceil(52/48) + 1 = 3; by flow 32.4156/22.6431: 2; by spacing ceil(52/50) = 2. Run 52/4 = 13 ft.
        line = job["gutter_lines"]["main"]
        assert line["leaders"] == 3
        assert line["flow_gpm"] == pytest.approx(5 * 624 * GPM, abs=1e-6)
        assert line["leader_length_in"] == 165.9375  # 98.75 - 0.5 - 0.8125 - 3.5 + 12 + 60

    def test_cut_plans(self, job):
        # Liner: two 192s for the aprons. A panel takes a stick of its own; 192 - 143.5 = 48.5 leaves the apron's 48:
        # one panel on a 16-ft stick (13.00 more) saves a stick for it: 38 * 41 + 3 * 54 = 1,720.
        # Gutter 5 + 1 sticks. Leader: three of 120; of 45.9375 two fit a stick: 3 + 2 sticks.
        assert job["cut_plan"] == {
            "liner": {"cost": "1720.00", "lower_bound": "1720.00", "proven": True, "stock": {"144": 38, "192": 3}},
            "gutter": {"cost": "79.20", "lower_bound": "79.20", "proven": True, "stock": {"120": 6}},
            "leader": {"cost": "60.50", "lower_bound": "60.50", "proven": True, "stock": {"120": 5}},
        }

    def test_hours(self, job):
        # pieces as placed 39 + 4
        assert job["hours"] == {
            "job": 3,
            "area": 1,
            "outlet": 7.8,
            "narrow_outlet": 0,
            "piece": 12.9,
            "tape_ft": 5.32,
            "gutter_ft": 6.24,
            "leader": 3,
        }
        assert job["labour_hours"] == 39.26

    def test_money(self, job):
        # 1720 + 79.20 + 60.50 + 39*6.40 + 12*18.75 + 3*7.95 + 3*5.20 + 5*2.85 + 2*2.10 + 3*4.60 + 40*1.35 + 9*3.40
        # + 9*1.90 + 3*9.50 = 2,536.20; labour 39.26 * 60 = 2,355.60
        assert (job["totals"]["materials"], job["totals"]["labour"]) == ("2536.20", "2355.60")

    def test_warnings(self, job):
        (only,) = job["warnings"]
        assert only.startswith("main: 52 ft of gutter, over 40 ft, needs an expansion joint")


class TestDeepDeckWithFlushBeam:
    """14 ft 8 in wide, 23 ft deep, 2x12, double rim, flush beam of three plies at 12 ft 3 in, 12 ft high.

    A wall 8 ft high sheds on it, four posts pierce the liner. Width 176: field joists to k = 10 (159.25 < 174.5; 175.25
    is not): 12 members, 11 bays, the first and last 13.75. Beam faces 144.75 and 149.25; rim's face 276 - 3 = 273.
    """

    @pytest.fixture
    def job(self):
        area = {
            "width": "14 ft 8 in",
            "projection": "23 ft",
            "joist": "2x12",
            "rim_plies": 2,
            "height": "12 ft",
            "wall_height": "8 ft",
            "posts_through": 4,
        }
        return taken(area=area, framing=[{"kind": "flush_beam", "y": "12 ft 3 in", "plies": 3}])

    def test_parts(self, job):
        bays = {"members": 12, "bays": 11, "outlets": 11, "clear_widths_in": [13.75, *[14.5] * 9, 13.75]}
        assert job["bays"] == 22
        assert job["areas"] == {
            "main/1": {
                **bays,
                "cut_lengths_in": [145] * 11,  # 143.25 + 1.5 - 3 + 3 = 144.75
                "clear_run_in": 143.25,  # 144.75 - 1.5
                "fall_in_per_ft": pytest.approx(0.335079, abs=1e-6),  # 48 / 143.25
                "outlet_trim_in": 0,
                "plan_area_sq_ft": pytest.approx(179.666667, abs=1e-6),  # 176 * 147 / 144
            },
            "main/2": {
                **bays,
                "cut_lengths_in": [128.5] * 11,  # 123.75 + 4.5 - 3 + 3 = 128.25
                "clear_run_in": 123.75,  # 273 - 149.25
                "fall_in_per_ft": pytest.approx(0.387879, abs=1e-6),  # 48 / 123.75
                "outlet_trim_in": 0,
                "plan_area_sq_ft": pytest.approx(157.666667, abs=1e-6),  # 176 * 129 / 144
            },
        }

    def test_two_gutter_lines(self, job):
        # part 1 also takes half of 8 ft * 14.667 ft of wall: 58.667 sq ft
        inner, outer = 5 * (179.666667 + 58.666667) * GPM, 5 * 157.666667 * GPM
        line = {
            "length_ft": pytest.approx(14.666667, abs=1e-6),
            "leaders": 1,
            "leader_length_in": pytest.approx(139.833333, abs=1e-6),  # 132.75 - 0.5 - 0.916667 - 3.5 + 12
            "joist_bottom_in": 132.75,
            "corners_outside": 0,
            "corners_inside": 0,
        }
        assert job["gutter_lines"] == {
            "main/1": {**line, "flow_gpm": pytest.approx(inner, abs=2e-6)},
            "main": {**line, "flow_gpm": pytest.approx(outer, abs=2e-6)},
        }
        assert job["flow_gpm"] == pytest.approx(inner + outer, abs=2e-6)

    def test_items(self, job):
        assert nets(job) == {
            "liner": 22,
            "gutter": 4,  # 120 and 56, twice
            "leader": 4,  # 120 and 19.875, twice
            "bay_outlet": 22,
            "outlet_extension": 22,  # 11.25 is deeper than 9.25
            "seam_tape": 288,  # 12 * 23 ft, members once; 4 posts * 3 ft
            # 2 * (9*19.560495 + 2*18.907938)/12 = 35.643389 ft; 4 posts * 2 ft
            "sealant": pytest.approx(43.643389 / CARTRIDGE_FT, abs=1e-6),
            "staples": 704,  # 11 * 2*(13 + 1) + 11 * 2*(11 + 1) + 22 * 6
            "gutter_joiner": 2,
            "gutter_end_cap": 4,
            "gutter_drop": 2,
            "hanger": 24,  # 2 * (176/16 + 1)
            "elbow": 6,
            "strap": 8,  # 2 * (2 + floor(132.75/60))
            "splash_block": 2,
        }
        # tape 302.4 of 50; sealant 1.551; staples 774.4 of 500
        assert [packs(job)[item] for item in ("seam_tape", "sealant", "staples")] == [7, 2, 2]

    def test_cut_plans(self, job):
        # 145 needs a 16-ft stick and leaves 47; 128.5 goes on a 12-ft one: 11 * 54 + 11 * 41
        # gutter: 2 of 120; 56 + 56 = 112 on a third stick. Leader: 2 of 120; 19.875 + 19.875 on a third.
        plans = {item: (plan["cost"], plan["stock"]) for item, plan in job["cut_plan"].items()}
        assert plans == {
            "liner": ("1045.00", {"144": 11, "192": 11}),
            "gutter": ("39.60", {"120": 3}),
            "leader": ("36.30", {"120": 3}),
        }

    def test_hours(self, job):
        assert job["hours"] == {
            "job": 3,
            "area": 1,  # one an area, not a part
            "outlet": 4.4,
            "narrow_outlet": 0,
            "piece": 6.6,
            "tape_ft": 2.88,
            "gutter_ft": 3.52,
            "leader": 2,
        }
        assert job["labour_hours"] == 23.4

    def test_money(self, job):
        # 1045 + 39.60 + 36.30 + 22*6.40 + 22*3.10 + 7*18.75 + 2*7.95 + 2*5.20 + 2*2.85 + 4*2.10 + 2*4.60 + 24*1.35
        # + 6*3.40 + 8*1.90 + 2*9.50 = 1,597.75; labour 23.40 * 60 = 1,404.00
        assert (job["totals"]["materials"], job["totals"]["labour"]) == ("1597.75", "1404.00")
        assert job["warnings"] == []
