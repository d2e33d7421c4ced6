"""Workings of offers and of stock for cut goods (P4, P6, P7, M1, M5, M6)."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from baybook.estimate import Estimate
from baybook.job.records import ITEMS
from baybook.numbers import cents, sixteenths_up
from baybook.pricing.cutgoods import CutLine
from baybook.workbook.declare import Block, Column, Scalar, Sheet, Table
from baybook.workbook.shape import Shape
from baybook.workbook.sheets.columns import work

__all__ = ["LineRow", "block_cuts", "blocks_of", "line_rows", "offers_work_sheet", "pieces_sheet", "stock_sheet"]


@dataclass(frozen=True, slots=True)
class LineRow:
    """One row of the quantities: an item, and the liner record it belongs to (0 if to none)."""

    item: str
    liner: int
    block: int  # of the cut goods, 0 for what is bought in packs


def blocks_of(shape: Shape) -> tuple[tuple[str, int], ...]:
    """Return the cut items in order: each liner, gutter, leader."""
    return (*(("liner", n) for n in range(1, shape.liners + 1)), ("gutter", 0), ("leader", 0))


def line_rows(shape: Shape) -> tuple[LineRow, ...]:
    """Return the rows of the quantities, in the order of the item list."""
    blocks = {one: number for number, one in enumerate(blocks_of(shape), 1)}
    rows = []
    for code, item in ITEMS.items():
        liners = range(1, shape.liners + 1) if item.of_liner else (0,)
        rows += [LineRow(code, liner, blocks.get((code, liner), 0)) for liner in liners]
    return tuple(rows)


def block_cuts(estimate: Estimate, shape: Shape) -> tuple[CutLine | None, ...]:
    """Return the cut plan of each block; None for a spare liner."""
    rows = shape.rows("liner", len(estimate.inputs.liners))
    names = {name: row + 1 for row, name in zip(rows, estimate.inputs.liners, strict=True)}
    plans = {(cut.cut.item, names.get(cut.cut.liner, 0)): cut for cut in estimate.cuts}
    return tuple(plans.get(block) for block in blocks_of(shape))


def offers_work_sheet(shape: Shape) -> Sheet:
    """Return the offers read, and each with each liner it may serve."""
    slots = shape.liners
    offers = (
        work("x_no", "no", "no", "=[x_no-]+1"),
        work("x_item", "item", "row", '=IF(INDEX(v_item,[x_no])="",0,IFERROR(MATCH(INDEX(v_item,[x_no]),list_item,0),0))'),
        work("x_from", "from", "0/1", "=IF(INDEX(v_valid_from,[x_no])<=price_date,1,0)", "M6"),
        work(
            "x_to",
            "to",
            "0/1",
            '=IF(OR(INDEX(v_valid_to,[x_no])="",INDEX(v_valid_to,[x_no])>=price_date),1,0)',
            "M6",
        ),
        work("x_currency", "in the job's currency", "0/1", "=IF(INDEX(v_currency,[x_no])=job_currency,1,0)", "M6"),
        work("x_live", "in force", "0/1", "=IF([x_item]>0,1,0)*[x_from]*[x_to]*[x_currency]", "M6"),
        work("x_first", "first row of its item", "row", "=MAX(1,IFERROR(MATCH([x_item],i_item_no,0),0))"),
        work("x_of_liner", "belongs to a liner", "0/1", "=INDEX(i_of_liner,[x_first])"),
        work("x_cut", "cut from lengths", "0/1", "=INDEX(i_is_cut,[x_first])"),
        work("x_pack", "pack", "unit", '=IF(INDEX(v_pack_qty,[x_no])="",1,INDEX(v_pack_qty,[x_no]))', "M1"),
        work("x_price", "pack price", "money", "=ROUND(ROUND(INDEX(v_pack_price,[x_no]),8),2)*[x_cut]"
           "+INDEX(v_pack_price,[x_no])*(1-[x_cut])", "M1"),
        work("x_len16", "length", "1/16 in", "=INT(ROUND(INDEX(v_length,[x_no])*big_in*per_inch,6))*[x_cut]", "P6"),
        work("x_width", "width", "in", "=ROUND(INDEX(v_width,[x_no])*small_in,6)*[x_cut]", "P4"),
        work("x_sorted", "price to rank by", "money", "=IF([x_cut]*[x_live]=1,[x_price],no_fit)"),
        work("x_rank", "rank of its price", "no", "=RANK([x_sorted],x_sorted,1)", "M5"),
        work("x_record", "liner record", "row", '=IF(INDEX(v_liner,[x_no])="",0,'
           "IFERROR(MATCH(INDEX(v_liner,[x_no]),l_liner,0),far_away))"),
        work("x_only", "fits an item of no liner", "0/1",
           "=IF(OR([x_record]=0,AND([x_record]=1,liners_used=1)),1,0)"),
        work("x_supplier", "supplier", "row", "=IF([x_live]=1,MATCH(INDEX(v_supplier,[x_no]),v_supplier,0),0)"),
        work("x_unit", "unit", "", '=IF([v_unit@]="",INDEX(i_unit,[x_first]),[v_unit@])'),
        work("x_other_unit", "another unit than the item's", "0/1",
             '=IF(OR([x_unit]=INDEX(i_unit,[x_first]),AND([x_unit]="each",INDEX(i_unit,[x_first])<>"ft")),0,MIN(1,[x_item]))',
             "M1"),
        work("x_odd_record", "liner record unknown, or of an item that has none", "0/1",
             "=IF(OR([x_record]=far_away,AND([x_record]>0,[x_of_liner]=0)),MIN(1,[x_item]),0)"),
        work("x_odd_size", "cut goods in packs, or a liner without a width", "0/1",
             '=IF(OR(AND([x_cut]=1,[x_pack]<>1),AND([v_item@]="liner",[x_width]=0)),MIN(1,[x_item]),0)'),
        work("x_odd_code", "no currency code", "0/1", "=IF(LEN([v_currency@])=2+1,0,MIN(1,[x_item]))", "M6"),
        work("x_odd_days", "ends before it begins", "0/1",
             '=IF(AND([v_valid_to@]<>"",[v_valid_to@]<[v_valid_from@]),MIN(1,[x_item]),0)', "M6"),
        work("x_untyped", "not a number", "0/1",
           "=IF(AND(COUNT(INDEX(v_pack_price,[x_no]))=1,COUNT([x_pack])=1,[x_pack]>0,OR([x_cut]=0,[x_len16]>0)),0,"
           "MIN(1,[x_item]))"),
    )  # fmt: skip
    pairs = (
        Column(
            key="y_offer", header="offer", unit="row",
            values=tuple(offer for offer in range(1, shape.offers + 1) for _ in range(slots)),
        ),
        Column(key="y_slot", header="liner", unit="row", values=tuple(range(1, slots + 1)) * shape.offers),
        work("y_no", "no", "no", "=[y_no-]+1"),
        work("y_fits", "fits this liner", "0/1",
           "=INDEX(x_live,[y_offer])*IF(OR(INDEX(x_record,[y_offer])=0,INDEX(x_record,[y_offer])=[y_slot]),1,0)"
           "*INDEX(x_of_liner,[y_offer])", "P4"),
        work("y_plain", "of no liner", "0/1",
           "=INDEX(x_only,[y_offer])*INDEX(x_live,[y_offer])*(1-INDEX(x_of_liner,[y_offer]))*IF([y_slot]=1,1,0)"),
        work("y_line", "line it may serve", "row",
           "=(INDEX(x_first,[y_offer])+([y_slot]-1)*[y_fits])*([y_fits]+[y_plain])"),
        work("y_lix", "that row", "row", "=MAX(1,[y_line])"),
        work("y_block", "cut block", "no", "=INDEX(i_block,[y_lix])*IF([y_line]>0,1,0)"),
        work("y_wide", "wide enough", "0/1",
           "=IF(ROUND(INDEX(x_width,[y_offer]),6)>=INDEX(t_need,MAX(1,[y_block])),1,0)", "P4"),
        work("y_cut", "eligible block", "no",
           "=IF([y_block]*[y_wide]*INDEX(t_users,MAX(1,[y_block]))>0,[y_block],spare_lane)", "P4"),
        work("y_ckey", "sort key", "",
           "=(([y_cut]*1000*1000+INDEX(x_len16,[y_offer]))*1000+INDEX(x_rank,[y_offer]))*1000+[y_no]"),
        work("y_wkey", "width key", "", "=[y_cut]*1000*100+INDEX(x_width,[y_offer])"),
        work("y_pack", "serves in packs", "0/1", "=IF(AND([y_line]>0,[y_block]=0),1,0)", "M5"),
        work("y_packs", "packs", "no",
           "=IF([y_pack]=1,ROUNDUP(ROUND(INDEX(i_order,[y_lix])/INDEX(x_pack,[y_offer]),6),0),0)", "M1"),
        work("y_cost", "cost", "money", "=ROUND(ROUND([y_packs]*INDEX(x_price,[y_offer]),8),2)", "M1"),
        work("y_lane", "lane", "", "=IF([y_pack]=1,[y_line],spare_lane)"),
        work("y_key", "sort key", "", "=[y_lane]*lane_step*100+ROUND([y_cost]*100,0)*1000+[y_no]", "M5"),
    )  # fmt: skip
    return Sheet(
        title="Work offers",
        purpose="Offers in force and what each costs for each line it may serve; the cheapest is taken.",
        parts=(
            Table(key="offers_read", title="Offers, read", rows=shape.offers, columns=offers),
            Table(key="pairs", title="Offer and line", rows=shape.pairs, columns=pairs),
        ),
        working=True,
    )


def _slots(estimate: Estimate, shape: Shape) -> list[tuple[int | None, int | None, float | None]]:
    """Return planned count, length and price of each slot, block by block."""
    found: list[tuple[int | None, int | None, float | None]] = []
    for cut in block_cuts(estimate, shape):
        rows = [(one.planned, one.length, float(cents(one.offer.pack_price))) for one in cut.bought] if cut else []
        found += [*rows, *[(0, 0, 0.0)] * (shape.lengths - len(rows))]
    return found


def stock_sheet(estimate: Estimate, shape: Shape) -> Sheet:
    """Return the stock lengths on offer by cut item, the plan's count, the safe count, what is bought."""
    blocks, lengths = shape.blocks, shape.lengths
    sorted_rows = min(shape.pairs, 999)
    names = [f"{item} {n}" if item == "liner" else item for item, n in blocks_of(shape)]
    planned = _slots(estimate, shape)
    cuts = block_cuts(estimate, shape)
    rates = estimate.inputs.rates
    totals = tuple(len(cut.cut.pieces) if cut else 0 for cut in cuts)
    by_block = (
        Column(key="t_name", header="cut item", role="label", values=tuple(names)),
        work("t_no", "no", "no", "=[t_no-]+1"),
        work("t_users", "areas that use it", "no",
           ("=COUNTIF(w_liner,[t_no])",) * shape.liners + ("=areas_used",) * 2),
        work("t_need", "widest need", "in",
           ("=IF([t_users]>0,ROUND(LARGE(w_liner_key,COUNTIF(w_liner,\">\"&[t_no])+1)-[t_no]*1000*100,6),0)",)
           * shape.liners + ("=0", "=0"), "P4"),
        work("t_offers", "eligible offers", "no", "=COUNTIF(y_cut,[t_no])", "P4"),
        work("t_width", "stock width", "in",
           "=IF([t_offers]>0,ROUND(SMALL(y_wkey,COUNTIF(y_cut,\"<\"&[t_no])+1)-[t_no]*1000*100,6),0)", "P4"),
        work("t_lengths", "stock lengths", "no", "=SUMIF(k_block,[t_no],k_new)", "M5"),
        work("t_longest16", "longest, less end trim", "1/16 in",
           "=MAX(0,SUMIFS(u_len16,u_block,[t_no],u_pos,MIN(MAX(1,[t_lengths]),MAX(u_pos)))-end_trim_cut)", "P6"),
        work("t_pieces", "pieces needed", "no", "=SUMIF(z_block,[t_no],z_n)", "P7"),
        Column(key="t_planned", header="pieces planned", unit="no", values=totals, rule="P7", origin="plan"),
        work("t_off_count", "lengths whose count differs", "no", "=SUMIF(n_block,[t_no],n_off)", "P7"),
        work("t_off_stock", "stock that differs", "no", "=SUMIF(u_block,[t_no],u_off)+SUMIF(r_block,[t_no],r_off)", "P7"),
        work("t_stale", "differences from the plan", "no",
           "=[t_off_count]+[t_off_stock]+ABS([t_pieces]-[t_planned])+cut_settings_off", "P7"),
        work("t_fresh", "plan is current", "0/1", "=IF(OR([t_stale]=0,[t_users]=0),1,0)", "P7"),
        *(work(f"t_s{j}", f"price by length {j}", "money/16th",
             f"=IF(INDEX(u_use,([t_no]-1)*MAX(u_pos)+[t_s{j}!])=1,"
             f"INDEX(u_price,([t_no]-1)*MAX(u_pos)+[t_s{j}!])/INDEX(u_len16,([t_no]-1)*MAX(u_pos)+[t_s{j}!]),no_fit)",
             "P7", j) for j in range(1, lengths + 1)),
        work("t_scrap", "lowest price by length", "money/16th", f"=MIN([t_s1]:[t_s{lengths}])", "P7"),
        work("t_offcuts", "offcuts used, at their value", "money", "=ROUND(ROUND(SUMIF(r_block,[t_no],r_cost),8),2)", "P7"),
        work("t_too_many", "more lengths than rows", "no", "=MAX(0,[t_lengths]-MAX(u_pos))"),
        work("t_pick", "liner record in use", "0/1", "=IF([t_users]>0,1,0)"),
    )  # fmt: skip
    listing = (
        work("k_no", "no", "no", "=[k_no-]+1"),
        work("k_row", "pair", "row", "=MOD(SMALL(y_ckey,[k_no]),1000)"),
        work("k_use", "used", "0/1", "=IF([k_no]<=cut_offers,1,0)"),
        work("k_block", "block", "no", "=INDEX(y_cut,[k_row])*[k_use]"),
        work("k_len16", "length", "1/16 in", "=INDEX(x_len16,INDEX(y_offer,[k_row]))"),
        work(
            "k_new",
            "cheapest of its length",
            "0/1",
            "=IF(AND([k_block]=[k_block-],[k_len16]=[k_len16-]),0,[k_use])",
            "M5",
        ),
        work("k_pos", "place", "no", "=IF([k_block]=[k_block-],[k_pos-],0)+[k_new]"),
        work("k_code", "code", "", "=([k_block]*100+[k_pos])*[k_new]"),
    )
    slots = (
        Column(key="u_block", header="block", unit="no", values=tuple(b for b in range(1, blocks + 1) for _ in range(lengths))),
        Column(key="u_pos", header="place", unit="no", values=tuple(range(1, lengths + 1)) * blocks),
        work("u_at", "row in the list", "row", "=IFERROR(MATCH([u_block]*100+[u_pos],k_code,0),0)"),
        work("u_use", "used", "0/1", "=IF([u_at]>0,1,0)"),
        work("u_offer", "offer", "row", "=INDEX(y_offer,INDEX(k_row,MAX(1,[u_at])))"),
        work("u_len16", "length", "1/16 in", "=INDEX(x_len16,[u_offer])*[u_use]", "P6"),
        work("u_price", "price", "money", "=INDEX(x_price,[u_offer])*[u_use]", "M5"),
        Column(key="u_plan", header="planned", unit="no", rule="P7", origin="plan",
               values=tuple(p[0] for p in planned)),
        Column(key="u_plan16", header="planned length", unit="1/16 in", rule="P7", origin="plan",
               values=tuple(p[1] for p in planned)),
        Column(key="u_plan_price", header="planned price", unit="money", rule="P7", origin="plan",
               values=tuple(p[2] for p in planned)),
        work("u_off", "differs from the plan", "0/1",
           "=IF(AND([u_len16]=[u_plan16],ROUND([u_price]-[u_plan_price],6)=0),0,1)", "P7"),
        work("u_safe", "safe count", "no", "=SUMIFS(z_n,z_block,[u_block],z_choice,[u_pos])", "P7"),
        work("u_count", "counted", "no", "=IF(INDEX(t_fresh,[u_block])=1,[u_plan],[u_safe])", "P7"),
        work("u_line", "line", "row", "=MATCH([u_block],i_block,0)"),
        work("u_own", "overridden", "no",
           "=COUNTIFS(h_line,[u_line],h_len16,[u_len16])*[u_use]"),
        work("u_pieces", "bought", "no",
           "=IF([u_own]>0,SUMIFS(h_quantity,h_line,[u_line],h_len16,[u_len16]),[u_count])", "M1"),
        work("u_cost", "cost", "money", "=ROUND(ROUND([u_pieces]*[u_price],8),2)", "M1"),
    )  # fmt: skip
    fixed = Block(
        title="What the plan was made for",
        scalars=(
            Scalar(key="liner_slots", label="liner records a sheet holds", unit="no", value=shape.liners),
            Scalar(key="cut_offers", label="eligible offers of cut goods", unit="no",
                   formula='=COUNTIF(y_cut,"<"&spare_lane)'),
            Scalar(key="gutter_longest16", label="longest gutter", unit="1/16 in", rule="T4",
                   formula="=INDEX(t_longest16,liner_slots+1)"),
            Scalar(key="leader_longest16", label="longest leader", unit="1/16 in", rule="T5",
                   formula="=INDEX(t_longest16,liner_slots+2)"),
            Scalar(key="planned_kerf", label="kerf of the plan", unit="1/16 in", origin="plan",
                   value=sixteenths_up(rates.kerf_in)),
            Scalar(key="planned_trim", label="end trim of the plan", unit="1/16 in", origin="plan",
                   value=sixteenths_up(rates.end_trim_in)),
            Scalar(key="cut_settings_off", label="kerf or trim differ from the plan", unit="0/1", rule="P7",
                   formula="=IF(AND(kerf_cut=planned_kerf,end_trim_cut=planned_trim),0,1)"),
        ),
    )  # fmt: skip
    return Sheet(
        title="Work stock",
        purpose="Stock lengths on offer for each cut item, cheapest offer of each; the plan's count against the safe count.",
        parts=(
            fixed,
            Table(key="blocks", title="Cut items", rows=blocks, columns=by_block),
            Table(key="slots", title="Stock lengths", rows=blocks * lengths, columns=slots),
            Table(
                key="sorted_offers", title="Eligible offers by length, then price", rows=sorted_rows, columns=listing
            ),
        ),
        working=True,
    )


