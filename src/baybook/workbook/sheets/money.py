"""Quantities, extras, labour, the estimate and the orders (T7, M1 to M6)."""

from __future__ import annotations

from collections.abc import Mapping

from baybook.estimate import Estimate
from baybook.job.records import ITEMS
from baybook.numbers import sixteenths_down
from baybook.workbook.declare import Block, Column, Scalar, Sheet, Table, Text
from baybook.workbook.shape import Shape, stock_here
from baybook.workbook.sheets.columns import work
from baybook.workbook.sheets.stock import LineRow, block_cuts, line_rows

__all__ = [
    "estimate_sheet",
    "extras_work_sheet",
    "orders_sheet",
    "orders_work_sheet",
    "quantities_sheet",
    "totals_sheet",
]

CENTS = "ROUND(ROUND({0},8),2)"


def _net(row: LineRow) -> str:
    """Return the formula of a net quantity as taken off."""
    if row.block:
        return "=INDEX(t_pieces,[i_block])"
    slot = "[i_slot]"
    return {
        "bay_outlet": f"=SUMIF(m_block,{slot},p_outlets)",
        "outlet_extension": f"=SUMIF(m_block,{slot},g_ext)",
        "seam_tape": f"=SUMIF(w_liner,{slot},w_tape)/12+SUMIF(w_liner,{slot},w_posts)*post_tape_ft",
        "sealant": "=bead_ft/cartridge_ft",
        "staples": "=SUM(p_staples)+SUM(w_apron_staples)",
        "gutter_joiner": "=SUM(g_joiners)+SUM(gs_joiners)",
        "gutter_corner_out": "=SUM(gs_out)",
        "gutter_corner_in": "=SUM(gs_in)",
        "gutter_end_cap": "=SUM(g_lead)*end_caps_per_line",
        "gutter_drop": "=SUM(g_leaders)",
        "hanger": "=SUM(g_hangers)+SUM(gs_hangers)",
        "elbow": "=SUM(g_leaders)*elbows_per_leader",
        "strap": "=SUM(g_straps)",
        "splash_block": "=SUM(g_leaders)",
    }[row.item]


_RULES = {
    "liner": "P7", "bay_outlet": "G5", "outlet_extension": "O1", "seam_tape": "T1", "sealant": "T2", "staples": "T3",
    "gutter": "T4", "gutter_joiner": "T4", "gutter_corner_out": "G12", "gutter_corner_in": "G12", "gutter_end_cap": "T4", "gutter_drop": "T4", "hanger": "T4", "leader": "T5",
    "elbow": "T5", "strap": "T5", "splash_block": "T5",
}  # fmt: skip


