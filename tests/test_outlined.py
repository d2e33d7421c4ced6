"""Outlined and measured areas from book to workbook: boxes are rectangles, the tape wins, refusals are clear."""

from __future__ import annotations

import datetime as dt
import math
from dataclasses import replace
from functools import lru_cache

import again
import books
import decks
import handmade
import pytest
from books import csv_text, deck, inputs_of

from baybook.estimate import build_estimate
from baybook.job.records import Measured
from baybook.numbers import r6
from baybook.problems import BookError
from baybook.report import as_data
from baybook.takeoff.drawn import MOST_BAYS, drawn_take
from baybook.takeoff.take import tape_in
from baybook.workbook.build import Made, make_workbook
from baybook.workbook.declare import column_letter
from baybook.workbook.evaluate import evaluate
from baybook.workbook.read import book_of
from baybook.workbook.redeclare import redeclare
from baybook.workbook.refresh import refreshed
from baybook.workbook.verify import verified

WHEN = dt.datetime(2026, 6, 15, 12, 0)  # noqa: DTZ001  the file holds no zone
LATER = dt.datetime(2026, 7, 1, 9, 30)  # noqa: DTZ001  the same
RECTANGLES = 200


def outlined(outline, **more):
    return deck(area={"width": None, "projection": None, "outline": outline, **more}, more_prices=decks.CORNERS)


# ------------------------------------------------------------------------------------- a rectangle given as an outline


@pytest.mark.parametrize(
    ("outline", "size"),
    [
        ("0,0; 16,0; 16,12; 0,12", {}),
        ("16,12; 0,12; 0,0; 16,0; 16,12", {}),  # closed, from another corner
        ("0,0; 0,12; 8,12; 16,12; 16,0", {}),  # the other way round, a corner in a straight
        ("100,7; 116,7; 116,19; 100,19", {}),  # from another origin
        ("0,0; 12,0; 12,16; 0,16", {"joists": "along"}),  # drawn from above, the joists along the house
        ("0,0; 16 ft,0; 192 in,144 in; 0,12'", {"width": "16 ft", "projection": "12 ft"}),
    ],
)
def test_a_rectangle_given_as_an_outline_gives_the_same_workbook_to_the_byte(outline, size):
    plain = make_workbook(books.estimate(more_prices=decks.CORNERS), WHEN)
    drawn = make_workbook(build_estimate(inputs_of(outlined(outline, **size))), WHEN)
    assert drawn.values == plain.values
    assert drawn.data == plain.data  # so every cell of every sheet


# ------------------------------------------------------------------------------- the drawn way against the rectangle's


def rectangles():
    """Yield the areas of random books, their plain take-off, and the same area cut out of its box."""
    seed = count = 0
    while count < RECTANGLES:
        estimate = books.random_estimate(seed)
        seed += 1
        inputs = estimate.inputs
        for take in estimate.takeoff.areas:
            area = take.area
            framing = [row for row in inputs.framing if row.area.casefold() == area.area.casefold()]
            yield take, drawn_take(area, framing, take.liner, inputs.rates, (), inputs.job.rain_in_per_h), inputs
            count += 1


@lru_cache(maxsize=1)
def pairs():
    return tuple(rectangles())[:RECTANGLES]


def bays_of(take):
    """Bay by number, from the ledger out: (its part, the bay)."""
    found = {}
    for part in take.parts:
        for bay in part.bays:
            found.setdefault(bay.number, []).append((part, bay))
    return found


def test_two_hundred_random_rectangles_hold_everything_a_rectangle_can_have():
    takes = [plain for plain, _, _ in pairs()]
    assert len(takes) == RECTANGLES
    assert sum(len(take.parts) > 1 for take in takes) > 20  # flush beams
    assert sum(take.area.gutter_side == "ledger" for take in takes) > 30
    assert sum(take.parts[0].wide_members > 0 for take in takes) > 30
    assert sum(take.parts[0].narrow_bays > 0 for take in takes) > 10
    assert sum(take.area.wall_height_in > 0 or take.area.roof_area_sq_ft > 0 for take in takes) > 30
    assert sum(take.area.borders > 0 for take in takes) > 20
    assert {take.area.layout for take in takes} == {"left", "right", "even"}


