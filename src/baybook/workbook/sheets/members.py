"""Workings of areas and members: every joist a term of a source, then sorted and merged (G1 to G5, P5)."""

from __future__ import annotations

from baybook.workbook.declare import Column, Sheet, Table
from baybook.workbook.shape import Shape
from baybook.workbook.sheets.columns import work

__all__ = ["areas_work_sheet", "members_sheet", "sources_sheet"]


def areas_work_sheet(shape: Shape) -> Sheet:
    """Return the workings of each area: inputs in inches, layout of the field joists, what its members give."""
    columns = (
        work("w_no", "no", "no", "=[w_no-]+1"),
        work("w_use", "used", "0/1", '=IF(INDEX(a_area,[w_no])="",0,1)'),
        work("w_name", "area", "", '=IF([w_use]=1,INDEX(a_area,[w_no]),"")'),
        work("w_width", "width", "in", "=INDEX(a_width,[w_no])*big_in*[w_use]", "G1"),
        work("w_drawn", "drawn, its bays are the engine's", "0/1", "=[oa_on@]*[w_use]", "G10"),
        work("w_face", "outer face", "in", "=ROUND([w_width],6)", "G1"),
        work("w_projection", "projection", "in", "=INDEX(a_projection,[w_no])*big_in*[w_use]", "P1"),
        work("w_spacing", "spacing", "in", "=INDEX(a_spacing,[w_no])*small_in*[w_use]", "G2"),
        work(
            "w_thick",
            "thickness",
            "in",
            '=IF(INDEX(a_joist_thickness,[w_no])="",default_thickness_in,'
            "INDEX(a_joist_thickness,[w_no])*small_in)*[w_use]",
            "G1",
        ),
        work(
            "w_dressed",
            "dressed depth",
            "in",
            "=IFERROR(INDEX(lumber_depth,MATCH(INDEX(a_joist,[w_no]),lumber_code,0)),0)",
        ),
        work(
            "w_depth",
            "joist depth",
            "in",
            '=IF(INDEX(a_joist_depth,[w_no])="",[w_dressed],INDEX(a_joist_depth,[w_no])*small_in)*[w_use]',
            "O1",
        ),
        work(
            "w_rims", "rim plies", "no", '=IF(INDEX(a_rim_plies,[w_no])="",1,INDEX(a_rim_plies,[w_no]))*[w_use]', "P1"
        ),
        work("w_ledger", "drains to the ledger", "0/1", '=IF(INDEX(a_gutter_side,[w_no])="ledger",1,0)*[w_use]', "G8"),
        work("w_nailer", "gutter on a nailer", "0/1", '=IF(INDEX(a_gutter_fix,[w_no])="nailer",1,0)*[w_use]', "T4"),
        work("w_middle", "leaders in the middle", "0/1", '=IF(INDEX(a_leader_at,[w_no])="middle",1,0)*[w_use]', "W3"),
        work("w_right", "spaced from the right", "0/1", '=IF(INDEX(a_layout,[w_no])="right",1,0)', "G2"),
        work("w_even", "spaced evenly", "0/1", '=IF(INDEX(a_layout,[w_no])="even",1,0)', "G2"),
        work("w_layout", "layout", "code", "=1+[w_right]+[w_even]+[w_even]"),
        work(
            "w_liner",
            "liner",
            "row",
            '=IF(INDEX(a_liner,[w_no])="",1,IFERROR(MATCH(INDEX(a_liner,[w_no]),l_liner,0),0))*[w_use]',
        ),
        work("w_lix", "liner row", "row", "=MAX(1,[w_liner])"),
        work("w_height", "joist tops above grade", "in", "=INDEX(a_height,[w_no])*big_in*[w_use]"),
        work("w_bottom", "joist bottom above grade", "in", "=[w_height]-[w_depth]", "T5"),
        work(
            "w_wall",
            "wall that sheds",
            "sq ft",
            "=INDEX(a_wall_height,[w_no])*big_in/12*[w_wall_len]/12*[w_use]",
            "W1",
        ),
        work(
            "w_wall_len",
            "length of that wall",
            "in",
            '=IF(INDEX(a_wall_length,[w_no])="",[w_width],INDEX(a_wall_length,[w_no])*big_in)*[w_use]',
            "W1",
        ),
        work("w_roof", "roof that drips", "sq ft", "=INDEX(a_roof_area,[w_no])*[w_use]", "W1"),
        work("w_posts", "posts through", "no", "=INDEX(a_posts_through,[w_no])*[w_use]", "T6"),
        work(
            "w_spaces",
            "even spaces",
            "no",
            "=MAX(1,IFERROR(ROUNDUP(ROUND(([w_width]-[w_thick])/[w_spacing],6),0),0))",
            "G2",
        ),
        work(
            "w_by_spacing",
            "joists by spacing",
            "no",
            "=MAX(0,IFERROR(ROUNDUP(ROUND(([w_width]-[w_thick]*half)/[w_spacing],6),0)-1,0))",
            "G2",
        ),
        work(
            "w_field",
            "field joists",
            "no",
            "=CHOOSE([w_layout],[w_by_spacing],[w_by_spacing],[w_spaces]-1)*[w_use]",
            "G2",
        ),
        work("w_space", "even space", "in", "=([w_width]-[w_thick])/[w_spaces]", "G2"),
        work(
            "w_start",
            "first centre",
            "in",
            "=CHOOSE([w_layout],[w_spacing],[w_width]-[w_spacing],[w_thick]*half+[w_space])",
            "G2",
        ),
        work("w_step", "step", "in", "=CHOOSE([w_layout],[w_spacing],0-[w_spacing],[w_space])", "G2"),
        work("w_least", "least centre", "in", "=[w_thick]*tight_plies*[w_right]", "G2"),
        work("w_most", "greatest centre", "in", "=[w_width]-[w_thick]*tight_plies*(1-[w_right])*(1-[w_even])", "G2"),
        work("w_borders", "borders", "no", "=INDEX(a_borders,[w_no])*[w_use]", "G3"),
        work("w_joint", "first border joint", "in", "=pitch_in-border_overhang_in", "G3"),
        work("w_orows", "members before merging", "no", "=COUNTIF(o_area,[w_no])*[w_use]"),
        work("w_last", "last row of its members", "row", "=[w_last-]+[w_orows]"),
        work("w_lastix", "that row", "row", "=MAX(1,[w_last])"),
        work(
            "w_members", "members", "no", "=CHOOSE(1+[w_drawn],SUMIF(o_area,[w_no],o_end),[oa_members@])*[w_use]", "G4"
        ),
        work(
            "w_gaps",
            "bays between members",
            "no",
            "=CHOOSE(1+[w_drawn],SUMIF(o_area,[w_no],o_bay),[oa_members@]-1)*[w_use]",
            "G4",
        ),
        work("w_wide_n", "wide members", "no", "=SUMIF(o_area,[w_no],o_wide)*[w_use]", "P5"),
        work(
            "w_wide",
            "widest of them",
            "in",
            "=CHOOSE(1+[w_drawn],INDEX(o_wmax,[w_lastix]),INDEX(sg_wmax,[oa_lastix@]))*[w_use]",
            "P5",
        ),
        work(
            "w_narrow",
            "widest narrow bay",
            "in",
            "=CHOOSE(1+[w_drawn],INDEX(o_nmax,[w_lastix]),INDEX(sg_nmax,[oa_lastix@]))*[w_use]",
            "P5",
        ),
        work(
            "w_clear",
            "widest draining bay",
            "in",
            "=CHOOSE(1+[w_drawn],INDEX(o_dmax,[w_lastix]),INDEX(sg_dmax,[oa_lastix@]))*[w_use]",
            "P4",
        ),
        work("w_drape", "drape", "in", "=INDEX(l_drape_in,[w_lix])*[w_use]", "P3"),
        work("w_lap", "side lap", "in", "=INDEX(l_side_lap_in,[w_lix])*[w_use]", "P4"),
        work(
            "w_bay_need",
            "liner over the widest bay",
            "in",
            "=IF([w_clear]>0,SQRT([w_clear]*[w_clear]+([w_drape]+[w_drape])*([w_drape]+[w_drape]))+[w_lap]+[w_lap],0)",
            "P4",
        ),
        work("w_narrow_need", "strip over narrow bays", "in", "=IF([w_narrow]>0,[w_narrow]+[w_lap]+[w_lap],0)", "P5"),
        work(
            "w_need",
            "widest liner needed",
            "in",
            "=MAX([w_bay_need],[w_narrow_need],[w_wide],apron_in*IF([w_apron16]>0,1,0))",
            "P4",
        ),
        work("w_liner_key", "sort key", "", "=([w_liner]*1000*100+ROUND([w_need],6))*[w_use]"),
        work("w_parts", "parts", "no", "=COUNTIFS(q_area,[w_no],q_use,1)", "G6"),
        work("w_part1", "first part", "row", "=[w_part1-]+[w_parts-]", "G6", 1),
        work(
            "w_hanger",
            "hanger step",
            "in",
            "=IF([w_nailer]=1,hanger_spacing_in,[w_spacing]*MAX(1,IFERROR(INT(ROUND(hanger_spacing_in/[w_spacing],6)),1)))",
            "T4",
        ),
        work(
            "w_tape",
            "tape along members",
            "in",
            "=CHOOSE(1+[w_drawn],SUMIF(o_area,[w_no],o_tape)+[w_width]*[w_ledger],[oa_tape@])*[w_use]",
            "T1",
        ),
        work(
            "w_trim",
            "outlet trim",
            "in",
            "=MAX(0,ROUND(INDEX(l_outlet_made_for_in,[w_lix])-[w_depth],6))*[w_use]",
            "O1",
        ),
        work(
            "w_extends",
            "outlets extended",
            "0/1",
            "=IF(ROUND([w_depth],6)>ROUND(INDEX(l_outlet_made_for_in,[w_lix]),6),[w_use],0)",
            "O1",
        ),
        work(
            "w_apron16",
            "apron",
            "1/16 in",
            "=ROUNDUP(ROUND(CHOOSE(1+[w_drawn],[w_width]*[w_ledger],[oa_apron@])*per_inch,6),0)*[w_use]",
            "G8",
        ),
        work("w_stock16", "longest stock of its liner", "1/16 in", "=INDEX(t_longest16,[w_lix])*[w_use]", "P6"),
        work("w_apron_n", "whole apron pieces", "no", "=IFERROR(INT(ROUND([w_apron16]/[w_stock16],6)),0)", "T4"),
        work("w_apron_left", "rest of the apron", "1/16 in", "=[w_apron16]-[w_apron_n]*[w_stock16]", "T4"),
        work(
            "w_apron_rest",
            "rest as cut",
            "1/16 in",
            "=IF([w_apron_left]>0,MIN([w_stock16],MAX([w_apron_left],min_rest_cut_in*per_inch)),0)",
            "T4",
        ),
        work(
            "w_apron_first",
            "first of its length",
            "0/1",
            "=IF(COUNTIFS([w_liner^],[w_liner],[w_apron_rest^],[w_apron_rest])=1,1,0)*IF([w_apron_rest]>0,1,0)",
            "P5",
        ),
        work(
            "w_beside",
            "aprons side by side",
            "no",
            "=MAX(1,IFERROR(INT(ROUND(INDEX(t_width,[w_lix])/apron_in,6)),1))",
            "P5",
        ),
        work(
            "w_apron_cut",
            "lengths cut for them",
            "no",
            "=ROUNDUP(ROUND(COUNTIFS(w_liner,[w_liner],w_apron_rest,[w_apron_rest])/[w_beside],6),0)*[w_apron_first]",
            "P5",
        ),
        work(
            "w_apron_staples",
            "staples of the apron",
            "no",
            "=[w_apron_n]*2*(ROUNDUP(ROUND([w_stock16]/per_inch/staple_spacing_in,6),0)+1)"
            "+IF([w_apron_rest]>0,1,0)*2*(ROUNDUP(ROUND([w_apron_rest]/per_inch/staple_spacing_in,6),0)+1)",
            "T3",
        ),
        work("w_apron_pieces", "apron pieces", "no", "=[w_apron_n]+IF([w_apron_rest]>0,1,0)", "T3"),
        work("w_twice", "stands twice", "0/1", "=IF(SUMPRODUCT((a_area=[w_name])*w_use)>1,[w_use],0)"),
        work(
            "w_line_own",
            "line called as another area's own",
            "no",
            '=SUMPRODUCT((a_area=[a_gutter_line@])*(a_gutter_line="")*w_use)*IF([a_gutter_line@]="",0,[w_use])',
            "W4",
        ),
        work(
            "w_untyped",
            "not a number",
            "0/1",
            "=IF(COUNT(INDEX(a_width,[w_no]))*COUNT(INDEX(a_projection,[w_no]))*COUNT(INDEX(a_spacing,[w_no]))"
            "*COUNT(INDEX(a_height,[w_no]))*[w_depth]>0,0,[w_use])",
        ),
    )
    return Sheet(
        title="Work areas",
        purpose="Each area in inches: its field joists, what its members give, liner needed, aprons.",
        parts=(Table(key="area_work", title="Areas, worked", rows=shape.areas, columns=columns),),
        working=True,
    )