def quantities_work_sheet(shape: Shape) -> Sheet:
    """Return the workings of the quantities: net, waste, order, the offer taken, cost."""
    rows = line_rows(shape)
    items = list(ITEMS)

    def by_row(packs: str, cut: str) -> tuple[str, ...]:
        return tuple(cut if row.block else packs for row in rows)

    columns = (
        work("i_no", "no", "no", "=[i_no-]+1"),
        Column(key="i_title", header="item", role="label", values=tuple(ITEMS[row.item].title for row in rows)),
        Column(
            key="i_record",
            header="liner record",
            role="label",
            formula=tuple(
                '=IF(INDEX(t_users,[i_slot])>0,INDEX(l_liner,[i_slot])&"","")' if row.liner else '=""' for row in rows
            ),
        ),
        Column(key="i_unit", header="unit", role="label", values=tuple(ITEMS[row.item].unit for row in rows)),
        Column(key="i_rule", header="rule", role="label", values=tuple(_RULES[row.item] for row in rows)),
        Column(key="i_calc", header="taken off", unit="unit", fmt="#,##0.###", formula=tuple(_net(row) for row in rows)),
        work("i_own", "your own", "0/1",
           tuple("=0" if row.block else "=MIN(1,COUNTIF(h_line,[i_no]))" for row in rows)),
        Column(key="i_net", header="net", unit="unit", role="result", fmt="#,##0.###",
               formula="=IF([i_own]=1,SUMIF(h_line,[i_no],h_quantity),[i_calc])"),
        Column(key="i_waste", header="waste", unit="%", rule="T7", fmt="0.0%",
               formula=tuple("=0" if row.block else f"=waste_{row.item}" for row in rows)),
        Column(key="i_order", header="order", unit="unit", role="result", rule="T7", fmt="#,##0.###",
               formula=by_row("=[i_net]*(1+[i_waste])", "=SUMIF(u_block,[i_block],u_pieces)")),
        Column(key="i_packs", header="packs", unit="no", role="result", rule="M1", fmt="#,##0",
               formula=by_row("=INDEX(y_packs,[i_pair])*[i_has]", "=[i_order]")),
        Column(key="i_pack", header="in a pack", unit="unit", rule="M1", fmt="#,##0.###",
               formula=by_row('=IF([i_packs]>0,INDEX(x_pack,[i_offer]),"")', '=IF([i_packs]>0,1,"")')),
        Column(key="i_price", header="pack price", unit="money", role="label", fmt="#,##0.00##",
               formula=by_row('=IF([i_packs]>0,INDEX(x_price,[i_offer]),"")', '=""')),
        Column(key="i_cost", header="cost", unit="money", role="money", rule="M1", fmt="#,##0.00",
               formula=by_row("=ROUND(ROUND(INDEX(y_cost,[i_pair])*[i_has],8),2)",
                              "=ROUND(ROUND(SUMIF(u_block,[i_block],u_cost)+INDEX(t_offcuts,[i_block]),8),2)")),
        Column(key="i_supplier", header="supplier", role="label",
               formula=by_row('=IF([i_packs]>0,INDEX(v_supplier,[i_offer])&"","")', '=IF([i_packs]>0,"see Cuts","")')),
        Column(key="i_sku", header="SKU", role="label",
               formula=by_row('=IF([i_packs]>0,INDEX(v_sku,[i_offer])&"","")', '=""')),
        Column(key="i_item_no", header="item", unit="row", values=tuple(items.index(row.item) + 1 for row in rows)),
        Column(key="i_slot", header="liner", unit="row", values=tuple(row.liner for row in rows)),
        Column(key="i_of_liner", header="of a liner", unit="0/1", values=tuple(int(ITEMS[r.item].of_liner) for r in rows)),
        Column(key="i_is_cut", header="cut", unit="0/1", values=tuple(int(ITEMS[row.item].cut) for row in rows)),
        Column(key="i_block", header="cut item", unit="row", values=tuple(row.block for row in rows)),
        work("i_offers", "offers", "no", "=COUNTIF(y_lane,[i_no])"),
        work("i_place", "place", "no", "=[i_place-]+[i_offers-]", opening=1),
        work("i_pair", "pair taken", "row", "=IF([i_offers]>0,MOD(SMALL(y_key,[i_place]),1000),1)", "M5"),
        work("i_offer", "offer taken", "row", "=INDEX(y_offer,[i_pair])", "M5"),
        work("i_has", "is on offer", "0/1", "=IF([i_offers]>0,1,0)", "M6"),
        work("i_missing", "needed, not on offer", "0/1",
           by_row("=IF([i_order]>0,1-[i_has],0)", "=IF(AND([i_calc]>0,INDEX(t_offers,[i_block])=0),1,0)"), "M6"),
        Column(key="i_tax", header="tax on it", unit="money", role="money", rule="M4", fmt="#,##0.00",
               formula="=ROUND(ROUND(job_tax_rate*[i_cost],8),2)"),
    )  # fmt: skip
    return Sheet(
        title="Work quantities",
        purpose="Each material line: taken off, your own, with waste, the offer taken, its cost.",
        parts=(Table(key="quantities_work", title="Materials, worked", rows=len(rows), columns=columns),),
        working=True,
    )