def test_members_bays_runs_and_cut_lengths_of_rectangles():
    bays = 0
    for plain, drawn, _ in pairs():
        assert drawn.members == plain.members
        ours, theirs = bays_of(drawn), bays_of(plain)
        assert ours.keys() == theirs.keys()
        for number, of_bay in theirs.items():
            assert len(ours[number]) == len(of_bay)
            for (part, bay), (whole, due) in zip(ours[number], of_bay, strict=True):
                assert bay.clear_in == due.clear_in
                assert bay.left_in == due.left_in
                assert part.clear_run_in == pytest.approx(whole.clear_run_in, abs=1e-9)
                assert part.cut_length_in == bay.cut_length_in == due.cut_length_in
                assert part.fall_in_per_ft == pytest.approx(whole.fall_in_per_ft, rel=1e-9)
                assert (bay.drains, bay.narrow_outlet, bay.low_end) == (due.drains, due.narrow_outlet, due.low_end)
                assert bay.width_needed_in == due.width_needed_in
                assert part.toward_ledger is whole.toward_ledger
                bays += 1
    assert bays > 10 * RECTANGLES


def test_catchments_of_rectangles_from_member_centre_to_member_centre():
    for plain, drawn, _ in pairs():
        middles = [(one.left_in + one.right_in) / 2 for one in plain.members]
        bounds = [0.0, *middles[1:-1], plain.area.width_in]
        for number, of_bay in bays_of(plain).items():
            pitch = bounds[number] - bounds[number - 1]
            for (part, _), (whole, _) in zip(bays_of(drawn)[number], of_bay, strict=True):
                # a rectangle's part: its plan area is width x depth, a bay's share pitch x the same depth
                assert part.plan_area_sq_ft == pytest.approx(
                    whole.plan_area_sq_ft * pitch / plain.area.width_in, abs=1e-6
                )
        total = plain.area.width_in * plain.area.projection_in / 144
        assert sum(part.plan_area_sq_ft for part in drawn.parts) == pytest.approx(total, abs=1e-6)


def test_tape_aprons_and_flow_of_rectangles():
    for plain, drawn, _ in pairs():
        assert tape_in(drawn) == pytest.approx(tape_in(plain), abs=1e-6)
        assert drawn.apron_in == pytest.approx(plain.area.width_in if plain.area.gutter_side == "ledger" else 0.0)
        assert sum(part.flow_gpm for part in drawn.parts) == pytest.approx(
            sum(part.flow_gpm for part in plain.parts), rel=1e-9
        )
        assert (drawn.outlet_trim_in, drawn.extended) == (plain.outlet_trim_in, plain.extended)


def test_gutter_lines_of_rectangles():
    for plain, drawn, _ in pairs():
        flows = {}
        for part in drawn.parts:
            flows[part.line] = flows.get(part.line, 0.0) + (part.flow_gpm if part.bays else 0.0)
        ours = sorted((r6(sum(line.stretches_in)), r6(flows[line.name])) for line in drawn.edges)
        theirs = sorted((r6(part.line_in), r6(part.flow_gpm)) for part in plain.parts)
        assert [one for pair in ours for one in pair] == pytest.approx([one for pair in theirs for one in pair])
        assert all(len(line.stretches_in) == 1 and line.turns_deg == () for line in drawn.edges)
        assert drawn.edges[0].name == (plain.area.gutter_line or plain.area.area)