def sources_sheet(shape: Shape) -> Sheet:
    """Return the sources of members: an area's field joists, ends and borders, and each framing row."""
    areas, rows = shape.areas, shape.framing
    item = tuple(list(range(1, areas + 1)) * 4 + list(range(1, rows + 1)))

    def by_kind(field: str, ends: str, left: str, right: str, framing: str) -> tuple[str, ...]:
        return (field,) * areas + (ends,) * areas + (left,) * areas + (right,) * areas + (framing,) * rows

    def of_area(column: str) -> str:
        return f"INDEX({column},[s_item])"

    columns = (
        Column(key="s_item", header="row", unit="row", values=item),
        Column(
            key="s_area",
            header="area",
            unit="row",
            formula=by_kind("=[s_item]", "=[s_item]", "=[s_item]", "=[s_item]", "=INDEX(f_ix,[s_item])"),
        ),
        Column(
            key="s_count",
            header="members",
            unit="no",
            rule="G3",
            formula=by_kind(
                f"={of_area('w_field')}*(1-{of_area('w_drawn')})",
                f"=({of_area('w_use')}+{of_area('w_use')})*(1-{of_area('w_drawn')})",
                f"={of_area('w_borders')}*(1-{of_area('w_drawn')})",
                f"={of_area('w_borders')}*(1-{of_area('w_drawn')})",
                "=(INDEX(f_member,[s_item])+INDEX(f_divider,[s_item])+INDEX(f_divider,[s_item]))*(1-INDEX(w_drawn,[s_area]))",
            ),
        ),
        Column(
            key="s_start",
            header="first centre",
            unit="in",
            rule="G3",
            formula=by_kind(
                "=" + of_area("w_start"),
                f"={of_area('w_thick')}*half",
                "=" + of_area("w_joint"),
                f"={of_area('w_width')}-{of_area('w_joint')}",
                "=INDEX(f_xin,[s_item])-pitch_in*half*INDEX(f_divider,[s_item])",
            ),
        ),
        Column(
            key="s_step",
            header="step",
            unit="in",
            rule="G3",
            formula=by_kind(
                "=" + of_area("w_step"),
                f"={of_area('w_width')}-{of_area('w_thick')}",
                "=pitch_in",
                "=0-pitch_in",
                "=pitch_in*INDEX(f_divider,[s_item])",
            ),
        ),
        Column(
            key="s_width",
            header="strip",
            unit="in",
            rule="G3",
            formula=by_kind(
                "=" + of_area("w_thick"),
                "=" + of_area("w_thick"),
                f"={of_area('w_thick')}*joint_plies",
                f"={of_area('w_thick')}*joint_plies",
                "=INDEX(w_thick,[s_area])*(INDEX(f_n,[s_item])*INDEX(f_member,[s_item])+joint_plies*INDEX(f_divider,[s_item]))",
            ),
        ),
        Column(key="s_first", header="number of its first", unit="no", formula="=[s_first-]+[s_count-]", opening=1),
        Column(
            key="s_field",
            header="field joists",
            unit="0/1",
            values=(1,) * areas + (0,) * (3 * areas + rows),
        ),
        Column(
            key="s_pair",
            header="a divider's pair",
            unit="0/1",
            rule="G3",
            formula=by_kind("=0", "=0", "=0", "=0", "=INDEX(f_divider,[s_item])"),
        ),
        Column(key="s_low", header="from", unit="in", rule="G3", formula="=ROUND([s_start],6)"),
        Column(key="s_high", header="to", unit="in", rule="G3", formula="=ROUND([s_start]+[s_step],6)"),
        Column(
            key="s_least",
            header="least centre",
            unit="in",
            rule="G2",
            formula=by_kind("=" + of_area("w_least"), "=0", "=0-far_away", "=0-far_away", "=0-far_away"),
        ),
        Column(
            key="s_most",
            header="greatest centre",
            unit="in",
            rule="G2",
            formula=by_kind("=" + of_area("w_most"), "=far_away", "=far_away", "=far_away", "=far_away"),
        ),
    )
    framing = (
        Column(key="f_no", header="no", unit="no", formula="=[f_no-]+1"),
        Column(
            key="f_at",
            header="area",
            unit="row",
            formula='=IF(INDEX(f_area,[f_no])="",0,IFERROR(MATCH(INDEX(f_area,[f_no]),a_area,0),0))',
        ),
        Column(key="f_ix", header="that row", unit="row", formula="=MAX(1,[f_at])"),
        *(
            Column(
                key=key,
                header=word.replace("_", " "),
                unit="0/1",
                rule=rule,
                formula=f'=IF(AND(INDEX(f_kind,[f_no])="{word}",[f_at]>0),1,0)',
            )
            for key, word, rule in (
                ("f_member", "member", "G3"),
                ("f_divider", "divider", "G3"),
                ("f_beam", "flush_beam", "G6"),
                ("f_dropped", "dropped_beam", "G9"),
                ("f_block", "blocking", "O2"),
                ("f_opening", "opening", "G11"),
            )
        ),
        Column(key="f_n", header="plies", unit="no", formula="=MAX(1,INDEX(f_plies,[f_no]))"),
        Column(key="f_xin", header="x", unit="in", formula="=INDEX(f_x,[f_no])*big_in"),
        Column(key="f_yin", header="y", unit="in", formula="=INDEX(f_y,[f_no])*big_in"),
        Column(key="f_half", header="half the beam", unit="in", rule="G6", formula="=[f_n]*beam_ply_in*half"),
        Column(
            key="f_part",
            header="part it lies in",
            unit="row",
            rule="G6",
            formula="=IF([fo_seg@]>0,IFERROR(MATCH([fo_seg@],p_seg,0),1),"
            "INDEX(w_part1,[f_ix])+SUMPRODUCT((f_at=[f_at])*(f_beam=1)*(f_yin<[f_yin])))",
        ),
        Column(
            key="f_from_high",
            header="from the high end",
            unit="in",
            rule="O2",
            formula="=IF(INDEX(p_ledger,[f_part])=1,INDEX(p_end,[f_part])-[f_yin],[f_yin]-INDEX(p_far,[f_part]))",
        ),
        Column(
            key="f_left",
            header="height left",
            unit="in",
            rule="O2",
            formula="=[f_block]*IFERROR(ROUND(INDEX(w_depth,[f_ix])"
            "-INDEX(w_drape,[f_ix])*[f_from_high]/INDEX(p_clear,[f_part]),6),0)",
        ),
        Column(
            key="f_rip",
            header="height left, down to 1/8",
            unit="in",
            rule="O2",
            role="result",
            formula="=INT(ROUND(MAX(0,[f_left])*eighths,6))/eighths",
        ),
        Column(
            key="f_lumber",
            header="deepest lumber that fits",
            role="result",
            rule="O2",
            formula='=IF([f_block]=1,IFERROR(INDEX(lumber_code,MATCH([f_left],lumber_depth,1)),"-"),"")',
        ),
        Column(
            key="f_low",
            header="under the usual share",
            unit="0/1",
            rule="O2",
            formula="=IF([f_left]<ROUND(blocking_share*INDEX(w_depth,[f_ix]),6),[f_block],0)",
        ),
        Column(
            key="f_room",
            header="room at the low end",
            unit="in",
            rule="G9",
            formula="=[f_dropped]*ROUND(ABS(IF(INDEX(p_ledger,[f_part])=1,INDEX(p_far,[f_part]),INDEX(p_end,[f_part]))-[f_yin])"
            "-[f_half],6)",
        ),
        work(
            "f_lacks",
            "lacks what its kind needs",
            "0/1",
            '=IF(OR(AND([f_member]+[f_divider]+[f_opening]>0,[f_x@]=""),AND([f_beam]+[f_dropped]+[f_block]+[f_opening]>0,[f_y@]=""),'
            'AND([f_member]+[f_beam]+[f_dropped]>0,[f_plies@]=""),AND([f_opening]=1,OR([f_width@]="",[f_projection@]=""))),1,0)',
            "G3",
        ),
        work(
            "f_outside",
            "outside its area",
            "0/1",
            "=IF(OR(ROUND([f_xin],6)>INDEX(w_width,[f_ix]),ROUND([f_yin],6)>INDEX(w_projection,[f_ix])),MIN(1,[f_at]),0)",
            "G3",
        ),
        Column(
            key="f_in_the_way",
            header="stands where the gutter goes",
            unit="0/1",
            rule="G9",
            formula="=IF([f_room]<ROUND(beam_clearance_in,6),[f_dropped],0)",
        ),
    )
    return Sheet(
        title="Work framing",
        purpose="Framing rows read, and the sources of members: field joists, end joists, borders, added members.",
        parts=(
            Table(key="framing_work", title="Framing, worked", rows=rows, columns=framing),
            Table(key="sources", title="Sources of members", rows=4 * areas + rows, columns=columns),
        ),
        working=True,
    )


