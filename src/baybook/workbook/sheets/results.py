"""What a person reads of the deck: the bays, the cuts, the water (P2 to P7, W1 to W4)."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from baybook.estimate import Estimate
from baybook.numbers import r6
from baybook.units import show_length
from baybook.workbook.declare import Column, Sheet, Table, Text
from baybook.workbook.shape import Shape
from baybook.workbook.sheets.listed import listed
from baybook.workbook.sheets.stock import block_cuts, blocks_of

__all__ = ["bays_sheet", "cut_list_sheet", "cuts_sheet", "deck_sheet", "said", "water_sheet"]


def said(sixteenths: str, use: str) -> str:
    """Return a formula that shows a length, given in sixteenths, as the job's units say it."""
    us = (
        f'INT(ROUND({sixteenths}/per_foot,6))&"\' "&INT(ROUND(MOD({sixteenths},per_foot)/per_inch,6))'
        f'&INDEX(fraction_text,MOD({sixteenths},per_inch)+1)&""""'
    )
    return f'=IF({use}=1,CHOOSE(1+metric,{us},ROUND(ROUND({sixteenths}/per_inch*mm_per_in,6),0)&" mm"),"")'


def _r(key: str, header: str, unit: str, formula: str, rule: str = "", fmt: str = "", role: str = "result") -> Column:
    return Column(key=key, header=header, unit=unit, formula=formula, rule=rule, fmt=fmt, role=role)


def _if(use: str, value: str) -> str:
    return f'=IF({use}=1,{value},"")'


def deck_sheet(shape: Shape) -> Sheet:
    """Return what was read of each area, and the parts that beams make of it."""

    def a(column: str) -> str:
        return _if("[w_use@]", f"[{column}@]")

    def s16(key: str, column: str) -> Column:
        return Column(
            key=key, header="in sixteenths", unit="1/16 in", formula=f"=ROUND([{column}@]*per_inch,0)", fmt="0;;"
        )

    areas = (
        _r("deck_area", "area", "", a("w_name"), role="label"),
        s16("deck_width16", "w_width"),
        _r("deck_width", "width", "", said("[deck_width16]", "[w_use@]"), "G1", role="label"),
        s16("deck_depth16", "w_projection"),
        _r("deck_depth", "projection", "", said("[deck_depth16]", "[w_use@]"), "P1", role="label"),
        _r("deck_joist", "joist depth", "in", a("w_depth"), "O1", "0.00"),
        _r("deck_members", "members", "no", a("w_members"), "G4", "0"),
        _r("deck_gaps", "bays", "no", a("w_gaps"), "G4", "0"),
        _r("deck_bottom", "joist bottom above grade", "in", a("w_bottom"), "T5", "#,##0.00"),
        _r("deck_trim", "trim off each outlet", "in", a("w_trim"), "O1", "0.00"),
        _r(
            "deck_extends",
            "outlets extended",
            "",
            _if("[w_use@]", 'CHOOSE(1+[w_extends@],"no","yes")'),
            "O1",
            role="label",
        ),
        _r("deck_stock", "stock width", "in", _if("[w_use@]", "INDEX(t_width,[w_lix@])"), "P4", "0.00"),
        _r("deck_need", "widest liner needed", "in", a("w_need"), "P4", "0.000"),
    )

    def p(column: str) -> str:
        return _if("[p_use@]", f"[{column}@]")

    parts = (
        _r("part_name", "part", "", p("p_name"), "G6", role="label"),
        _r("part_bays", "bays", "no", p("p_bays"), "G4", "0"),
        _r("part_outlets", "outlets", "no", p("p_outlets"), "G5", "0"),
        _r("part_caps", "bays capped", "no", p("p_caps"), "P5", "0"),
        _r("part_wide", "members capped", "no", p("p_wide"), "P5", "0"),
        _r("part_run", "clear run", "in", p("p_clear"), "P1", "#,##0.0000"),
        _r("part_cut", "cut length", "in", p("p_cut"), "P2", "#,##0.0000"),
        Column(
            key="part_cut16", header="in sixteenths", unit="1/16 in", formula="=ROUND([p_cut@]*per_inch,0)", fmt="0;;"
        ),
        _r("part_said", "as said", "", said("[part_cut16]", "[p_use@]"), "P2", role="label"),
        _r("part_pieces", "pieces a panel", "no", p("p_pieces"), "P6", "0"),
        _r("part_fall", "fall", "in/ft", p("p_fall"), "P3", "0.0000"),
        _r("part_plan", "plan area", "sq ft", p("p_plan"), "W1", "#,##0.0"),
        _r("part_flow", "flow", "gpm", p("p_flow"), "W1", "#,##0.000"),
    )
    return Sheet(
        title="Deck",
        purpose="Each area as it was read, its members and bays; and the parts that flush beams make of it.",
        parts=(
            Table(key="deck_areas", title="Areas", rows=shape.areas, columns=areas),
            Table(key="parts_shown", title="Parts, from the ledger out", rows=shape.parts, columns=parts),
        ),
    )


