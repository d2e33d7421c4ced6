"""Workings of parts, bays and gutter lines (G5, G6, P1 to P6, O1, W1 to W4, T2 to T5)."""

from __future__ import annotations

from baybook.workbook.declare import Column, Sheet, Table
from baybook.workbook.shape import Shape
from baybook.workbook.sheets.columns import sticks, work

__all__ = ["bays_work_sheet", "lines_work_sheet", "parts_sheet"]


def parts_sheet(shape: Shape) -> Sheet:
    """Return the parts of each area between its beams, sorted from the ledger out."""
    areas, rows, drawn = shape.areas, shape.framing, shape.segments
    item = tuple(list(range(1, areas + 1)) + list(range(1, rows + 1)) + list(range(1, drawn + 1)))

    def either(area: str, framing: str, segment: str = "=0") -> tuple[str, ...]:
        return (area,) * areas + (framing,) * rows + (segment,) * drawn

    sources = (
        Column(key="q_item", header="row", unit="row", values=item),
        work("q_no", "no", "no", "=[q_no-]+1"),
        Column(
            key="q_use",
            header="used",
            unit="0/1",
            rule="G6",
            formula=either(
                "=INDEX(w_use,[q_item])*(1-INDEX(w_drawn,[q_item]))",
                "=INDEX(f_beam,[q_item])*(1-INDEX(w_drawn,INDEX(f_ix,[q_item])))",
                "=INDEX(sg_use,[q_item])",
            ),
        ),
        Column(
            key="q_area",
            header="area",
            unit="row",
            formula=either("=[q_item]", "=INDEX(f_ix,[q_item])", "=INDEX(sg_ix,[q_item])"),
        ),
        Column(key="q_y", header="begins at", unit="in", rule="G6", formula=either("=0", "=INDEX(f_yin,[q_item])")),
        Column(
            key="q_half", header="half the beam", unit="in", rule="G6", formula=either("=0", "=INDEX(f_half,[q_item])")
        ),
        work("q_near", "beam's near face", "in", "=[q_y]-[q_half]", "G6"),
        Column(
            key="q_far",
            header="clear from",
            unit="in",
            rule="P1",
            formula=either("=ledger_thickness_in", "=[q_y]+[q_half]"),
        ),
        work("q_lane", "lane", "", "=IF([q_use]=1,[q_area],spare_lane)"),
        work("q_key", "sort key", "", "=([q_lane]*lane_step+ROUND([q_y]*1000*1000,0))*1000+[q_no]"),
    )
    parts = (
        work("p_no", "no", "no", "=[p_no-]+1"),
        work("p_row", "source", "row", "=MOD(SMALL(q_key,[p_no]),1000)"),
        work("p_use", "used", "0/1", "=IF([p_no]<=parts_listed,1,0)"),
        work("p_area", "area", "row", "=INDEX(q_area,[p_row])*[p_use]"),
        work("p_ix", "that row", "row", "=MAX(1,[p_area])"),
        work("p_lix", "liner", "row", "=INDEX(w_lix,[p_ix])"),
        work("p_seg", "drawn bay", "row", "=MAX(0,[p_row]-segments_before)*[p_use]", "G10"),
        work("p_six", "that row", "row", "=MAX(1,[p_seg])"),
        work("p_drawn", "of a drawn area", "0/1", "=MIN(1,[p_seg])", "G10"),
        work("p_strip", "a cap strip of it", "0/1", "=INDEX(sg_is_strip,[p_six])*[p_drawn]", "P5"),
        work("p_y", "begins at", "in", "=INDEX(q_y,[p_row])", "G6"),
        work("p_half", "half its beam", "in", "=INDEX(q_half,[p_row])", "G6"),
        work("p_near", "beam's near face", "in", "=INDEX(q_near,[p_row])", "G6"),
        work("p_far", "clear from", "in", "=CHOOSE(1+[p_drawn],INDEX(q_far,[p_row]),INDEX(sg_near,[p_six]))", "P1"),
        work("p_top", "at the ledger", "0/1", "=IF([p_area]=[p_area-],0,[p_use])", "G6"),
        work("p_last", "at the rim", "0/1", "=IF([p_area]=[p_area+],0,[p_use])", "G6"),
        work(
            "p_end",
            "clear to",
            "in",
            "=CHOOSE(1+[p_drawn],IF([p_last]=1,INDEX(w_projection,[p_ix])-INDEX(w_rims,[p_ix])*INDEX(w_thick,[p_ix]),[p_near+]),"
            "INDEX(sg_far,[p_six]))",
            "P1",
        ),
        work("p_clear", "clear run", "in", "=CHOOSE(1+[p_drawn],[p_end]-[p_far],INDEX(sg_run_now,[p_six]))*[p_use]", "P1"),
        work("p_ledger", "drains toward the ledger", "0/1",
           "=CHOOSE(1+[p_drawn],INDEX(w_ledger,[p_ix]),INDEX(sg_toward,[p_six]))*[p_use]", "G8"),
        work("p_lap_rim", "lap, low end at the rim", "in",
           "=IF([p_top]=1,INDEX(l_high_lap_in,[p_lix]),[p_half]+[p_half])", "P2"),
        work("p_lap_ledger", "lap, low end at the ledger", "in",
           "=IF([p_last]=1,INDEX(w_rims,[p_ix])*INDEX(w_thick,[p_ix])+rim_turn_down_in,[p_half+]+[p_half+])", "P2"),
        work("p_lap", "high lap", "in",
           "=CHOOSE(1+[p_drawn],IF([p_ledger]=1,[p_lap_ledger],[p_lap_rim]),INDEX(sg_lap,[p_six]))", "P2"),
        work(
            "p_steps",
            "cut steps",
            "no",
            "=MAX(0,ROUNDUP(ROUND(([p_clear]+[p_lap]-INDEX(l_low_setback_in,[p_lix])+trim_allowance_in)/cut_step_in,6),0))",
            "P2",
        ),
        work("p_cut", "cut length", "in", "=ROUNDUP(ROUND([p_steps]*cut_step_in*per_inch,6),0)/per_inch*[p_use]", "P2"),
        work(
            "p_fall",
            "fall",
            "in/ft",
            "=IFERROR(12*INDEX(w_drape,[p_ix])/[p_clear]+INDEX(a_frame_fall_in_per_ft,[p_ix]),0)"
            "*([p_use]-[p_strip])",
            "P3",
        ),
        work("p_stock", "longest stock", "in", "=INDEX(t_longest16,[p_lix])/per_inch", "P6"),
        work("p_spliced", "spliced", "0/1", "=IF([p_cut]>[p_stock],[p_use],0)", "P6"),
        work(
            "p_by_lap",
            "pieces by the lap",
            "no",
            "=IFERROR(ROUNDUP(ROUND(([p_cut]-splice_lap_in)/([p_stock]-splice_lap_in),6),0),1)",
            "P6",
        ),
        work("p_pieces", "pieces of a panel", "no", "=IF([p_spliced]=1,[p_by_lap],[p_use])", "P6"),
        work(
            "p_left",
            "left for the last",
            "in",
            "=ROUNDUP(ROUND(([p_cut]-([p_pieces]-[p_use])*([p_stock]-splice_lap_in))*per_inch,6),0)/per_inch",
            "P6",
        ),
        work("p_rest", "last piece", "in", "=IF([p_spliced]=1,MAX([p_left],min_piece_cut_in),[p_cut])", "P6"),
        work("p_upper", "piece above it", "in", "=([p_stock]-([p_rest]-[p_left]))*[p_spliced]", "P6"),
        work("p_full", "whole stock pieces", "no", "=([p_pieces]-2)*[p_spliced]", "P6"),
        work("p_bays", "bays", "no", "=COUNTIFS(b_part,[p_no],b_use,1)", "G6"),
        work("p_outlets", "outlets", "no", "=SUMIF(b_part,[p_no],b_drains)", "G5"),
        work("p_narrow_outlets", "outlets cut narrower", "no", "=SUMIF(b_part,[p_no],b_tight)", "O1"),
        work("p_caps", "narrow bays capped", "no", "=[p_bays]-[p_outlets]", "P5"),
        work("p_wide", "wide members capped", "no",
           "=CHOOSE(1+[p_drawn],INDEX(w_wide_n,[p_ix]),INDEX(sg_capped,[p_six]))*[p_use]", "P5"),
        work("p_stock_w", "stock width", "in", "=INDEX(t_width,[p_lix])", "P4"),
        work("p_cap_k", "caps side by side", "no",
           "=MAX(1,IFERROR(INT(ROUND([p_stock_w]/INDEX(w_narrow_need,[p_ix]),6)),1))", "P5"),
        work("p_wide_k", "member caps side by side", "no",
           "=MAX(1,IFERROR(INT(ROUND([p_stock_w]/INDEX(w_wide,[p_ix]),6)),1))", "P5"),
        work("p_dcap", "drawn bay capped", "0/1", "=[p_caps]*[p_drawn]", "P5"),
        work("p_dwide", "drawn member capped", "0/1", "=[p_wide]*[p_drawn]", "P5"),
        work("p_dcap_1", "first of its length", "0/1",
           "=IF(COUNTIFS([p_area^],[p_area],[p_cut^],[p_cut],[p_dcap^],1)=1,[p_dcap],0)", "P5"),
        work("p_dwide_1", "first of its length", "0/1",
           "=IF(COUNTIFS([p_area^],[p_area],[p_cut^],[p_cut],[p_dwide^],1)=1,[p_dwide],0)", "P5"),
        work("p_strip_drawn", "lengths cut for drawn caps", "no",
           "=ROUNDUP(ROUND(COUNTIFS(p_area,[p_area],p_cut,[p_cut],p_dcap,1)/[p_cap_k],6),0)*[p_dcap_1]"
           "+ROUNDUP(ROUND(COUNTIFS(p_area,[p_area],p_cut,[p_cut],p_dwide,1)/[p_wide_k],6),0)*[p_dwide_1]", "P5"),
        work("p_strip_n", "lengths cut for caps", "no",
           "=CHOOSE(1+[p_drawn],ROUNDUP(ROUND([p_caps]/[p_cap_k],6),0)+ROUNDUP(ROUND([p_wide]/[p_wide_k],6),0),"
           "[p_strip_drawn])", "P5"),
        work("p_count", "lengths cut", "no", "=[p_outlets]+[p_strip_n]", "P7"),
        work("p_placed", "panels and caps placed", "no", "=[p_outlets]+[p_caps]+[p_wide]", "T3"),
        work("p_edge_rest", "staples of the last piece", "no", "=2*(ROUNDUP(ROUND([p_rest]/staple_spacing_in,6),0)+1)", "T3"),
        work("p_edge_upper", "of the piece above", "no",
           "=2*(ROUNDUP(ROUND([p_upper]/staple_spacing_in,6),0)+1)*[p_spliced]", "T3"),
        work("p_edge_full", "of a whole stock piece", "no", "=2*(ROUNDUP(ROUND([p_stock]/staple_spacing_in,6),0)+1)", "T3"),
        work("p_staples", "staples", "no",
           "=[p_placed]*([p_edge_rest]+[p_edge_upper]+[p_full]*[p_edge_full])+[p_outlets]*staples_per_outlet", "T3"),
        work("p_placed_pieces", "pieces placed", "no", "=[p_placed]*[p_pieces]", "T3"),
        work("p_depth", "depth on plan", "in", "=(IF([p_last]=1,INDEX(w_projection,[p_ix]),[p_y+])-[p_y])*[p_use]", "G6"),
        work("p_plan", "plan area", "sq ft",
           "=CHOOSE(1+[p_drawn],INDEX(w_width,[p_ix])*[p_depth]/144,INDEX(sg_plan,[p_six]))*[p_use]", "W1"),
        work("p_catch", "area that sheds", "sq ft",
           "=[p_plan]+(wall_share*INDEX(w_wall,[p_ix])+INDEX(w_roof,[p_ix]))"
           "*CHOOSE(1+[p_drawn],[p_top],INDEX(sg_share,[p_six]))", "W1"),
        work("p_flow", "flow", "gpm", "=job_rainfall*[p_catch]*gpm_per_unit", "W1"),
        work("p_index", "part of its area", "no", "=[p_index-]*(1-[p_top])+[p_use]", "G6"),
        Column(
            key="p_name",
            header="part",
            formula='=CHOOSE(1+[p_drawn],IF(INDEX(w_parts,[p_ix])>1,INDEX(w_name,[p_ix])&"/"&[p_index],INDEX(w_name,[p_ix])),'
            'INDEX(sg_name,[p_six])&"")',
        ),
        work("p_slack", "fall short of the least", "0/1",
           "=IF(ROUND([p_fall],6)<ROUND(min_fall_in_per_ft,6),[p_use]-[p_strip],0)", "P3"),
        work("p_no_run", "no clear run", "0/1", "=IF(ROUND([p_clear],6)>0,0,[p_use]-[p_strip])", "P1"),
    )  # fmt: skip
    return Sheet(
        title="Work parts",
        purpose="Each area between ledger, flush beams and rim: clear run, cut length, pieces, staples, flow.",
        parts=(
            Table(key="part_sources", title="Sources of parts", rows=areas + rows + drawn, columns=sources),
            Table(key="parts", title="Parts", rows=shape.parts, columns=parts),
        ),
        working=True,
    )