def quantities_sheet(shape: Shape) -> Sheet:
    """Return the quantities a person reads."""

    def shown(
        key: str, header: str, column: str, unit: str = "", role: str = "result", fmt: str = "", rule: str = ""
    ) -> Column:
        return Column(key=key, header=header, unit=unit, role=role, fmt=fmt, rule=rule, formula=f"=[{column}@]")

    columns = (
        Column(
            key="qty_item",
            header="item",
            role="label",
            formula='=IF(OR([i_slot@]=0,INDEX(t_users,MAX(1,[i_slot@]))>0),[i_title@],"")',
        ),
        shown("qty_record", "liner record", "i_record", role="label"),
        Column(key="qty_rule", header="rule", role="label", formula='=IF([qty_item]="","",[i_rule@])'),
        shown("qty_calc", "taken off", "i_calc", fmt="#,##0.###;;", role="work"),
        Column(key="qty_own", header="yours", role="label", formula='=IF([i_own@]=1,"yours","")'),
        shown("qty_net", "net", "i_net", fmt="#,##0.###;;"),
        Column(key="qty_waste", header="waste", unit="%", role="result", fmt="0.0%;;", rule="T7",
               formula='=IF([qty_item]="",0,[i_waste@])'),
        shown("qty_order", "order", "i_order", fmt="#,##0.###;;", rule="T7"),
        Column(key="qty_unit", header="unit", role="label", formula='=IF([qty_item]="","",[i_unit@])'),
        shown("qty_packs", "packs", "i_packs", "no", fmt="#,##0;;", rule="M1"),
        shown("qty_pack", "in a pack", "i_pack", fmt="#,##0.###", rule="M1"),
        shown("qty_price", "pack price", "i_price", "money", role="label", fmt="#,##0.00##"),
        shown("qty_supplier", "supplier", "i_supplier", role="label"),
        shown("qty_sku", "SKU", "i_sku", role="label"),
        Column(key="qty_cost", header="cost", unit="money", role="money", fmt="#,##0.00;;", rule="M1",
               formula="=ROUND(ROUND([i_cost@],8),2)"),
    )  # fmt: skip
    return Sheet(
        title="Quantities",
        purpose="What the work uses (net), what is bought for it (order: with waste; packs are whole), from whom and for how "
        "much. Cut goods get no waste: the cut plan is it.",
        parts=(Table(key="quantities", title="Materials", rows=len(line_rows(shape)), columns=columns),),
    )


