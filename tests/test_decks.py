"""Ten worked decks: one bay and the gutter of each worked by hand from the rules, and the whole take-off as it was.

The take-offs in tests/golden/decks were made by the program once and looked at; the hand work here proves a deck.
``python tests/test_decks.py`` writes them anew: look at the difference before it is committed.

The liner of all of them: drape 4, side lap 1.5, high lap 1.5, setback 3; trim allowance 3; steps of 0.5. Ledger 1.5.
Rain 5 in/h: a square foot sheds 5 x 7.480519/720 = 0.051948 gpm. Lengths in inches.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import NamedTuple

import decks
import pytest

from baybook.report import as_data

GOLDEN = Path(__file__).parent / "golden" / "decks"


class Bay(NamedTuple):
    """What the rules give of one bay, typed from the hand work beside it."""

    deck: str
    name: str
    clear_in: float
    run_in: float
    cut_in: float
    need_in: float
    plan_sq_ft: float
    flow_gpm: float


class Gutter(NamedTuple):
    """What they give of one gutter line."""

    deck: str
    name: str
    length_in: float
    corners_out: int
    joiners: int
    pieces_in: tuple[float, ...]


BAYS = (
    # Joists at 16 on centre: bay 11 from 160.75 to 175.25, clear 14.5. The clip runs from (192, 108) to (144, 168): y =
    # 108 + 1.25 (192 - x), 147.0625 at 160.75, where the bay is longest. The rim, 1.5 square to the clip, is along the
    # joist 1.5 sqrt(1 + 1.25^2) = 2.40117. Run 147.0625 - 2.40117 - 1.5 = 143.16133; + 1.5 - 3 + 3 = 144.66133: 145.
    # Width 2 sqrt(7.25^2 + 4^2) + 3 = 2 x 8.28025 + 3. Catchment from 160 to 176, 138 deep in its middle: 16 x 138/144.
    Bay("clipped_corner", "garden-11", 14.5, 143.16133, 145.0, 19.56049, 15.33333, 0.79654),
    # Bay 2 from 16.75 to 31.25; the slant is y = 96 + x: 127.25 at 31.25. Rim 1.5 sqrt 2 = 2.12132. Run 127.25 -
    # 2.12132 - 1.5 = 123.62868; + 1.5 = 125.12868: 125.5. Catchment from 16 to 32, 120 deep in its middle: 16 x
    # 120/144.
    Bay("bay_front", "bay-2", 14.5, 123.62868, 125.5, 19.56049, 13.33333, 0.69264),
    # The leg is 96 wide: an end joist from 94.5 to 96 along its inner side, packed with the field joist at 96: 94.5 to
    # 96.75. Bay 7 from there to 111.25. Run 96 - 1.5 - 1.5 = 93, cut 94.5. Catchment from the middle of that member,
    # 95.625, to 112: 16.375 x 96/144.
    Bay("shared_gutter", "ell-7", 14.5, 93.0, 94.5, 19.56049, 10.91667, 0.56710),
    # The mitre runs from (144, 0) to (240, 96), framed as a ledger: y = x - 144, 32.75 at 176.75, its face 1.5 sqrt 2 =
    # 2.12132 farther. Run 94.5 - 34.87132 = 59.62868; + 1.5 = 61.12868: 61.5. Catchment from 176 to 192, 96 - 40 = 56
    # deep in its middle: 16 x 56/144.
    Bay("wrap_around", "west-12", 14.5, 59.62868, 61.5, 19.56049, 6.22222, 0.32323),
    # The opening: x 72 to 108, y 48 to 108, headers and trimmers of two plies, 3. Bay 8 from the joist at 96 (face
    # 96.75) to the trimmer at 108: 11.25. Its part at the ledger: 48 - 3 - 1.5 = 43.5 long, high at the header, over
    # which it laps 3: 43.5 + 3 - 3 + 3 = 46.5. Width 2 sqrt(5.625^2 + 4^2) + 3 = 2 x 6.90222 + 3. The trimmer is packed
    # with the joist at 112, 108 to 112.75: catchment from 96 to its middle, 110.375, and to the opening: 14.375 x
    # 48/144.
    Bay("stair_opening", "porch-8a", 11.25, 43.5, 46.5, 16.80444, 4.79167, 0.24892),
    # Bay 10 from 144.75 to 159.25; the clip is y = 120 - (x - 132): 107.25 at 144.75. Run 107.25 - 2.12132 - 1.5 =
    # 103.62868; + 1.5 = 105.12868: 105.5. Catchment from 144 to 160, 100 deep in its middle: 16 x 100/144.
    Bay("two_levels", "upper-10", 14.5, 103.62868, 105.5, 19.56049, 11.11111, 0.57720),
    # The divider at 72: pairs at 72 -+ (5.5 + 0.1875)/2 = 69.15625 and 74.84375, two plies each: from 67.65625. The
    # joist at 72 falls out. Bay 6 from 60.75: 6.90625. Run 144 - 3 = 141, cut 142.5. Width 2 sqrt(3.453125^2 + 4^2) + 3
    # = 2 x 5.28432 + 3. Catchment from 60 to 69.15625, 144 deep: 9.15625.
    Bay("twelve_on_centre", "terrace-6", 6.90625, 141.0, 142.5, 13.56865, 9.15625, 0.47565),
    # Joists 1.75 thick: bay 10 from 144.875 to 159.125, 14.25. The clip is y = 132 - (x - 120): 107.125 at 144.875. Rim
    # 1.75 sqrt 2 = 2.47487. Run 107.125 - 2.47487 - 1.5 = 103.15013; + 1.5 = 104.65013: 105. Width 2 sqrt(7.125^2 +
    # 4^2) + 3 = 2 x 8.17102 + 3. Catchment from 144 to 160, 100 deep in its middle.
    Bay("engineered", "balcony-10", 14.25, 103.15013, 105.0, 19.34205, 11.11111, 0.57720),
    # The beam at 180, 4.5 wide: the outer part begins at 182.25. Bay 7 from 96.75; the clip is y = 360 - (x - 72):
    # 335.25 at 96.75. Run 335.25 - 2.12132 - 182.25 = 150.87868; its high lap is the beam's width, + 4.5 - 3 + 3 =
    # 155.37868: 155.5. Catchment from 96 to 112, from the beam's middle 180 to 328 in its middle: 16 x 148/144.
    Bay("deep_with_beam", "hall-7b", 14.5, 150.87868, 155.5, 19.56049, 16.44444, 0.85426),
    # The arc at x = 12, 24, 36: 24 + 12 sqrt(100 - 49) = 109.697, 120, 24 + 12 sqrt(100 - 25) = 127.923; to the
    # sixteenth 109.6875, 120, 127.9375. Bay 2 is longest at 31.25, on the chord that rises 7.9375 in 12, 0.661458: 120
    # + 7.25 x 0.661458 = 124.79557. Rim 1.5 sqrt(1 + 0.661458^2) = 1.79845. Run 124.79557 - 1.79845 - 1.5 = 121.49712;
    # + 1.5 = 122.99712: 123. Catchment from 16 to 32: y(16) = 109.6875 + 4 x 0.859375 = 113.125, y(32) = 120 + 8 x
    # 0.661458 = 125.29167: (8 x 116.5625 + 8 x 122.64583)/144.
    Bay("curved_front", "round-2", 14.5, 121.49712, 123.0, 19.56049, 13.28935, 0.69036),
)

GUTTERS = (
    # the front to 144, then the clip of 48 by 60: sqrt(5904) = 76.83749, cut 76 14/16; it turns by 51 degrees
    Gutter("clipped_corner", "garden", 220.83749, 1, 1, (120.0, 24.0, 76.875)),
    # two slants of 48 sqrt 2 = 67.88225, cut 67 15/16, and the front of 96; both turns are of 45 degrees
    Gutter("bay_front", "bay", 231.76450, 2, 0, (67.9375, 96.0, 67.9375)),
    # the landing's 72, and 240 - 96 = 144 of the ell: a joiner in it and one between the two areas, both square there
    Gutter("shared_gutter", "yard", 216.0, 0, 2, (72.0, 120.0, 24.0)),
    Gutter("shared_gutter", "ell line 2", 96.0, 0, 0, (96.0,)),
    # 240 + 480 + 240 of whole sticks: 1 + 3 + 1 joiners in the areas; from area to area 45 + 45 degrees of deck meet at
    # the mitre: two outside corners
    Gutter("wrap_around", "round the house", 960.0, 2, 5, (120.0,) * 8),
    # the rim's whole width; and at the ledger from the middle of the left trimmer, 70.5, to 110.375
    Gutter("stair_opening", "porch", 192.0, 0, 1, (120.0, 72.0)),
    Gutter("stair_opening", "porch line 2", 39.875, 0, 0, (39.875,)),
    # 132 and 36 sqrt 2 = 50.91169, cut 50 15/16
    Gutter("two_levels", "upper", 182.91169, 1, 1, (120.0, 12.0, 50.9375)),
    # the notch from 72 to 144 parts the front in three
    *(Gutter("two_levels", name, 72.0, 0, 0, (72.0,)) for name in ("lower", "lower line 2", "lower line 3")),
    Gutter("twelve_on_centre", "terrace", 245.82338, 2, 1, (50.9375, 120.0, 24.0, 50.9375)),
    # 120 and 60 sqrt 2 = 84.85281, cut 84 14/16
    Gutter("engineered", "balcony", 204.85281, 1, 0, (120.0, 84.875)),
    # 72 and 72 sqrt 2 = 101.82338, cut 101 14/16; at the beam the whole width
    Gutter("deep_with_beam", "hall", 173.82338, 1, 0, (72.0, 101.875)),
    Gutter("deep_with_beam", "hall line 2", 144.0, 0, 1, (120.0, 24.0)),
    # rises 13.6875, 10.3125, 7.9375, 6.0625, 4.5, 3.0625, 1.8125, 0.625 in 12: chords 18.20296, 15.82238, 14.38763,
    # 13.44448, 12.81601, 12.38462, 12.13611, 12.01626: 111.21045, twice. It turns by 8.1 degrees at most, under the 10
    # that take a corner piece: 15 joiners
    Gutter("curved_front", "round", 222.42090, 0, 15,
           (18.25, 15.875, 14.4375, 13.5, 12.875, 12.4375, 12.1875, 12.0625,
            12.0625, 12.1875, 12.4375, 12.875, 13.5, 14.4375, 15.875, 18.25)),
)  # fmt: skip


@pytest.mark.parametrize("due", BAYS, ids=lambda due: due.name)
def test_one_bay_worked_by_hand(due):
    (part,) = (one for one in decks.worked(due.deck).takeoff.parts if one.name == due.name)
    bay = part.bays[0]
    assert (bay.clear_in, part.cut_length_in) == (due.clear_in, due.cut_in)
    assert part.clear_run_in == bay.run_in == pytest.approx(due.run_in, abs=1e-5)
    assert bay.width_needed_in == pytest.approx(due.need_in, abs=1e-5)
    assert part.plan_area_sq_ft == pytest.approx(due.plan_sq_ft, abs=1e-5)
    assert part.flow_gpm == pytest.approx(due.flow_gpm, abs=1e-5)


@pytest.mark.parametrize("due", GUTTERS, ids=lambda due: due.name)
def test_the_gutter_worked_by_hand(due):
    (line,) = (one for one in decks.worked(due.deck).takeoff.lines if one.name == due.name)
    assert line.length_in == pytest.approx(due.length_in, abs=2e-5)
    assert (line.corners_out, line.corners_in, line.joiners) == (due.corners_out, 0, due.joiners)
    assert tuple(piece / 16 for piece in line.gutter_pieces) == due.pieces_in


def test_every_deck_has_a_bay_and_all_its_gutters_worked():
    assert {bay.deck for bay in BAYS} == set(decks.WORKED)
    worked = {(one.deck, one.name) for one in GUTTERS}
    assert worked == {(name, line.name) for name in decks.WORKED for line in decks.worked(name).takeoff.lines}


# Areas of the outlines in square feet by hand: box less corners.
PLANS = {
    "clipped_corner": 16 * 14 - 4 * 5 / 2,
    "bay_front": 16 * 12 - 2 * 4 * 4 / 2,
    "shared_gutter": 20 * 8 + 8 * 6 + 6 * 8,
    "wrap_around": (12 + 20) / 2 * 8 + (24 + 40) / 2 * 8 + (12 + 20) / 2 * 8,
    "stair_opening": 16 * 14 - 3 * 5,
    "two_levels": 14 * 10 - 3 * 3 / 2 + 18 * 12 - 6 * 3,
    "twelve_on_centre": 18 * 12 - 2 * 3 * 3 / 2,
    "engineered": 15 * 11 - 5 * 5 / 2,
    "deep_with_beam": 12 * 30 - 6 * 6 / 2,
    # trapezoids of one foot: (96 + 144 + 2 (109.6875 + 120 + 127.9375 + 134 + 138.5 + 141.5625 + 143.375)) x 12/144
    "curved_front": (96 + 144 + 2 * 915.0625) * 12 / 144,
}


@pytest.mark.parametrize("name", decks.WORKED)
def test_catchments_add_up_to_the_deck(name):
    """Every drop that falls on the deck falls on one bay's share; through an opening it falls on nothing."""
    plan = sum(part.plan_area_sq_ft for part in decks.worked(name).takeoff.parts)
    assert plan == pytest.approx(PLANS[name], abs=1e-6)


def test_engineered_lumber_takes_an_extension_an_outlet():
    # 11.875 deep, outlets made for 9.25; 11 bays: the last field joist, 175.125 to 176.875, is packed with the end
    # joist
    estimate = decks.worked("engineered")
    (take,) = estimate.takeoff.areas
    assert (len(take.parts), take.extended) == (11, True)
    assert {need.item: need.net for need in estimate.takeoff.needs}["outlet_extension"] == 11


def text_of(name: str) -> str:
    return json.dumps(as_data(decks.worked(name)), indent=1, ensure_ascii=False) + "\n"


@pytest.mark.parametrize("name", decks.WORKED)
def test_the_whole_takeoff_is_the_golden_one(name):
    assert text_of(name) == (GOLDEN / f"{name}.json").read_text(encoding="utf-8")


if __name__ == "__main__":
    GOLDEN.mkdir(parents=True, exist_ok=True)
    for deck in decks.WORKED:
        (GOLDEN / f"{deck}.json").write_text(text_of(deck), encoding="utf-8")