def bays_work_sheet(shape: Shape) -> Sheet:
    """Return the bays, one row a bay and part; those of drawn areas after the others."""

    def either(plain: str, drawn: str) -> tuple[str, ...]:
        return (plain,) * shape.bays + (drawn,) * shape.segments

    columns = (
        work("b_no", "no", "no", "=[b_no-]+1"),
        work("b_seg", "drawn bay", "row", either("=1", "=[b_no]-bays_before"), "G10"),
        work("b_use", "used", "0/1", either("=IF([b_no]<=bays_plain,1,0)", "=INDEX(sg_is_bay,[b_seg])*INDEX(sg_use,[b_seg])")),
        work("b_gap", "gap", "row", either('=COUNTIF(o_first,"<="&[b_no])', "=1")),
        work("b_area", "area", "row", either("=INDEX(o_area,[b_gap])*[b_use]", "=INDEX(sg_area,[b_seg])*[b_use]")),
        work("b_aix", "that row", "row", "=MAX(1,[b_area])"),
        work("b_part", "part", "row", either("=(INDEX(w_part1,[b_aix])+[b_no]-INDEX(o_first,[b_gap]))*[b_use]",
             "=IFERROR(MATCH([b_seg],p_seg,0),0)*[b_use]"), "G6"),
        work("b_pix", "that row", "row", "=MAX(1,[b_part])"),
        work("b_clear", "clear width", "in", either("=INDEX(o_gap,[b_gap])*[b_use]", "=INDEX(sg_wide_now,[b_seg])*[b_use]"),
             "G4"),
        work("b_drains", "drains", "0/1", "=IF([b_clear]>ROUND(narrow_bay_in,6),1,0)*[b_use]", "G5"),
        work("b_tight", "outlet cut narrower", "0/1", "=IF([b_clear]<ROUND(outlet_min_bay_in,6),[b_drains],0)", "O1"),
        work("b_drape2", "twice the drape", "in", "=INDEX(w_drape,[b_aix])+INDEX(w_drape,[b_aix])"),
        work(
            "b_needs",
            "width needed",
            "in",
            "=(SQRT([b_clear]*[b_clear]+[b_drape2]*[b_drape2])+INDEX(w_lap,[b_aix])+INDEX(w_lap,[b_aix]))*[b_drains]",
            "P4",
        ),
        work("b_trim", "trim-off", "in", "=(INDEX(p_stock_w,[b_pix])-[b_needs])*[b_drains]", "P4"),
        work("b_cut", "cut length", "in", "=INDEX(p_cut,[b_pix])*[b_use]", "P2"),
        work("b_bead", "bead", "in", "=[b_needs]*INDEX(p_pieces,[b_pix])", "T2"),
        work("b_left", "left edge", "in",
             either("=(INDEX(o_left,[b_gap])-[b_clear])*[b_use]", "=INDEX(sg_left,[b_seg])*[b_use]"), "G4"),
        work("b_number", "bay of its area", "no",
             either("=INDEX(o_count,[b_gap])*[b_use]", "=INDEX(sg_number,[b_seg])*[b_use]")),
        Column(key="b_label", header="bay", formula=either('=IF([b_use]=1,INDEX(p_name,[b_pix])&"-"&[b_number],"")',
               '=IF([b_use]=1,INDEX(p_name,[b_pix]),"")')),
    )  # fmt: skip
    return Sheet(
        title="Work bays",
        purpose="One row a bay and part: clear width, drains or capped, width and length of its panel, bead.",
        parts=(Table(key="bay_work", title="Bays, worked", rows=shape.bay_rows, columns=columns),),
        working=True,
    )


