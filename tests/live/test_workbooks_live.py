"""Every value stored in a generated workbook is what LibreOffice and Gnumeric work out themselves, forced to.

Random books, books on the limits of the rules (`limit_books`: those are where programs and roundings differ), the
examples, and the deck worked by hand. `python tests/long/hundred_books.py` compares a hundred.
"""

from __future__ import annotations

import pytest
from live.programs import compare, needs
from live.recalculated import PROGRAMS, by_name, estimate_of, stored, written

from baybook.workbook.declare import column_letter

pytestmark = pytest.mark.live

BOOKS = [
    *(("example", at) for at in range(2)),
    *(("random", seed) for seed in (0, 1, 2, 4, 5, 7, 8, 11, 54)),
    *(("limit", seed) for seed in (2, 8, 15, 22, 25, 29, 42, 52)),
]


@pytest.mark.parametrize(("kind", "at"), BOOKS)
def test_the_programs_work_out_what_is_stored(kind, at, tmp_path):
    for program in PROGRAMS:
        needs(program)
    path = tmp_path / "book.xlsx"
    ours = stored(written(estimate_of(kind, at, tmp_path), path))
    assert len(ours) > 5000
    for program, recalculated in PROGRAMS.items():
        assert compare(ours, recalculated(path, tmp_path), list(ours))[:5] == [], program


@pytest.mark.parametrize("program", PROGRAMS)
def test_a_wrong_value_is_found_out(program, tmp_path):
    needs(program)
    path = tmp_path / "book.xlsx"
    made = written(estimate_of("deck", 0, tmp_path), path)
    sheet, row, col = made.layout.address("p_clear")
    lie = stored(made) | {(sheet, f"{column_letter(col)}{row}"): 140.0}
    said = compare(lie, PROGRAMS[program](path, tmp_path), list(lie))
    assert said == [f"{sheet}!{column_letter(col)}{row} is 140.0 in the first and 141.0 in the second."]


@pytest.mark.parametrize("program", PROGRAMS)
def test_the_deck_worked_by_hand(program, tmp_path):
    """Section 8 of the take-off rules, every number of it, read from the recalculated cells by their names."""
    needs(program)
    path = tmp_path / "deck.xlsx"
    made = written(estimate_of("deck", 0, tmp_path), path)
    values = PROGRAMS[program](path, tmp_path)
    assert compare(stored(made), values, list(stored(made))) == []
    cells = by_name(path, values)

    def one(name, row=0):
        return cells[name][row]

    def near(value):
        return pytest.approx(value, abs=5 * 10 ** -(len(f"{value}".partition(".")[2]) + 1))

    def line(title):
        """Return taken off, order, packs of a line of the quantities."""
        row = cells["i_title"].index(title)
        return [one(name, row) for name in ("i_calc", "i_order", "i_packs")]

    def columns(*names):
        return zip(*(cells[name] for name in names), strict=True)

    assert one("w_members") == 13
    assert one("bays_listed") == 12
    assert cells["b_clear"][:13] == [13.75, *[14.5] * 10, 13.75, 0]
    assert (one("p_clear"), one("p_cut"), one("p_fall")) == (141, 142.5, near(0.3404))
    stock = {(block, length): count for block, length, count in columns("u_block", "u_len16", "u_pieces")}
    assert stock[1, 144 * 16] == 12
    assert stock[1, 192 * 16] == 0
    assert (one("p_outlets"), one("w_trim")) == (12, 0)
    assert (one("w_tape"), *line("seam tape")) == (1872, 156, near(163.8), 4)
    assert cells["b_needs"][:12] == [near(18.908), *[near(19.560)] * 10, near(18.908)]
    assert one("bead_ft") == near(19.452)
    assert line("sealant") == [near(0.6286), near(0.691), 1]
    assert line("staples")[:2] == [384, near(422.4)]
    assert one("flow_gpm") == near(9.974)
    of_gutter = one("liner_slots") + 1
    gutter = sorted(
        length / 16 for block, length, n in columns("z_block", "z_len16", "z_n") if block == of_gutter and n
    )
    assert gutter == [72, 120]
    assert (line("gutter joiner")[0], line("gutter end cap")[0], line("gutter hanger")[0]) == (1, 2, 13)
    assert (one("g_reach"), one("g_leaders"), one("g_run")) == (24, 1, 16)
    assert (one("g_lowest"), one("d_len")) == (98.75, 105.75)
    assert [line(item)[0] for item in ("leader", "leader elbow", "leader strap", "splash block")] == [1, 3, 3, 1]
    assert one("total_hours") == 14.48
    assert cells["lab_hours"] == [3, 1, 2.4, 0, 3.6, 1.56, 1.92, 1]