def bays_sheet(shape: Shape) -> Sheet:
    """Return the schedule of bays."""

    def b(column: str) -> str:
        return _if("[b_use@]", f"[{column}@]")

    bays = (
        _r("bay_label", "bay", "", b("b_label"), "G4", role="label"),
        _r("bay_left", "left edge", "in", b("b_left"), "G4", "#,##0.00"),
        _r("bay_clear", "clear width", "in", b("b_clear"), "G4", "0.000"),
        _r("bay_what", "what it gets", "", _if("[b_use@]", 'CHOOSE(1+[b_drains@]+[b_tight@],"cap strip","outlet",'
           '"outlet, cut narrower")'), "G5", role="label"),
        _r("bay_needs", "liner needed", "in", b("b_needs"), "P4", "0.000;;"),
        _r("bay_trim", "trimmed off", "in", b("b_trim"), "P4", "0.000;;"),
        _r("bay_cut", "cut length", "in", b("b_cut"), "P2", "#,##0.0000"),
        Column(key="bay_cut16", header="in sixteenths", unit="1/16 in", formula="=ROUND([b_cut@]*per_inch,0)*[b_use@]", fmt="0;;"),
        _r("bay_said", "as said", "", said("[bay_cut16]", "[b_use@]"), "P2", role="label"),
        _r("bay_pieces", "pieces", "no", _if("[b_use@]", "INDEX(p_pieces,[b_pix@])"), "P6", "0"),
    )  # fmt: skip
    return Sheet(
        title="Bays",
        purpose="The schedule of bays, from left to right: what lies between the members, and the panel or cap strip of each.",
        parts=(Table(key="bays_shown", title="Bays", rows=shape.bay_rows, columns=listed("b_use", bays)),),
    )


def water_sheet(shape: Shape) -> Sheet:
    """Return the gutter lines: flow, reach, leaders, capacity."""

    def g(column: str) -> str:
        return _if("[g_lead@]", f"[{column}@]")

    lines = (
        _r("line_name", "gutter line", "", g("g_name"), "W4", role="label"),
        _r("line_length", "length", "ft", g("g_feet"), "W4", "#,##0.00"),
        _r("line_flow", "flow", "gpm", g("g_q"), "W1", "#,##0.000"),
        _r("line_reach", "reach", "ft", g("g_reach"), "O3", "#,##0.00"),
        _r("line_leaders", "leaders", "no", g("g_leaders"), "W3", "0"),
        _r("line_carries", "one leader carries", "gpm", _if("[g_lead@]", "leader_gpm"), "W3", "#,##0.00"),
        _r("line_ratio", "flow to capacity", "", _if("[g_lead@]", "[g_q@]/(leader_gpm*[g_leaders@])"), "W2", "0%"),
        _r("line_run", "longest run", "ft", g("g_run"), "W3", "#,##0.00"),
        _r("line_bottom", "joist bottom above grade", "in", g("g_lowest"), "W4", "#,##0.00"),
        _r("line_leader", "one leader", "in", g("d_len"), "T5", "#,##0.0000"),
        Column(key="line_leader16", header="in sixteenths", unit="1/16 in", formula="=[d_cut@]*[g_lead@]", fmt="0;;"),
        _r("line_said", "as cut", "", said("[line_leader16]", "[g_lead@]"), "T5", role="label"),
    )

    def f(column: str) -> str:
        return _if("[f_block@]", f"[{column}@]")

    blocking = (
        _r("block_area", "area", "", f("f_area"), "O2", role="label"),
        _r("block_y", "from the ledger's back", "in", f("f_yin"), "O2", "#,##0.00"),
        _r("block_rip", "height left", "in", f("f_rip"), "O2", "0.000"),
        _r("block_lumber", "deepest lumber that fits", "", f("f_lumber"), "O2", role="label"),
        _r("block_words", "note", "", _if("[f_low@]",
           '"lower than the usual "&ROUND(ROUND(blocking_share*100,6),0)&" % (IRC R507.6; value from memory): ask the designer; '
           'consider the other gutter side or less drape"'), "O2", role="label"),
    )  # fmt: skip
    turn = "[gs_turn@]*[gs_use@]>0"
    edges = (
        _r("edge_line", "gutter line", "", _if("[gs_use@]", "INDEX(g_name,[gs_row@])"), "G12", role="label"),
        _r("edge_length", "straight stretch", "ft", _if("[gs_use@]", "[gs_len@]/12"), "G12", "#,##0.00"),
        _r("edge_turn", "then turns", "", f'=IF({turn},CHOOSE(MAX(1,[gs_kind@]),"slightly: a joiner",'
           '"outside corner","inside corner"),"")', "G12", role="label"),
        _r("edge_angle", "inner angle there", "deg", f'=IF({turn},[gs_turn@],"")', "G12", "0.0"),
    )  # fmt: skip
    return Sheet(
        title="Water",
        purpose="Flow, gutter lines and leaders. Capacity of a leader by Wyly-Eaton as in the National Standard Plumbing "
        "Code 2006, Table 13.6.1, unless you typed one; the adopted code governs.",
        parts=(
            Table(key="lines_shown", title="Gutter lines", rows=shape.parts, columns=listed("g_lead", lines)),
            Table(
                key="edges_shown",
                title="Gutter along outlines, from the left",
                rows=shape.stretches,
                columns=listed("gs_use", edges),
            ),
            Table(key="blocking_shown", title="Blocking", rows=shape.framing, columns=listed("f_block", blocking)),
        ),
    )