def _planned_lengths(cuts: Sequence[CutLine | None]) -> list[tuple[int, int, int]]:
    """Return (block, sixteenths, count) of every different planned length."""
    found = []
    for block, cut in enumerate(cuts, 1):
        counts: dict[int, int] = {}
        for length, _ in cut.cut.pieces if cut else ():
            counts[length] = counts.get(length, 0) + 1
        found += [(block, length, count) for length, count in sorted(counts.items(), reverse=True)]
    return found


def pieces_sheet(estimate: Estimate, shape: Shape) -> Sheet:
    """Return the pieces needed, row by row, each with the cheapest stock that holds it; and what the plan was made for."""
    parts, areas, liners, blocks, lengths = shape.parts, shape.areas, shape.liners, shape.blocks, shape.lengths
    # kind of row: rows, block, count, length
    kinds = (
        (parts, "=INDEX(p_lix,[z_src])", "=INDEX(p_count,[z_src])",
         "=ROUND(INDEX(p_rest,[z_src])*per_inch,0)"),
        (parts, "=INDEX(p_lix,[z_src])", "=INDEX(p_count,[z_src])*INDEX(p_spliced,[z_src])",
         "=ROUND(INDEX(p_upper,[z_src])*per_inch,0)"),
        (areas, "=INDEX(w_lix,[z_src])", "=INDEX(w_apron_cut,[z_src])", "=INDEX(w_apron_rest,[z_src])"),
        (liners, "=[z_src]", "=spare_panels*INDEX(m_spare,[z_src])", "=ROUND(INDEX(p_rest,INDEX(m_part,[z_src]))*per_inch,0)"),
        (liners, "=[z_src]", "=spare_panels*INDEX(m_spare,[z_src])*INDEX(p_spliced,INDEX(m_part,[z_src]))",
         "=ROUND(INDEX(p_upper,INDEX(m_part,[z_src]))*per_inch,0)"),
        (liners, "=[z_src]", "=INDEX(m_full,[z_src])", "=INDEX(t_longest16,[z_block])"),
        (parts, "=liner_slots+1", "=INDEX(g_rests,[z_src])", "=INDEX(g_rest16,[z_src])"),
        (1, "=liner_slots+1", "=SUM(g_whole)+SUM(gs_whole)", "=INDEX(t_longest16,[z_block])"),
        (shape.stretches, "=liner_slots+1", "=INDEX(gs_rests,[z_src])", "=INDEX(gs_rest16,[z_src])"),
        (parts, "=liner_slots+2", "=INDEX(d_rests,[z_src])", "=INDEX(d_rest,[z_src])"),
        (1, "=liner_slots+2", "=SUM(d_wholes)", "=INDEX(t_longest16,[z_block])"),
    )  # fmt: skip
    sources = tuple(n for rows, *_ in kinds for n in range(1, rows + 1))

    def per_kind(at: int) -> tuple[str, ...]:
        return tuple(str(kind[at]) for kind in kinds for _ in range(int(kind[0])))

    choices = [
        work(
            f"z_c{j}",
            f"price on length {j}",
            "money",
            f"=IF(AND([z_n]>0,INDEX(u_len16,[z_base]+[z_c{j}!])-end_trim_cut>=[z_len16],INDEX(u_use,[z_base]+[z_c{j}!])=1),"
            f"INDEX(u_price,[z_base]+[z_c{j}!]),no_fit)",
            "P7",
            j,
        )
        for j in range(1, lengths + 1)
    ]
    needs = (
        Column(key="z_src", header="row", unit="row", values=sources),
        work("z_block", "block", "no", per_kind(1)),
        work("z_n", "pieces", "no", per_kind(2), "P7"),
        work("z_len16", "length", "1/16 in", per_kind(3), "P7"),
        work("z_base", "rows before its stock", "no", "=([z_block]-1)*MAX(u_pos)"),
        *choices,
        work("z_best", "cheapest that holds it", "money", f"=MIN([z_c1]:[z_c{lengths}])", "P7"),
        work("z_choice", "its place", "no", f"=IF([z_n]>0,MATCH([z_best],[z_c1]:[z_c{lengths}],0),0)", "P7"),
        work("z_unfit", "fits no stock", "0/1", "=IF(AND([z_n]>0,[z_best]=no_fit),1,0)", "P7"),
    )
    planned = _planned_lengths(block_cuts(estimate, shape))
    plan_rows = (
        Column(key="n_block", header="block", unit="no", origin="plan", values=tuple(row[0] for row in planned)),
        Column(key="n_len16", header="length", unit="1/16 in", origin="plan", values=tuple(row[1] for row in planned)),
        Column(key="n_plan", header="planned", unit="no", origin="plan", values=tuple(row[2] for row in planned)),
        work("n_live", "needed now", "no", "=SUMIFS(z_n,z_block,[n_block],z_len16,[n_len16])", "P7"),
        work("n_off", "differs", "0/1", "=IF([n_live]=[n_plan],0,1)", "P7"),
    )
    liner_rows = (
        work("m_no", "no", "no", "=[m_no-]+1"),
        work("m_twice", "stands twice", "0/1", '=IF(SUMPRODUCT((l_liner=[l_liner@])*(l_liner<>""))>1,1,0)'),
        work("m_longest", "longest panel", "key",
           "=IFERROR(LARGE(m_key,COUNTIF(m_lane,\">\"&[m_no])+1),0)-[m_no]*lane_step"),
        work("m_spare", "has a panel", "0/1", "=IF(COUNTIF(m_lane,[m_no])>0,1,0)"),
        work("m_part", "its part", "row", "=IF([m_spare]=1,MAX(1,1000-MOD([m_longest],1000)),1)", "P7"),
        work("m_apron", "whole apron pieces cut", "no",
           "=ROUNDUP(ROUND(SUMIF(w_liner,[m_no],w_apron_n)/MAX(1,IFERROR(INT(ROUND(INDEX(t_width,[m_no])/apron_in,6)),1)),6),0)",
           "P5"),
        work("m_full", "pieces of whole stock", "no",
           "=SUMIF(m_block,[m_no],m_fulls)+[m_apron]+spare_panels*[m_spare]*INDEX(p_full,[m_part])", "P6"),
    )  # fmt: skip
    panel_rows = (
        work("m_row", "part", "row", "=[m_row-]+1"),
        work("m_block", "liner", "row", "=INDEX(p_lix,[m_row])*INDEX(p_use,[m_row])"),
        work("m_lane", "liner, if it has a panel", "row", "=[m_block]*IF(INDEX(p_outlets,[m_row])>0,1,0)"),
        work(
            "m_key",
            "length key",
            "",
            "=[m_lane]*lane_step+(ROUND(INDEX(p_cut,[m_row])*per_inch,0)*1000+1000-[m_row])*IF([m_lane]>0,1,0)",
            "P7",
        ),
        work("m_fulls", "pieces of whole stock", "no", "=INDEX(p_full,[m_row])*INDEX(p_count,[m_row])", "P6"),
    )
    return Sheet(
        title="Work pieces",
        purpose="Every piece that must be cut, and the stock piece of its own that would hold it at least cost; against "
        "what the cut plan was made for.",
        parts=(
            Table(key="planned", title="What the plan was made for", rows=shape.planned, columns=plan_rows),
            Table(key="panel_work", title="Panels by part", rows=parts, columns=panel_rows),
            Table(key="liner_work", title="Longest panel and whole stock by liner", rows=liners, columns=liner_rows),
            Table(key="needs", title=f"Pieces needed, {blocks} cut items", rows=len(sources), columns=needs),
        ),
        working=True,
    )