def test_cap_strips_of_rectangles_differ_in_pooling_only():
    """P5. A part of a rectangle pools strips as wide as its widest; a drawn strip has its own width.

    A wide member's strip ends at each flush beam (G6): over a member as many strips as parts, each as long as theirs.
    """
    beams = 0
    for plain, drawn, _ in pairs():
        caps = [part for part in drawn.parts if part.narrow_bays]
        assert len(caps) == sum(part.narrow_bays for part in plain.parts)
        widest = max((part.narrow_strip_in for part in plain.parts), default=0.0)
        assert max((part.narrow_strip_in for part in caps), default=0.0) == pytest.approx(widest)
        members = [part for part in drawn.parts if part.wide_members]
        due = [part.cut_length_in for part in plain.parts for _ in range(part.wide_members)]
        assert sorted(part.cut_length_in for part in members) == sorted(due)
        assert max((part.wide_strip_in for part in members), default=0.0) == plain.parts[0].wide_strip_in
        beams += bool(due) and len(plain.parts) > 1
    assert beams > 10


@pytest.mark.parametrize(("side", "cuts"), [("rim", (70.5, 72.0)), ("ledger", (72.0, 71.5))])
def test_a_cap_strip_over_a_flush_beam_by_hand(side, cuts):
    """A tripled joist, 4.5 wide, over a beam of two plies at 6 ft; rim at 12 ft; high lap 1.5, setback 3, trim 3.

    From the ledger to the beam 72 - 1.5 - 1.5 = 69 clear, and 144 - 1.5 - 73.5 = 69 from there to the rim; setback and
    trim cancel. Toward the rim: up the ledger 69 + 1.5; over the beam, two plies, 69 + 3. Toward the ledger: over the
    beam 69 + 3; over the rim and down 1, 69 + 1.5 + 1.
    """
    framing = [
        {"area": "deck", "kind": "flush_beam", "y": "6 ft", "plies": 2},
        {"area": "deck", "kind": "member", "x": "8 ft", "plies": 3},
    ]
    inputs = inputs_of(deck(area={"area": "deck", "gutter_side": side}, framing=framing))
    tape = Measured(job=inputs.job.job, area="deck", bay="1a", clear_run_in=69.0)
    estimate = build_estimate(replace(inputs, measured=(tape,)))
    strips = {part.name: part.cut_length_in for part in estimate.takeoff.parts if part.wide_members}
    assert strips == dict(zip(("deck member 7a", "deck member 7b"), cuts, strict=True))
    make_workbook(estimate, WHEN)  # its formulas are held against the engine


def forced(inputs):
    """A measured row of the first bay of each area that says what is drawn: so every area takes the drawn way."""
    estimate = build_estimate(inputs)
    rows = tuple(
        Measured(
            job=inputs.job.job,
            area=take.area.area,
            bay="1" if len(take.parts) == 1 else "1a",
            clear_run_in=take.parts[0].clear_run_in,
        )
        for take in estimate.takeoff.areas
    )
    return estimate, build_estimate(replace(inputs, measured=rows))


def without_strips(seed):
    """A random job whose liner needs no cap strips, the one thing in which the two ways pool otherwise."""
    inputs = books.random_job(seed)
    return replace(inputs, rates=replace(inputs.rates, wide_member=50.0, narrow_bay_in=0.01))


def test_whole_jobs_taken_the_drawn_way_cost_the_same():
    same = beams = ledgers = 0
    for seed in range(60):
        inputs = without_strips(seed)
        if any(area.gutter_line for area in inputs.areas):
            continue  # a gutter along several areas is pieced area by area: the next test
        try:
            plain, drawn = forced(inputs)
        except BookError:
            continue  # a bay that was capped needs more liner than there is
        ours, theirs = as_data(drawn), as_data(plain)
        assert ours["items"] == theirs["items"], seed
        assert ours["totals"] == theirs["totals"], seed
        same += 1
        beams += any(len(take.parts) > 1 for take in plain.takeoff.areas)
        ledgers += any(take.area.gutter_side == "ledger" for take in plain.takeoff.areas)
    assert same >= 15
    assert min(beams, ledgers) >= 5