def _cutting(estimate: Estimate, shape: Shape) -> tuple[Column, ...]:
    """Return the planned cutting, one row a pattern."""
    rows = []
    names = [
        estimate.inputs.liners[cut.cut.liner].liner if cut and cut.cut.liner else ""
        for cut in block_cuts(estimate, shape)
    ]
    for (item, _), name, cut in zip(blocks_of(shape), names, block_cuts(estimate, shape), strict=True):
        if cut is None:
            continue
        for pattern in cut.plan.patterns:
            stock = cut.stock[pattern.stock]
            text = " + ".join(
                f"{count} x {length / 16:.10g}" if count > 1 else f"{length / 16:.10g}"
                for length, count in pattern.pieces
            )
            where = stock.name if stock.supply is not None else ""
            rows.append(
                (f"{item} {name}".strip(), stock.length / 16, pattern.times, text, pattern.remainder / 16, where)
            )
    heads = (("pat_item", "cut item", ""), ("pat_stock", "stock piece", "in"), ("pat_times", "how many", "no"),
             ("pat_cuts", "cut into, in", ""), ("pat_rest", "left over", "in"), ("pat_where", "offcut from", ""))  # fmt: skip
    return _static(heads, rows)


def _static(heads: Sequence[tuple[str, str, str]], rows: Sequence[Sequence[Any]]) -> tuple[Column, ...]:
    """Return columns of fixed values; lengths in inches show their sixteenths."""
    return tuple(
        Column(key=key, header=header, unit=unit, role="label", values=tuple(row[at] for row in rows), origin="plan",
               fmt="#,##0.0000" if unit == "in" else "")
        for at, (key, header, unit) in enumerate(heads)
    )  # fmt: skip


def _cut_list(estimate: Estimate) -> tuple[Column, ...]:
    """Return the pieces in the order of work, each with the stock piece it comes from."""
    units = estimate.inputs.rates.units
    rows = [
        (
            label,
            length / 16,
            show_length(length / 16, units),
            f"{cut.cut.item} {piece.number}",
            piece.length / 16,
            piece.location,
        )
        for cut in estimate.cuts
        for label, length, piece in cut.in_order_of_work()
    ]
    heads = (("job_label", "write on it", ""), ("job_length", "cut", "in"), ("job_said", "as said", ""),
             ("job_from", "from stock piece", ""), ("job_stock", "its length", "in"), ("job_where", "offcut at", ""))  # fmt: skip
    return _static(heads, rows)


def _stock_list(estimate: Estimate) -> tuple[Column, ...]:
    """Return the stock pieces, each with what is cut from it and what is left."""
    least = estimate.inputs.rates.offcut_min_in
    rows = [
        (
            f"{cut.cut.item} {piece.number}",
            piece.length / 16,
            piece.location,
            ", ".join(cut.cut.pieces[at][1] for at in piece.pieces),
            piece.remainder / 16,
            "keep" if r6(piece.remainder / 16) >= r6(least) else "scrap" if piece.remainder else "",
        )
        for cut in estimate.cuts
        for piece in cut.stock_pieces()
    ]
    heads = (("roll_name", "stock piece", ""), ("roll_length", "length", "in"), ("roll_where", "offcut at", ""),
             ("roll_cuts", "cut from it", ""), ("roll_rest", "left over", "in"), ("roll_keep", "then", ""))  # fmt: skip
    return _static(heads, rows)