def extras_work_sheet(estimate: Estimate, shape: Shape) -> Sheet:
    """Return the workings of extras, overrides and offcuts on hand."""
    extras = (
        work("ex_no", "no", "no", "=[ex_no-]+1"),
        Column(key="ex_cost", header="cost", unit="money", role="money", rule="M3", fmt="#,##0.00",
               formula="=ROUND(ROUND(INDEX(e_quantity,[ex_no])*INDEX(e_unit_cost,[ex_no]),8),2)"),
        Column(key="ex_tax", header="tax on material", unit="money", role="money", rule="M4", fmt="#,##0.00",
               formula='=IF(INDEX(e_kind,[ex_no])="material",ROUND(ROUND(job_tax_rate*[ex_cost],8),2),0)'),
    )  # fmt: skip
    overrides = (
        work("h_no", "no", "no", "=[h_no-]+1"),
        work("h_item_no", "item", "row",
           '=IF(INDEX(h_item,[h_no])="",0,IFERROR(MATCH(INDEX(h_item,[h_no]),list_item,0),0))'),
        work("h_first", "first row of it", "row", "=IFERROR(MATCH([h_item_no],i_item_no,0),0)"),
        work("h_slot", "liner", "row",
           '=IF(INDEX(h_liner,[h_no])="",1,IFERROR(MATCH(INDEX(h_liner,[h_no]),l_liner,0),0))'),
        work("h_line", "line", "row",
           "=IF([h_first]*[h_slot]>0,[h_first]+([h_slot]-1)*INDEX(i_of_liner,MAX(1,[h_first])),0)"),
        work("h_len16", "stock length", "1/16 in", "=INT(ROUND(INDEX(h_length,[h_no])*big_in*per_inch,6))"),
        work("h_lost", "overrides no line", "0/1",
           "=IF(INDEX(i_is_cut,MAX(1,[h_line]))=1,1-MIN(1,COUNTIFS(u_line,[h_line],u_len16,[h_len16])),0)"
           "*IF([h_line]>0,1,0)+IF([h_line]>0,0,1)*IF([h_asked]>0,1,0)"),
        work("h_asked", "filled in", "0/1", '=IF(INDEX(h_item,[h_no])="",0,1)'),
        work("h_of_cut", "of cut goods", "0/1", "=INDEX(i_is_cut,MAX(1,[h_line]))*IF([h_line]>0,1,0)"),
        work("h_twice", "stands twice", "0/1", "=IF(SUMPRODUCT((h_line=[h_line])*(h_len16=[h_len16])*h_asked)>1,[h_asked],0)"),
        work("h_odd", "length without cut goods, or half a piece", "0/1",
           '=IF(OR(AND([h_of_cut]=0,[h_length@]<>""),AND([h_of_cut]=1,ROUND([h_quantity@],0)<>[h_quantity@])),[h_asked],0)'),
    )  # fmt: skip
    planned = _planned_offcuts(estimate, shape)
    offcuts = (
        work("r_no", "no", "no", "=[r_no-]+1"),
        work("r_named", "its liner", "row", '=IF(INDEX(r_liner,[r_no])="",1,IFERROR(MATCH(INDEX(r_liner,[r_no]),l_liner,0),0))'),
        work("r_block", "cut item", "no",
           '=IF(INDEX(r_item,[r_no])="liner",[r_named],0)+IF(INDEX(r_item,[r_no])="gutter",liner_slots+1,0)'
           '+IF(INDEX(r_item,[r_no])="leader",liner_slots+2,0)'),
        work("r_odd", "no cut goods, or no such liner", "0/1", '=IF(AND([r_item@]<>"",[r_block]=0),1,0)'),
        work("r_qty", "on hand", "no", "=INDEX(r_quantity,[r_no])*1"),
        work("r_len16", "length", "1/16 in", "=INT(ROUND(INDEX(r_length,[r_no])*big_in*per_inch,6))"),
        Column(key="r_value", header="scrap value", unit="money", role="money", rule="P7", fmt="#,##0.00",
               formula="=ROUND(ROUND(offcut_value*[r_len16]*INDEX(t_scrap,MAX(1,[r_block]))*IF([r_block]>0,1,0),8),2)"),
        Column(key="r_plan_qty", header="planned on hand", unit="no", values=tuple(p[0] for p in planned), origin="plan"),
        Column(key="r_plan16", header="planned length", unit="1/16 in", values=tuple(p[1] for p in planned), origin="plan"),
        Column(key="r_plan_value", header="planned value", unit="money", values=tuple(p[2] for p in planned), origin="plan"),
        Column(key="r_plan_used", header="used by the plan", unit="no", values=tuple(p[3] for p in planned), origin="plan"),
        work("r_alike", "length and value as planned", "0/1",
           "=IF(AND([r_len16]=[r_plan16],ROUND([r_value]-[r_plan_value],6)=0),1,0)", "P7"),
        work("r_off", "differs from the plan", "0/1",
           "=IF(AND([r_qty]=[r_plan_qty],OR([r_qty]=0,[r_alike]=1)),0,1)", "P7"),
        work("r_used", "used", "no", "=IF([r_block]>0,[r_plan_used]*INDEX(t_fresh,MAX(1,[r_block])),0)", "P7"),
        Column(key="r_cost", header="at scrap value", unit="money", role="money", rule="P7", fmt="#,##0.00",
               formula="=ROUND(ROUND([r_used]*[r_value],8),2)"),
    )  # fmt: skip
    return Sheet(
        title="Work extras",
        purpose="Cost of your own lines, which line each override replaces, what offcuts on hand are worth.",
        parts=(
            Table(key="extras_work", title="Lines of your own, costed", rows=shape.extras, columns=extras),
            Table(key="overrides_work", title="Overrides and their lines", rows=shape.overrides, columns=overrides),
            Table(key="offcuts_work", title="Offcuts on hand and the plan", rows=shape.offcuts, columns=offcuts),
        ),
        working=True,
    )


def _planned_offcuts(estimate: Estimate, shape: Shape) -> list[tuple[int, int, float, int]]:
    """Return what the plan knew of each offcut row: on hand, length, value, used."""
    known = {id(one.row): one for cut in block_cuts(estimate, shape) if cut for one in cut.offcuts}
    here = stock_here(estimate)
    found = [(0, 0, 0.0, 0)] * shape.offcuts
    for at, row in zip(shape.rows("offcut", len(here)), here, strict=True):
        one = known.get(id(row))
        found[at] = (
            (row.quantity, one.length, float(one.value), one.used)
            if one
            else (row.quantity, sixteenths_down(row.length_in), 0.0, 0)
        )
    return found


TASKS: Mapping[str, tuple[str, str]] = {
    "job": ("the job", "=1"),
    "area": ("water test, each area", "=areas_used"),
    "outlet": ("bay outlets", "=SUM(p_outlets)"),
    "narrow_outlet": ("outlets cut narrower", "=SUM(p_narrow_outlets)"),
    "piece": ("pieces of liner placed", "=SUM(p_placed_pieces)+SUM(w_apron_pieces)"),
    "tape_ft": ("feet of tape", "=SUM(w_tape)/12+SUM(w_posts)*post_tape_ft"),
    "gutter_ft": ("feet of gutter", "=SUM(g_len)/12"),
    "leader": ("leaders", "=SUM(g_leaders)"),
}