def test_a_gutter_along_several_drawn_areas_is_pieced_area_by_area():
    """G12, T4. Rectangles of one line: 16 + 10 = 26 ft is 10, 10 and 6, two joiners, hangers ceil(312/16) + 1 = 21.

    Drawn, their stretches: 10 and 6, and 10: a joiner in the first and one to the next area; hangers 13 and
    ceil(120/16) + 1 = 9.
    """
    areas = [{"area": "main", "gutter_line": "front"}, {"area": "side", "width": "10 ft", "gutter_line": "front"}]
    plain, drawn = forced(inputs_of(deck(areas=areas)))
    (rectangles,), (outlines,) = plain.takeoff.lines, drawn.takeoff.lines
    assert [piece / 16 for piece in rectangles.gutter_pieces] == [120, 120, 72]
    assert (rectangles.joiners, rectangles.hangers) == (2, 21)
    assert [piece / 16 for piece in outlines.gutter_pieces] == [120, 72, 120]
    assert (outlines.joiners, outlines.hangers) == (2, 13 + 9)
    assert (outlines.length_in, outlines.leaders, outlines.flow_gpm) == pytest.approx(
        (rectangles.length_in, rectangles.leaders, rectangles.flow_gpm)
    )


# -------------------------------------------------------------------------------------------------------- its mirror


@pytest.mark.parametrize("name", ["clipped_corner", "shared_gutter", "stair_opening", "two_levels", "engineered"])
def test_the_mirror_of_a_deck_is_the_same_deck(name):
    """Corners and openings mirrored and the layout begun at the right end: the same work, money and water."""
    tables = decks.WORKED[name]()
    inputs = inputs_of(tables)
    widths = {area.area: area.width_in for area in inputs.areas}
    rows = decks.rows_of(tables, "areas")
    for row, area in zip(rows, inputs.areas, strict=True):
        row["layout"] = "right"
        if area.shape:
            corners = [(area.width_in - x, y) for x, y in area.shape.corners]
            row["outline"] = "; ".join(f"{x!r} in,{y!r} in" for x, y in corners)
    framing = decks.rows_of(tables, "framing")
    for row, one in zip(framing, inputs.framing, strict=True):
        row["x"] = f"{widths[one.area] - one.x_in - (one.width_in or 0.0)!r} in"
    tables |= {"areas": csv_text(rows)} | ({"framing": csv_text(framing)} if framing else {})
    mirrored, straight = build_estimate(inputs_of(tables)), build_estimate(inputs)
    ours, theirs = as_data(mirrored), as_data(straight)
    assert ours["items"] == theirs["items"]
    assert ours["totals"] == theirs["totals"]
    lengths = [sorted(line.length_in for line in one.takeoff.lines) for one in (mirrored, straight)]
    assert lengths[0] == pytest.approx(lengths[1], abs=1e-6)


# ---------------------------------------------------------------------------------------------- measured bay by bay


CLIPPED = "0,0; 16,0; 16,9; 12,14; 0,14"


def with_measured(outline, *rows, **more):
    rows = [{"job": books.JOB, "area": "main", **row} for row in rows]
    return outlined(outline, **more) | {"measured": csv_text(rows)}


def part_named(estimate, name):
    return next(part for part in estimate.takeoff.parts if part.name == name)


def test_the_tape_measure_wins_over_the_drawing():
    # bay 3: drawn 14.5 wide and 168 - 3 = 165 long; measured 14 3/8 and 163: 163 + 1.5 - 3 + 3 = 164.5, a whole step
    # width needed 2 sqrt(7.1875^2 + 16) + 3 = 2 x 8.22558 + 3 = 19.45116
    drawn = build_estimate(inputs_of(outlined(CLIPPED)))
    found = build_estimate(
        inputs_of(with_measured(CLIPPED, {"bay": "3", "clear_width": "14 3/8 in", "clear_run": "163"}))
    )
    bay = part_named(found, "main-3").bays[0]
    assert (bay.clear_in, bay.run_in, bay.cut_length_in) == (14.375, 163.0, 164.5)
    assert bay.width_needed_in == pytest.approx(19.45116, abs=5e-6)
    assert bay.width_needed_in == 2 * math.hypot(7.1875, 4) + 3
    before, after = part_named(drawn, "main-3"), part_named(found, "main-3")
    assert before.cut_length_in == 166.5  # 165 + 1.5
    assert after.plan_area_sq_ft == before.plan_area_sq_ft  # the catchment stays the drawing's
    assert part_named(found, "main-4") == part_named(drawn, "main-4")