def cuts_sheet(estimate: Estimate, shape: Shape) -> Sheet:
    """Return the cut plans: state against today's needs, stock bought, cutting, cut list."""
    cuts = block_cuts(estimate, shape)
    state = (
        _r("cut_name", "cut item", "", '=[t_name@]&IF([t_users@]*MAX(0,liner_slots+1-[t_no@])>0," "&'
           'INDEX(l_liner,MIN(liner_slots,[t_no@])),"")',
           role="label"),
        _r("cut_pieces", "pieces needed", "no", "=[t_pieces@]", "P7", "0"),
        Column(key="cut_planned", header="pieces planned", unit="no", formula="=[t_planned@]", rule="P7"),
        Column(key="cut_cost", header="cost of the plan", unit="money", role="money", fmt="#,##0.00", rule="P7",
               values=tuple(cut.plan.cost / 100 if cut else 0.0 for cut in cuts), origin="plan"),
        Column(key="cut_bound", header="no plan is under", unit="money", role="money", fmt="#,##0.00", rule="P7",
               values=tuple(cut.plan.lower_bound / 100 if cut else 0.0 for cut in cuts), origin="plan"),
        Column(key="cut_proof", header="proof", role="label", rule="P7",
               values=tuple(_proof(cut) for cut in cuts), origin="plan"),
        _r("cut_state", "state", "", '=IF([t_fresh@]=1,"current","out of date: safe count priced")', "P7", role="label"),
    )  # fmt: skip
    bought = (
        _r("bought_item", "cut item", "", _if("[u_use@]", "INDEX(cut_name,[u_block@])"), role="label"),
        _r("bought_length", "stock length", "in", _if("[u_use@]", "[u_len16@]/per_inch"), "P6", "#,##0.0000"),
        _r("bought_plan", "planned", "no", _if("[u_use@]", "[u_plan@]"), "P7", "0"),
        _r("bought_safe", "safe count", "no", _if("[u_use@]", "[u_safe@]"), "P7", "0"),
        _r("bought_n", "bought", "no", _if("[u_use@]", "[u_pieces@]"), "M1", "0"),
        _r("bought_price", "price", "money", "=ROUND(ROUND([u_price@]*[u_use@],8),2)", "M5", "#,##0.00;;", "money"),
        Column(key="bought_cost", header="cost", unit="money", role="money", fmt="#,##0.00;;", rule="M1",
               formula="=ROUND(ROUND([u_cost@]*[u_use@],8),2)"),
    )  # fmt: skip
    return Sheet(
        title="Cuts",
        purpose="What is cut from what. The plan is the cheapest there is for the pieces it was made for; if an input moved "
        "since, the safe count (each piece from a stock piece of its own) is priced until the plan is made again.",
        parts=(
            Text(lines=("=plan_words",), style="title"),
            Table(key="cut_state_rows", title="Cut items", rows=shape.blocks, columns=state),
            Table(key="cutting", title="Cutting, as planned", rows=shape.patterns, columns=_cutting(estimate, shape)),
            Table(
                key="bought_rows",
                title="Stock pieces bought",
                rows=shape.blocks * shape.lengths,
                columns=listed("u_use", bought),
            ),
        ),
    )


def cut_list_sheet(estimate: Estimate, shape: Shape) -> Sheet:
    """Return the planned pieces in the order of work, each with the stock piece it comes from."""
    pieces, rolls = _cut_list(estimate), _stock_list(estimate)
    return Sheet(
        title="Cut list",
        purpose="What to write on each piece, how long it is, and which stock piece it comes from; then the same by stock piece.",
        parts=(
            Text(lines=("=plan_words",)),
            Table(key="cut_list", title="In the order of work", rows=shape.pieces, columns=pieces),
            Table(key="stock_list", title="By stock piece", rows=shape.rolls, columns=rolls),
        ),
        landscape=False,
    )


def _proof(cut: object) -> str:
    plan = getattr(cut, "plan", None)
    if plan is None:
        return "not in use"
    if plan.proven:
        return "proven least cost"
    return f"not proven: at most {(plan.cost - plan.lower_bound) / 100:.2f} dearer than the least cost"