def _money(key: str, label: str, formula: str, rule: str = "", role: str = "money") -> Scalar:
    return Scalar(key=key, label=label, unit="money", formula=formula, rule=rule, role=role, fmt="#,##0.00")


def _cents(what: str) -> str:
    return "=" + CENTS.format(what)


def totals_sheet() -> Sheet:
    """Return the figures used in more than one place, and the steps of the price."""
    m, rounded = _money, _cents
    steps = (
        m("sum_goods", "goods", rounded("SUM(i_cost)"), "M1"),
        m("sum_extra_goods", "materials of your own", rounded('SUMIF(e_kind,"material",ex_cost)'), "M3"),
        m("tax_by_item", "tax on materials, line by line", rounded("SUM(i_tax)+SUM(ex_tax)"), "M4"),
        m("tax_by_invoice", "tax on materials, on their sum", rounded("job_tax_rate*total_materials"), "M4"),
        m("tax_either", "tax on materials, as chosen", '=IF(tax_basis="item",tax_by_item,tax_by_invoice)', "M4"),
        m("by_markup", "profit as a markup", rounded("base_cost*job_profit"), "M3"),
        m(
            "by_margin",
            "profit as a margin",
            "=IFERROR(" + CENTS.format("base_cost/(1-job_profit)-base_cost") + ",0)",
            "M3",
        ),
        m("profit_before", "profit before the least price", '=IF(job_profit_basis="margin",by_margin,by_markup)', "M3"),
    )

    def s(key: str, label: str, unit: str, formula: str, rule: str = "") -> Scalar:
        return Scalar(key=key, label=label, unit=unit, formula=formula, rule=rule, fmt="#,##0.######")

    return Sheet(
        title="Work totals",
        purpose="Figures used in more than one place.",
        parts=(
            Block(
                title="Totals",
                scalars=(
                    s("areas_used", "areas", "no", "=SUM(w_use)"),
                    s("liners_used", "liner records in use", "no", '=SUMIF(t_no,"<="&liner_slots,t_pick)'),
                    s("members_listed", "members before merging", "no", "=SUM(s_count)"),
                    s("members_live", "less those replaced", "no", "=SUM(c_live)", "G3"),
                    s("parts_listed", "parts", "no", "=SUM(q_use)", "G6"),
                    s("bays_plain", "bays of rectangles", "no", "=SUM(o_rows)", "G6"),
                    s("bays_listed", "bays", "no", "=bays_plain+SUM(sg_is_bay)", "G6"),
                    s("bead_ft", "bead", "ft", "=SUM(b_bead)/12+SUM(w_posts)*post_bead_ft", "T2"),
                    s("flow_gpm", "flow", "gpm", "=SUM(p_flow)", "W1"),
                ),
            ),
            Block(title="Steps of the price", scalars=steps),
        ),
        landscape=False,
        working=True,
    )