def members_sheet(shape: Shape) -> Sheet:
    """Return the members one by one, then sorted and merged."""
    columns = (
        work("c_no", "no", "no", "=[c_no-]+1"),
        work("c_use", "used", "0/1", "=IF([c_no]<=members_listed,1,0)"),
        work("c_src", "source", "row", '=COUNTIF(s_first,"<="&[c_no])'),
        work("c_area", "area", "row", "=INDEX(s_area,[c_src])"),
        work(
            "c_centre",
            "centre",
            "in",
            "=MIN(INDEX(s_most,[c_src]),MAX(INDEX(s_least,[c_src]),"
            "INDEX(s_start,[c_src])+([c_no]-INDEX(s_first,[c_src]))*INDEX(s_step,[c_src])))",
            "G2",
        ),
        work(
            "c_left",
            "left face",
            "in",
            "=MIN(INDEX(w_face,[c_area]),MAX(0,ROUND([c_centre]-INDEX(s_width,[c_src])*half,6)))",
            "G3",
        ),
        work(
            "c_right",
            "right face",
            "in",
            "=MIN(INDEX(w_face,[c_area]),MAX(0,ROUND([c_centre]+INDEX(s_width,[c_src])*half,6)))",
            "G3",
        ),
        work("c_place", "centre rounded", "in", "=ROUND([c_centre],6)"),
        work(
            "c_under",
            "replaced by a divider's pair",
            "no",
            "=INDEX(s_field,[c_src])*SUMPRODUCT((s_area=[c_area])*s_pair*(s_low<=[c_place])*(s_high>=[c_place]))",
            "G3",
        ),
        work("c_live", "counts", "0/1", "=IF([c_under]>0,0,[c_use])"),
        work("c_lane", "lane", "", "=IF([c_live]=1,[c_area],spare_lane)"),
        work("c_key", "sort key", "", "=([c_lane]*lane_step+ROUND([c_left]*1000*1000,0))*1000+[c_no]"),
        work("o_use", "used", "0/1", "=IF([c_no]<=members_live,1,0)"),
        work("o_row", "row", "row", "=MOD(SMALL(c_key,[c_no]),1000)"),
        work("o_area", "area", "row", "=INDEX(c_area,[o_row])*[o_use]"),
        work("o_left", "left face", "in", "=INDEX(c_left,[o_row])", "G4"),
        work("o_right", "right face", "in", "=INDEX(c_right,[o_row])", "G4"),
        work("o_same", "same area as above", "0/1", "=IF([o_area]=[o_area-],[o_use],0)"),
        work("o_gap", "gap before it", "in", "=ROUND([o_left]-[o_reach-],6)*[o_same]", "G4"),
        work("o_joins", "packed to the one before", "0/1", "=IF(OR([o_gap]<ROUND(pack_gap_in,6),[o_gap]<=0),[o_same],0)", "G4"),
        work("o_bay", "a bay before it", "0/1", "=[o_same]-[o_joins]", "G4"),
        work("o_reach", "right face so far", "in", "=IF([o_same]=1,MAX([o_reach-],[o_right]),[o_right])", "G4"),
        work("o_start", "left face of the member", "in", "=IF([o_joins]=1,[o_start-],[o_left])", "G4"),
        work("o_end", "member ends here", "0/1", "=[o_use]-[o_joins+]", "G4"),
        work("o_first_of", "first member of its area", "0/1", "=IF([o_bay]=1,0,MAX([o_first_of-]*[o_joins],1-[o_same]))*[o_use]"),
        work("o_strips", "strips of tape", "no",
          "=[o_end]*ROUNDUP(ROUND(([o_reach]-[o_start])/INDEX(l_tape_width_in,INDEX(w_lix,MAX(1,[o_area]))),6),0)", "T1"),
        work("o_tape", "tape", "in", "=[o_strips]*INDEX(w_projection,MAX(1,[o_area]))", "T1"),
        work(
            "o_wide",
            "wide member between bays",
            "0/1",
            "=IF(ROUND([o_reach]-[o_start],6)>ROUND(wide_member*INDEX(w_lap,MAX(1,[o_area])),6),1,0)"
            "*[o_end]*[o_same+]*(1-[o_first_of])",
            "P5",
        ),
        work("o_wmax", "widest so far", "in", "=MAX([o_wmax-]*[o_same],ROUND([o_reach]-[o_start],6)*[o_wide])", "P5"),
        work("o_narrow", "narrow bay before it", "0/1", "=IF([o_gap]<=ROUND(narrow_bay_in,6),[o_bay],0)", "G5"),
        work("o_nmax", "widest narrow bay so far", "in", "=MAX([o_nmax-]*[o_same],[o_gap]*[o_narrow])", "P5"),
        work("o_dmax", "widest draining bay so far", "in", "=MAX([o_dmax-]*[o_same],[o_gap]*([o_bay]-[o_narrow]))", "P4"),
        work("o_rows", "bays, one a part", "no", "=[o_bay]*INDEX(w_parts,MAX(1,[o_area]))", "G6"),
        work("o_first", "number of its first", "no", "=[o_first-]+[o_rows-]", "G6", 1),
        work("o_count", "bay of its area", "no", "=[o_count-]*[o_same]+[o_bay]", "G4"),
    )  # fmt: skip
    return Sheet(
        title="Work members",
        purpose="Members one by one, then from left to right: those packed together are one member, the gaps are the bays.",
        parts=(Table(key="members", title="Members", rows=shape.members, columns=columns),),
        working=True,
    )