def test_the_tape_measure_wins_in_the_workbook():
    estimate = build_estimate(inputs_of(with_measured(CLIPPED, {"bay": "3", "clear_run": "163 in"})))
    made = make_workbook(estimate, WHEN)
    rows = range(made.layout.count("p_name"))
    (row,) = [at for at in rows if made.values[made.layout.address("p_name", at)] == "main-3"]
    assert made.values[made.layout.address("p_clear", row)] == 163
    assert made.values[made.layout.address("p_cut", row)] == 164.5


def test_a_narrow_gap_measured_is_capped():
    # 4.9 in is no more than narrow_bay, 5: a cap strip 4.9 + 3 wide and no outlet (G5, P5)
    found = build_estimate(inputs_of(with_measured(CLIPPED, {"bay": "3", "clear_width": "4.9 in"})))
    part = part_named(found, "main-3")
    assert (part.outlets, part.strips) == (0, 1)
    assert part.narrow_strip_in == pytest.approx(7.9)


# -------------------------------------------------------------------------------------------------------- refusals


@pytest.mark.parametrize(
    ("tables", "words"),
    [
        (outlined("0,0; 16,9; 16,0; 0,9"), r"corner 1 \(0, 0\): the edge from it to corner 2 .* crosses"),
        (outlined("0,0; 16,0; 16,9; 8,0; 0,9"), r"corner 4 \(8, 0\): it touches the edge from corner 1"),
        (outlined("0,0; 16,0"), r"2 corners: an outline needs at least 3"),
        (outlined("0,0; 16; 0,9"), r"corner 2 is 16: write two lengths with a comma between"),
        (outlined("0,0; 16,0; 16,x; 0,9"), r"corner 3 \(16,x\)"),
        (outlined(CLIPPED, width="15 ft"), r"15 ft is not what the outline of area main says, 16 ft across"),
        (outlined(CLIPPED, projection="12 ft"), r"12 ft is not what the outline of area main says, 14 ft across"),
        (outlined(None), r"is empty: area main needs it, or an outline"),
        (with_measured(CLIPPED, {"bay": "13", "clear_run": "100"}), r"measured bay 13 is none of its bays: 1, 2, 3"),
        (with_measured(CLIPPED, {"bay": "3b", "clear_run": "100"}), r"measured bay 3b is none of its bays"),
        (with_measured(CLIPPED, {"bay": "3"}), r"is empty, and so is clear_width: give what was measured"),
        (with_measured(CLIPPED, {"bay": "3", "clear_run": "0"}), r"clear_run"),
        (with_measured(CLIPPED, *[{"bay": "3", "clear_run": "100"}] * 2), r"bay"),
        (
            outlined("0,0; 16,0; 16,3 in; 1,2 in"),
            r"area main: its outline leaves no bay between joists: check its corners",
        ),
        (
            deck(area={"joists": "along"}),
            r"area main is a rectangle: measure its width across the joists and leave this out",
        ),
    ],
)
def test_what_is_refused_is_said_with_its_corner_or_bay(tables, words):
    with pytest.raises(BookError, match=words):
        build_estimate(inputs_of(tables))