def estimate_sheet() -> Sheet:
    """Return the estimate: labour, then from cost to price."""
    labour = (
        Column(key="lab_task", header="task", role="label", values=tuple(title for title, _ in TASKS.values())),
        Column(key="lab_count", header="count", unit="no", fmt="#,##0.##", rule="M2",
               formula=tuple(formula for _, formula in TASKS.values())),
        Column(key="lab_each", header="hours each", unit="h", fmt="0.00", rule="M2",
               formula=tuple(f"=hours_{task}" for task in TASKS)),
        Column(key="lab_hours", header="hours", unit="h", role="result", fmt="#,##0.00", rule="M2",
               formula="=ROUND(ROUND([lab_count]*[lab_each],6),2)"),
        Column(key="lab_cost", header="cost", unit="money", role="money", fmt="#,##0.00", rule="M2",
               formula="=ROUND(ROUND([lab_hours]*job_labour_rate,8),2)"),
    )  # fmt: skip

    m, rounded = _money, _cents
    price = (
        m("total_materials", "materials", rounded("sum_goods+sum_extra_goods"), "M3"),
        m("total_labour", "labour", rounded('SUM(lab_cost)+SUMIF(e_kind,"labour",ex_cost)'), "M3"),
        m("total_other", "other", rounded('SUMIF(e_kind,"other",ex_cost)+SUM(fr_cost)'), "M3"),
        m("total_cost", "cost", rounded("total_materials+total_labour+total_other"), "M3", "result"),
        m("total_overhead", "overhead", rounded("job_overhead*total_cost"), "M3"),
        m("total_contingency", "contingency", rounded("contingency*total_cost"), "M3"),
        m("tax_materials", "tax on materials, a cost", '=IF(job_tax_on="materials",tax_either,0)', "M4"),
        m("base_cost", "base", rounded("total_cost+total_overhead+total_contingency+tax_materials"), "M3", "result"),
        m("total_profit", "profit",
          rounded("profit_before+MAX(0," + CENTS.format("minimum_charge") + "-(base_cost+profit_before))"), "M3"),
        m("tax_sale", "tax on the total", '=IF(job_tax_on="total",' + CENTS.format("job_tax_rate*(base_cost+total_profit)")
          + ",0)", "M4"),
        m("total_tax", "of it, tax in all", rounded("tax_materials+tax_sale"), "M4"),
        m("total_price", "price, tax included", rounded("base_cost+total_profit+tax_sale"), "M4", "result"),
    )  # fmt: skip
    hours = (
        Scalar(key="total_hours", label="hours", unit="h", formula="=ROUND(SUM(lab_hours),2)", role="result", fmt="#,##0.00",
               rule="M2"),
        Scalar(key="total_days", label="days for the crew", unit="days", rule="M2", fmt="0.0",
               formula="=IFERROR(total_hours/(crew*hours_per_day),0)"),
        Scalar(key="margin_share", label="margin in the price", unit="%", rule="M3", fmt="0.0%",
               formula="=IFERROR(total_profit/(base_cost+total_profit),0)"),
        Scalar(key="plan_words", label="cut plan", unit="", rule="P7",
               formula='=IF(plans_stale=0,"the cut plan is current","the cut plan is out of date: a safe count is priced")'),
        Scalar(key="plans_stale", label="cut plans out of date", unit="no", formula="=COUNT(t_fresh)-SUM(t_fresh)", rule="P7"),
        Scalar(key="quote_price", label="price to quote", unit="money", role="result", fmt="#,##0.00",
               formula='=IF(errors_found=0,total_price,"not priced: see Checks")'),
    )  # fmt: skip
    return Sheet(
        title="Estimate",
        purpose="From cost to price. Every line is live: change an input and it follows.",
        parts=(
            Block(title="Price", scalars=price),
            Block(title="Work and state", scalars=hours),
            Table(key="labour", title="Labour", rows=len(TASKS), columns=labour),
        ),
        landscape=False,
    )


