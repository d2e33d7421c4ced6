"""Cut plans: the plan asked for, its edges, its errors, and what it leaves alone."""

from __future__ import annotations

import pytest

from baybook.cutplan import Piece, PlanError, Stock, Unplannable, plan_cuts, safe_count, verify_plan


def test_two_pieces_share_a_stock_piece():
    # 100 + 2 + 77 = 179 fits the 180 only without end trim; two 100s and a kerf fit the 250.
    plan = plan_cuts([Piece(100, 3, "A1"), Piece(77, 1)], [Stock(250, 300), Stock(180, 200, 1)], kerf=2)
    assert (plan.cost, plan.used, plan.proven) == (500, (1, 1), True)


def test_nothing_to_cut_costs_nothing():
    plan = plan_cuts([Piece(100, 0)], [Stock(250, 300)])
    assert (plan.patterns, plan.cost, plan.proven, plan.used) == ((), 0, True, (0,))


def test_a_piece_too_long_is_named():
    with pytest.raises(Unplannable, match="Piece Porch 7 is 251 long"):
        plan_cuts([Piece(100, 3), Piece(251, 1, "Porch 7")], [Stock(250, 300)])


def test_too_little_stock_names_a_piece():
    with pytest.raises(Unplannable, match="Piece 100"):
        plan_cuts([Piece(100, 3)], [Stock(150, 300, 2)])


def test_safe_count_takes_the_cheapest_that_holds_one():
    assert safe_count([Piece(100, 3), Piece(200, 2)], [Stock(250, 300), Stock(120, 90, 5), Stock(150, 200)]) == (
        2,
        0,
        3,
    )


def test_a_tampered_plan_is_found_out():
    pieces, stock = [Piece(100, 3)], [Stock(250, 300)]
    plan = plan_cuts(pieces, stock)
    with pytest.raises(PlanError, match="4 pieces of length 100"):
        verify_plan(plan, [Piece(100, 4)], stock)