def comb(teeth, across_ft):
    """A spine of a foot along the joists and equal teeth across all of them; each tooth cuts each bay once."""
    step = 12 * 200 // (2 * teeth - 1)
    turns = [(0, 0), (12 * across_ft, 0)]
    for one in range(1, 2 * teeth - 1, 2):
        turns += [
            (12 * across_ft, one * step),
            (12, one * step),
            (12, (one + 1) * step),
            (12 * across_ft, (one + 1) * step),
        ]
    far = (2 * teeth - 1) * step
    return "; ".join(f"{x} in,{y} in" for x, y in [*turns, (12 * across_ft, far), (0, far)])


def test_a_comb_of_more_bays_than_a_workbook_has_room_for_is_refused():
    (area,) = build_estimate(inputs_of(outlined(comb(10, 40)))).takeoff.areas
    pieces = len(area.drawing.segments)
    assert 250 < pieces <= MOST_BAYS
    with pytest.raises(
        BookError, match=r"outline: area main: its outline cuts the joist bays into \d{3} pieces, the most is"
    ):
        build_estimate(inputs_of(outlined(comb(14, 40))))


# ------------------------------------------------------------------------------------------------ metric, and along


def test_a_metric_outline_is_read_in_its_units_and_needs_them():
    said = "0 mm,0 mm; 4800 mm,0 mm; 4800 mm,2700 mm; 3600 mm,4200 mm; 0 m,4.2 m"
    metric = {"width": None, "projection": None, "spacing": "400 mm", "joist": "235 mm", "height": "2700 mm"}
    tables = deck(area={**metric, "outline": said}, rates={"units": "metric"}, more_prices=decks.CORNERS)
    estimate = build_estimate(inputs_of(tables))
    (take,) = estimate.takeoff.areas
    assert take.area.width_in == pytest.approx(4800 / 25.4)
    # 4.8 x 4.2 m less the triangle of 1.2 x 1.5 m: 20.16 - 0.9 = 19.26 sq m
    assert sum(part.plan_area_sq_ft for part in take.parts) * 0.09290304 == pytest.approx(19.26, abs=1e-6)
    # gutter: 3.6 m and the slope of 1.2 by 1.5 m, 1.920937 m
    assert estimate.takeoff.lines[0].length_in * 0.0254 == pytest.approx(3.6 + math.hypot(1.2, 1.5), abs=1e-6)
    made = make_workbook(estimate, WHEN)
    assert verified(redeclare(book_of(made.data, "deck.xlsx"), WHEN)).differences == ()
    bare = deck(area={**metric, "outline": CLIPPED}, rates={"units": "metric"}, more_prices=decks.CORNERS)
    with pytest.raises(BookError, match=r"corner 1 \(0,0\): 0 "):
        build_estimate(inputs_of(bare))


def test_joists_along_the_house_turn_the_drawing():
    # drawn 14 along the house and 16 out with the outer left corner off; joists along: the same deck as CLIPPED
    turned = "; ".join(",".join(reversed(corner.split(","))) for corner in CLIPPED.split("; "))
    along = build_estimate(inputs_of(outlined(turned, joists="along")))
    out = build_estimate(inputs_of(outlined(CLIPPED)))
    ours, theirs = as_data(along), as_data(out)
    assert ours == theirs


# ----------------------------------------------------------------------------------- the workbook changed by a person


@lru_cache(maxsize=4)
def made_of(name: str) -> Made:
    return make_workbook(decks.worked(name), WHEN)


def place(made, key, row=0):
    sheet, line, col = made.layout.address(key, row)
    return sheet, f"{column_letter(col)}{line}"


def changed(name, changes):
    """A workbook of a worked deck with inputs typed in, not calculated."""
    made = made_of(name)
    return book_of(
        handmade.with_cells(made.data, {place(made, key, row): value for (key, row), value in changes.items()}),
        "deck.xlsx",
    )