def orders_work_sheet(shape: Shape) -> Sheet:
    """Return what is bought, sorted by supplier."""
    packs = [n for n, row in enumerate(line_rows(shape), 1) if not row.block]
    slots = shape.blocks * shape.lengths
    source = (*packs, *range(1, slots + 1))

    def either(line: str, slot: str) -> tuple[str, ...]:
        return (line,) * len(packs) + (slot,) * slots

    columns = (
        Column(key="od_src", header="row", unit="row", values=source),
        work("od_no", "no", "no", "=[od_no-]+1"),
        work("od_packs", "packs", "no", either("=INDEX(i_packs,[od_src])", "=INDEX(u_pieces,[od_src])"), "M1"),
        work("od_offer", "offer", "row", either("=INDEX(i_offer,[od_src])", "=INDEX(u_offer,[od_src])"), "M5"),
        work("od_cost", "cost", "money", either("=INDEX(i_cost,[od_src])", "=INDEX(u_cost,[od_src])"), "M1"),
        work("od_supplier", "supplier", "row", "=IF([od_packs]>0,INDEX(x_supplier,[od_offer]),1000)"),
        work("od_key", "sort key", "", "=[od_supplier]*1000+[od_no]"),
    )
    in_order = (
        work("os_no", "no", "no", "=[os_no-]+1"),
        work("os_row", "row", "row", "=MOD(SMALL(od_key,[os_no]),1000)"),
        work("os_sup", "supplier row", "row", "=INDEX(od_supplier,[os_row])"),
        work("os_use", "used", "0/1", "=IF([os_sup]<1000,1,0)"),
        work("os_offer", "offer", "row", "=INDEX(od_offer,[os_row])"),
        Column(key="os_cost", header="amount", unit="money", role="money", fmt="#,##0.00", rule="M1",
               formula="=ROUND(ROUND(INDEX(od_cost,[os_row])*[os_use],8),2)"),
        Column(key="os_total", header="supplier's total", unit="money", role="money", fmt="#,##0.00",
               formula="=IF([os_sup]=[os_sup-],0,ROUND(ROUND(SUMIF(os_sup,[os_sup],os_cost)*[os_use],8),2))"),
    )  # fmt: skip
    freight = (
        work("fr_no", "no", "no", "=[fr_no-]+1"),
        work("fr_row", "first offer of the supplier", "row",
             '=IF(INDEX(sp_supplier,[fr_no])="",0,IFERROR(MATCH(INDEX(sp_supplier,[fr_no]),v_supplier,0),0))'),
        Column(key="fr_goods", header="goods", unit="money", role="money", fmt="#,##0.00",
               formula="=ROUND(ROUND(SUMIF(od_supplier,[fr_row],od_cost)*IF([fr_row]>0,1,0),8),2)"),
        work("fr_due", "freight is due", "0/1",
             '=IF(AND([fr_goods]>0,INDEX(sp_currency,[fr_no])=job_currency,OR(INDEX(sp_free_freight_from,[fr_no])="",'
             "[fr_goods]<INDEX(sp_free_freight_from,[fr_no]))),1,0)"),
        Column(key="fr_cost", header="freight", unit="money", role="money", fmt="#,##0.00",
               formula="=ROUND(ROUND(INDEX(sp_freight,[fr_no])*[fr_due],8),2)"),
    )  # fmt: skip
    return Sheet(
        title="Work orders",
        purpose="Everything that is bought, one row a line or stock length; then sorted by supplier.",
        parts=(
            Table(key="order_sources", title="What is bought", rows=len(source), columns=columns),
            Table(key="order_rows", title="By supplier", rows=len(source), columns=in_order),
            Table(key="freight_rows", title="Freight", rows=shape.suppliers, columns=freight),
        ),
        working=True,
    )


def orders_sheet(shape: Shape) -> Sheet:
    """Return the draft order, grouped by supplier."""
    rows = len([row for row in line_rows(shape) if not row.block]) + shape.blocks * shape.lengths

    def shown(column: str) -> str:
        return f'=IF([os_use@]=1,INDEX({column},[os_offer@])&"","")'

    columns = (
        Column(key="ord_supplier", header="supplier", role="label", formula=shown("v_supplier")),
        Column(key="ord_sku", header="SKU", role="label", formula=shown("v_sku")),
        Column(key="ord_item", header="item", role="label",
               formula='=IF([os_use@]=1,INDEX(list_item,MAX(1,INDEX(x_item,[os_offer@]))),"")'),
        Column(key="ord_text", header="description", role="label", formula=shown("v_description")),
        Column(key="ord_packs", header="packs", unit="no", role="result", fmt="#,##0", rule="M1",
               formula='=IF([os_use@]=1,INDEX(od_packs,[os_row@]),"")'),
        Column(key="ord_pack", header="in a pack", fmt="#,##0.###",
               formula='=IF([os_use@]=1,INDEX(x_pack,[os_offer@]),"")'),
        Column(key="ord_unit", header="unit", role="label",
               formula='=IF([os_use@]=1,INDEX(i_unit,INDEX(x_first,[os_offer@])),"")'),
        Column(key="ord_price", header="pack price", unit="money", role="label", fmt="#,##0.00##",
               formula='=IF([os_use@]=1,INDEX(x_price,[os_offer@]),"")'),
        Column(key="ord_cost", header="amount", unit="money", role="money", fmt="#,##0.00;;", rule="M1",
               formula="=ROUND(ROUND([os_cost@],8),2)"),
        Column(key="ord_total", header="supplier's total", unit="money", role="money", fmt="#,##0.00;;",
               formula="=ROUND(ROUND([os_total@],8),2)"),
    )  # fmt: skip
    return Sheet(
        title="Orders",
        purpose="Draft order by supplier, in whole packs. A cut length is bought by the piece.",
        parts=(Table(key="orders", title="Draft order", rows=rows, columns=columns), Text(lines=("=plan_words",))),
    )