def lines_work_sheet(shape: Shape) -> Sheet:
    """Return the gutter lines: each part's line, its leaders, pieces and hangers."""
    least = '=INDEX({of},MATCH(SMALL({key},COUNTIF(g_code,"<"&[g_code])+1),{key},0))'  # the value, not its key
    columns = (
        work("g_no", "no", "no", "=[g_no-]+1"),
        work("g_use", "used", "0/1", "=INDEX(p_use,[g_no])-INDEX(p_strip,[g_no])"),
        work("g_drawn", "of a drawn area", "0/1", "=INDEX(p_drawn,[g_no])", "G10"),
        work("g_line", "line of that area", "no", "=INDEX(sg_line,INDEX(p_six,[g_no]))*[g_drawn]", "G12"),
        work("g_ix", "area", "row", "=INDEX(p_ix,[g_no])"),
        work("g_low", "has its area's line", "0/1",
           "=CHOOSE(1+[g_drawn],IF(INDEX(p_ledger,[g_no])=1,INDEX(p_top,[g_no]),INDEX(p_last,[g_no])),IF([g_line]=1,1,0))*[g_use]",
           "W4"),
        work("g_named", "shares a name", "0/1", '=IF(INDEX(a_gutter_line,[g_ix])="",0,[g_low])', "W4"),
        work("g_code", "line", "code",
           "=IF([g_named]=1,1000+MATCH(INDEX(a_gutter_line,[g_ix]),a_gutter_line,0),"
           "CHOOSE(1+[g_drawn],[g_no],1000+1000+[g_ix]*100+[g_line]))*[g_use]", "W4"),
        work("g_lead", "first of its line", "0/1", "=IF(COUNTIF([g_code^],[g_code])=1,[g_use],0)", "W4"),
        work("g_width", "length", "in", "=INDEX(w_width,[g_ix])*([g_use]-[g_drawn]*[g_use])", "W4"),
        work("g_each", "flow of the part", "gpm", "=INDEX(p_flow,[g_no])*[g_use]", "W4"),
        work("g_ledger", "drains to the ledger", "0/1", "=INDEX(p_ledger,[g_no])*[g_use]", "G8"),
        work("g_bottom", "joist bottom", "in", "=INDEX(w_bottom,[g_ix])*[g_use]", "W4"),
        work("g_bkey", "sort key", "", "=[g_code]*1000*100+[g_bottom]"),
        work("g_tip", "nozzle reach", "in", "=INDEX(l_nozzle_reach_in,INDEX(w_lix,[g_ix]))", "O3"),
        work("g_nkey", "sort key", "", "=[g_code]*1000*100+[g_tip]"),
        work("g_step", "hanger step", "in", "=INDEX(w_hanger,[g_ix])", "T4"),
        work("g_hkey", "sort key", "", "=[g_code]*1000*100+[g_step]"),
        work("g_lowest", "lowest joist bottom", "in", least.format(of="g_bottom", key="g_bkey"), "W4"),
        work("g_nozzle", "least nozzle reach", "in", least.format(of="g_tip", key="g_nkey"), "W3"),
        work("g_hang", "least hanger step", "in", least.format(of="g_step", key="g_hkey"), "T4"),
        work("g_room", "left of the nozzle", "in", "=[g_nozzle]-gutter_top_gap_in-nozzle_in_gutter_in", "O3"),
        work("g_rise", "stands higher by", "in", "=([g_bottom]-[g_lowest])*[g_use]", "W4"),
        work("g_level", "level gutter", "0/1", "=IF(ROUND(gutter_fall_in_per_ft,6)=0,1,0)", "O3"),
        work("g_more", "takes one more extension", "0/1",
           "=IF(OR(ROUND([g_rise],6)>ROUND([g_room],6),AND(ROUND([g_rise],6)=ROUND([g_room],6),[g_level]=0)),[g_use],0)",
           "W4"),
        work("g_spare", "left for its fall", "in", "=[g_room]-[g_rise]*(1-[g_more])", "W4"),
        work("g_rkey", "sort key", "", "=[g_code]*1000*100+[g_spare]"),
        work("g_rest", "left for the fall", "in", least.format(of="g_spare", key="g_rkey"), "W4"),
        work("g_reach", "reach", "ft", "=IF([g_level]=1,far_away,IFERROR([g_rest]/gutter_fall_in_per_ft,far_away))*[g_lead]", "O3"),
        work("g_plain", "of it along rectangles", "in", "=SUMIF(g_code,[g_code],g_width)*[g_lead]", "W4"),
        work("g_len", "length of the line", "in", "=[g_plain]+SUMIF(gs_code,[g_code],gs_len)*[g_lead]", "W4"),
        work("g_feet", "length of the line", "ft", "=[g_len]/12"),
        work("g_q", "flow of the line", "gpm", "=SUMIF(g_code,[g_code],g_each)*[g_lead]", "W4"),
        work("g_mid", "leaders in the middle", "0/1", "=INDEX(w_middle,[g_ix])*[g_use]", "W3"),
        work("g_by_flow", "leaders by flow", "no", "=ROUNDUP(ROUND([g_q]/leader_gpm,6),0)", "W3"),
        work("g_by_length", "by spacing", "no", "=ROUNDUP(ROUND([g_feet]/leader_spacing_ft,6),0)", "W3"),
        work("g_halves", "stretches by reach", "no",
           "=MAX(1,IFERROR(ROUNDUP(ROUND([g_feet]/([g_reach]+[g_reach]),6),0),1))", "W3"),
        work("g_ends", "one more at the end", "0/1", "=IF(ROUND([g_feet],6)<=ROUND([g_reach],6),0,1-[g_mid])", "W3"),
        work("g_leaders", "leaders", "no",
           "=MAX(1,[g_by_flow],[g_by_length],[g_halves]+[g_ends])*[g_lead]", "W3"),
        work("g_share", "one-way runs", "no", "=MAX(1,2*([g_leaders]-1+[g_mid]))", "W3"),
        work("g_run", "longest one-way run", "ft", "=[g_feet]/[g_share]", "W3"),
        work("g_away", "led away from the house", "0/1", "=IF(SUMIF(g_code,[g_code],g_ledger)>0,[g_lead],0)", "G8"),
        work("d_len", "leader", "in",
           "=([g_lowest]-gutter_top_gap_in-gutter_fall_in_per_ft*[g_run]-gutter_depth_in+leader_extra_in"
           "+ledger_discharge_in*[g_away])*[g_lead]", "T5"),
        *sticks("d", "leader as cut", "MAX(0,[d_len])", "leader_longest16", "T5", " of a leader", "rest"),
        work("d_rests", "rests of all its leaders", "no", "=IF([d_rest]>0,[g_leaders],0)", "T5"),
        work("d_wholes", "whole sticks of them", "no", "=[d_whole]*[g_leaders]", "T5"),
        *sticks("g", "gutter as cut", "[g_plain]", "gutter_longest16", "T4"),
        work("g_rests", "rest", "no", "=IF([g_rest16]>0,1,0)*[g_lead]", "T4"),
        work("g_joins", "joiners from area to area", "no",
           "=(SUMIF(gs_code,[g_code],gs_joint)-SUMIF(gs_code,[g_code],gs_elbow))*[g_lead]", "G12"),
        work("g_joiners", "joiners", "no", "=(MAX(0,[g_whole]+[g_rests]-1)+[g_joins])*[g_lead]", "T4"),
        work("g_hangers", "hangers", "no",
           "=(IFERROR(ROUNDUP(ROUND([g_cut]/per_inch/[g_hang],6),0),0)+1)*IF([g_cut]>0,[g_lead],0)", "T4"),
        work("g_straps", "straps", "no",
           "=[g_leaders]*(straps_fixed+INT(ROUND(MAX(0,[g_lowest])/strap_spacing_in,6)))", "T5"),
        work("g_ext", "extensions", "no",
           "=INDEX(p_outlets,[g_no])*(INDEX(w_extends,[g_ix])+[g_more])*[g_use]", "O1"),
        Column(key="g_own", header="own name",
               formula='=CHOOSE(1+[g_drawn],IF([g_low]=1,INDEX(w_name,[g_ix]),INDEX(p_name,[g_no])),'
               'INDEX(sg_line_name,INDEX(p_six,[g_no]))&"")'),
        Column(key="g_name", header="line", formula="=IF([g_named]=1,INDEX(a_gutter_line,[g_ix]),[g_own])"),
        work("g_short", "nozzle does not reach", "0/1", "=IF(ROUND([g_room],6)>0,0,[g_lead])", "O3"),
        work("g_steep", "stands too much higher", "0/1", "=IF(ROUND([g_rise],6)>ROUND(max_step_in,6),[g_use],0)", "W4"),
        work("g_unlike", "leaders at end and middle", "0/1",
           "=IF(SUMIF(g_code,[g_code],g_mid)=[g_mid]*COUNTIF(g_code,[g_code]),0,[g_use])", "W3"),
        work("g_no_leader", "no leader fits below", "0/1", "=IF(ROUND([d_len],6)>0,0,[g_lead])", "T5"),
        work("g_long", "no expansion joint", "0/1", "=IF(ROUND([g_feet],6)>ROUND(expansion_joint_ft,6),[g_lead],0)", "T4"),
        work("g_wide", "hangers too far apart", "0/1", "=IF(ROUND([g_hang],6)>hangers_apart_in,[g_lead],0)", "T4"),
        work("g_touch", "nozzle touches the bottom", "0/1",
           "=IF(ROUND(INDEX(l_nozzle_reach_in,INDEX(w_lix,[g_ix]))-gutter_top_gap_in,6)"
           ">ROUND(gutter_depth_in-gutter_bottom_gap_in,6),[g_use],0)", "O3"),
    )  # fmt: skip
    return Sheet(
        title="Work lines",
        purpose="Each part's gutter line: length, flow, reach, leaders, pieces of gutter and leader, hangers, straps.",
        parts=(Table(key="lines", title="Gutter lines", rows=shape.parts, columns=columns),),
        working=True,
    )