def test_a_measured_cell_typed_in_is_kept_by_a_refresh():
    book = changed("clipped_corner", {("ms_clear_run", 2): 163.0})
    now = book_of(refreshed(book, LATER).data, "deck.xlsx")
    assert now.at("ms_clear_run", 2) == 163
    rows = [row for row in range(now.names["p_name"].rows) if now.at("p_name", row) == "garden-3"]
    assert [now.at("p_cut", row) for row in rows] == [164.5]
    assert not now.at("plans_stale")
    assert not now.at("errors_found")
    assert verified(redeclare(now, LATER)).differences == ()


def test_an_outline_changed_in_the_workbook_is_drawn_anew_by_a_refresh():
    # a shallower clip: the bays change, their number does not
    book = changed("clipped_corner", {("a_outline", 0): "0,0; 16,0; 16,10; 12,14; 0,14"})
    now = book_of(refreshed(book, LATER).data, "deck.xlsx")
    tables = decks.clipped_corner()
    tables["areas"] = tables["areas"].replace("16,9;", "16,10;")
    due = build_estimate(inputs_of(tables))
    assert now.at("quote_price") == pytest.approx(float(due.totals.price))
    assert now.at("errors_found") == 0
    assert verified(redeclare(now, LATER)).differences == ()


def test_an_outline_that_has_more_bays_than_the_workbook_has_rows_is_refused_with_the_cure():
    wider = {("a_outline", 0): "0,0; 60,0; 60,9; 56,14; 0,14", ("a_width", 0): 60.0}
    book = changed("clipped_corner", wider)
    with pytest.raises(BookError, match=r"bays of drawn areas, the workbook has room for \d+"):
        refreshed(book, LATER)


def test_an_outline_that_crosses_itself_is_refused_with_the_cell_and_the_corner():
    book = changed("clipped_corner", {("a_outline", 0): "0,0; 16,9; 16,0; 0,9"})
    with pytest.raises(BookError, match=r"Areas!\w+\d+ outline: corner 1 \(0, 0\): .* crosses"):
        refreshed(book, LATER)


@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("a_outline", "0,0; 16,0; 16,10; 12,14; 0,14"),
        ("a_outline", None),
        ("a_spacing", 12.0),
        ("a_gutter_side", "ledger"),
        ("a_layout", "even"),
        ("a_rim_plies", 2),
        ("a_joists", "along"),
    ],
)
def test_a_drawing_out_of_date_is_refused_on_checks(key, value):
    made = made_of("clipped_corner")
    values = evaluate(made.spec, made.layout, {(key, 0): value})
    assert values[made.layout.address("oa_off", 0)] == 1
    assert values[made.layout.address("errors_found")] >= 1
    words = [values[made.layout.address("chk_word", row)] for row in range(made.layout.count("chk_word"))]
    texts = [values.get(made.layout.address("chk_text", row)) for row in range(made.layout.count("chk_text"))]
    assert "REFUSED" in words, texts
    assert made.values[made.layout.address("errors_found")] == 0  # before the change


def test_built_exported_and_built_again_is_the_same_workbook(tmp_path):
    assert again.estimate_again(decks.worked("stair_opening"), tmp_path) == []


# ------------------------------------------------------------------------------------------------ plan and framer


def test_the_plan_draws_a_bay_with_its_slanted_end():
    """Bay 11, 160.75 to 175.25: the clip y = 108 + 1.25 (192 - x) less the rim, 2.40117: 144.66133 and 126.53633."""
    made = made_of("clipped_corner")
    ring = {
        tuple(round(12 * made.values[made.layout.address(f"sg_at_{axis}{n}", 10)], 4) for axis in "xy")
        for n in range(1, 10)
    }
    assert ring == {(160.75, 1.5), (175.25, 1.5), (175.25, 126.5363), (160.75, 144.6613)}


def test_the_plan_draws_the_gutter_round_the_corner_and_the_opening_where_it_is():
    made = made_of("clipped_corner")
    ends = [
        [round(12 * made.values[made.layout.address(f"gs_at_{of}", row)], 4) for of in ("x0", "y0", "x1", "y1")]
        for row in range(2)
    ]
    assert ends == [[0, 168, 144, 168], [144, 168, 192, 108]]
    stair = make_workbook(decks.worked("stair_opening"), WHEN)
    points = [[stair.values[stair.layout.address(f"fd_{axis}{n}", 0)] for axis in "xy"] for n in range(1, 7)]
    assert points == [[6, 4], [9, 4], [9, 9], [6, 9], [6, 4], [9, 9]]  # the box and its diagonal
    assert stair.values[stair.layout.address("fd_words", 0)] == "opening"
    # trimmers of two plies beside it, the right one packed with the joist at 112: 108 to 112.75
    marks = stair.values[stair.layout.address("fa_marks", 0)]
    assert marks.startswith('0",  1\' 3-1/4",  2\' 7-1/4",')
    assert '5\' 9" (3" wide),  6\' 7-1/4",  7\' 11-1/4",  9\' 0" (4-3/4" wide),  10\' 7-1/4"' in marks


def test_a_comb_is_refused_before_it_is_cut(monkeypatch):
    """300 ft of bays at 1 ft on centre, 60 notches from the right through all but the first: 299 x 61 + 1 = 18,240."""
    corners = ["0,0", "300,0"]
    for at in range(60):
        near = 2 + 4 * at
        corners += [f"300,{near}", f"1,{near}", f"1,{near + 2}", f"300,{near + 2}"]
    corners += ["300,242", "0,242"]

    def cut(*_):
        raise AssertionError("it was cut")

    monkeypatch.setattr("baybook.takeoff.drawn.segments_of", cut)
    with pytest.raises(BookError, match=r"some 18,240 pieces, the most is 360"):
        build_estimate(inputs_of(outlined("; ".join(corners), spacing="12")))


@pytest.mark.parametrize(
    ("left", "right", "outside", "inside"),
    [
        ("0,0; 12,0; 20,8; 0,8", "8,0; 20,0; 20,8; 0,8", 1, 0),  # two mitres: 45 + 45, round a corner of the house
        (None, "8,0; 20,0; 20,8; 0,8", 1, 0),  # a rectangle, 90, and a mitre of 45: a bay front's blunt corner
        ("0,0; 10,0; 10,8; 0,9.5", "0,0; 10,0; 10,6.5; 0,8", 0, 0),  # 98.5 + 81.5: the same slant goes on
        (None, "0,0; 12,0; 12,8; 0,8", 0, 0),  # two rectangles in a row
        ("0,0; 10,0; 10,12; 0,8", "0,0; 10,0; 10,8; 0,12", 1, 0),  # 68.2 + 68.2: a front that comes to a point
        ("0,0; 10,0; 10,8; 0,12", "0,0; 10,0; 10,12; 0,8", 0, 1),  # 111.8 + 111.8: and one that is hollow
    ],
)
def test_a_shared_gutter_turns_where_two_areas_meet_at_an_angle(left, right, outside, inside):
    """G12. The angles of the deck at the joint, one of each area: 180 together is straight on, a joiner."""
    size = {"width": "12 ft", "projection": "8 ft", "outline": None}
    shared = {"gutter_side": "rim", "gutter_line": "yard", "leader_at": "end"}
    areas = [
        {"area": name, **size, **({"width": None, "projection": None, "outline": outline} if outline else {}), **shared}
        for name, outline in (("one", left), ("two", right))
    ]
    estimate = build_estimate(inputs_of(deck(areas=areas, more_prices=decks.CORNERS)))
    (line,) = estimate.takeoff.lines
    assert (line.corners_out, line.corners_in) == (outside, inside)
    pieces = len(line.gutter_pieces)
    stretches = 1 if right == "0,0; 12,0; 12,8; 0,8" else 2  # rectangles make one stretch
    assert line.joiners == pieces - stretches + (stretches - 1) - outside - inside
    make_workbook(estimate, WHEN)  # its formulas are held against the engine
