"""Workings of the water checks: profiles, sizes, the adopted code, parts, gutter lines, posts, acceptances (W2, O2, O3)."""

from __future__ import annotations

from baybook.data import table
from baybook.job.rates import GUTTER_MATERIALS, GUTTER_PROFILES
from baybook.units import L_S_PER_GPM, MM_PER_IN
from baybook.water.channels import GPM_PER_CFS, Trapezoid, gutter_profiles
from baybook.water.outlets import GRAVITY_FT_PER_S2
from baybook.watercheck.capacities import STEEPEST_IN_PER_FT
from baybook.workbook.declare import Block, Column, Scalar, Sheet, Table
from baybook.workbook.shape import Shape
from baybook.workbook.sheets.columns import work

__all__ = ["water_work_sheet"]

_PROFILES = {name.casefold(): profile for name, profile in gutter_profiles().items()}


def _fixed(key: str, value: float, label: str, unit: str = "", note: str = "") -> Scalar:
    return Scalar(key=key, label=label, unit=unit, value=value, note=note, fmt="General")


def _constants() -> Block:
    return Block(
        title="Coefficients",
        scalars=(
            _fixed("manning_us", 1.486, "Manning's equation in US units"),
            _fixed("two_thirds", 2 / 3, "power of the hydraulic radius"),
            _fixed("gpm_per_cfs", GPM_PER_CFS, "gpm in a cubic foot a second", "gpm"),
            _fixed("steepest", STEEPEST_IN_PER_FT, "steepest slope of Manning's equation", "in/ft"),
            _fixed("weir_c", 3.0, "weir coefficient", "", "HEC-22, value from memory"),
            _fixed("orifice_c", 0.67, "orifice coefficient", "", "HEC-22, value from memory"),
            _fixed("gravity_2", 2 * GRAVITY_FT_PER_S2, "twice gravity", "ft/s2"),
            _fixed("three_halves", 1.5, "power of the head over a weir"),
            _fixed("en_share", 0.9, "share of the nominal flow", "", "EN 12056-3:2000, value from memory"),
            _fixed("en_power", 1.25, "power of the section", "", "EN 12056-3:2000, value from memory"),
            _fixed("sq_mm_per_sq_in", MM_PER_IN**2, "square millimetres in a square inch", "mm2"),
            _fixed("l_s_per_gpm", L_S_PER_GPM, "litres a second in one gpm", "L/s"),
            _fixed("en_first", 50, "run without a loss, in depths", "", "EN 12056-3:2000"),
            _fixed("en_last", 150, "run at which the loss slackens, in depths", "", "EN 12056-3:2000"),
            _fixed("en_end", 200, "longest run covered, in depths", "", "EN 12056-3:2000"),
            _fixed("en_step", 50, "step of the table, in depths", "", "EN 12056-3:2000"),
            _fixed("en_drop", 0.07, "loss a step", "", "EN 12056-3:2000"),
            _fixed("en_drop_end", 0.06, "loss in the last step", "", "EN 12056-3:2000"),
            _fixed("default_post_in", 3.5, "side of a post where none is given", "in"),
            _fixed("no_lane", 999, "lane of bays that do not drain"),
        ),
    )


def _chosen() -> Block:
    def s(key: str, label: str, unit: str, formula: str, rule: str = "W2") -> Scalar:
        return Scalar(key=key, label=label, unit=unit, formula=formula, rule=rule, fmt="#,##0.0000")

    weir = "=weir_c*2*(outlet_long_in+outlet_short_in)/12*(outlet_head_in/12)^three_halves*gpm_per_cfs"
    orifice = "=orifice_c*outlet_long_in*outlet_short_in/144*SQRT(gravity_2*outlet_head_in/12)*gpm_per_cfs"
    return Block(
        title="In use",
        scalars=(
            s("profiles_known", "profiles", "no", "=COUNT(prof_no)"),
            s("sizes_known", "leader sizes", "no", "=COUNT(ws_no)"),
            s("codes_known", "rows of the adopted code", "no", "=COUNT(cw_no)"),
            s("gutter_row", "profile in use", "row", "=IFERROR(MATCH(gutter_profile,prof_name,0),1)"),
            s("gutter_slope", "fall, no steeper than the equation", "in/ft", "=MIN(gutter_fall_in_per_ft,steepest)"),
            s("gutter_level", "level gutter", "0/1", "=IF(ROUND(gutter_fall_in_per_ft,6)<=0,1,0)"),
            s("gutter_water", "water over a drop", "in", "=INDEX(prof_water,gutter_row)"),
            s("gutter_real_depth", "depth of the profile", "in", "=INDEX(prof_depth,gutter_row)"),
            s("gutter_manning", "gutter by Manning", "gpm", "=INDEX(prof_manning,gutter_row)"),
            s("outlet_weir", "bay outlet as a weir", "gpm", weir),
            s("outlet_orifice", "bay outlet as an orifice", "gpm", orifice),
            s("outlet_gpm", "bay outlet, the smaller", "gpm", "=MIN(outlet_weir,outlet_orifice)"),
            s("leader_row", "leader size in use", "row", "=IFERROR(MATCH(leader_size,ws_code,0),1)"),
            s("drop_gpm", "gutter drop, the smaller", "gpm", "=INDEX(ws_drop,leader_row)"),
            s("code_gutter_row", "adopted code, gutter", "row",
              '=IFERROR(MATCH("gutter|"&gutter_profile,cw_best_name,0),0)'),
            s("code_gutter_gpm", "it gives the gutter", "gpm",
              "=IF(code_gutter_row>0,INDEX(cw_gpm,MAX(1,code_gutter_row)),0)"),
            s("code_leader_row", "adopted code, leader", "row", '=IFERROR(MATCH("leader|"&leader_size,cw_name,0),0)'),
            s("code_leader_gpm", "it gives a leader", "gpm",
              "=IF(code_leader_row>0,INDEX(cw_gpm,MAX(1,code_leader_row)),0)"),
            s("code_lacks", "sizes in use it does not have", "no",
              "=IF(SUM(cw_gutter)>0,1-MIN(1,code_gutter_row),0)+IF(SUM(cw_leader)>0,1-MIN(1,code_leader_row),0)"),
            s("gutter_way", "what decides of a gutter: 1 Manning, 2 EN 12056-3, 3 the code", "",
              "=IF(code_gutter_gpm>0,2+1,1+gutter_level)"),
            s("leader_decides", "what decides of a leader", "gpm", "=IF(code_leader_gpm>0,code_leader_gpm,leader_gpm)"),
            s("moves_per", "movement of 100 ft over 100 deg F", "in",
              "=IFERROR(INDEX(mat_moves,MATCH(gutter_material,mat_name,0)),0)", "T4"),
            s("failures_open", "failed checks that nobody accepted", "no",
              "=SUM(wf_open)+SUM(wp_bay_open)+SUM(wp_out_open)+SUM(wl_touch_open)+SUM(wl_gut_open)+SUM(wl_drop_open)"
              "+SUM(wl_lead_open)+SUM(pw_open)", ""),
            Scalar(key="limits_text", label="limits that a named person accepted", formula='=INDEX(aw_text,COUNT(aw_used))&""'),
            s("posts_at_outlets", "posts whose blocking stands where an outlet goes", "no", "=SUM(pw_end)", "O2"),
            s("posts_low", "posts whose blocking is low", "no", "=SUM(pw_low)", "O2"),
            s("heights_short", "heights short of what is asked", "no",
              "=SUM(wa_low)+SUM(wf_low)+SUM(wl_low_below)", "T5"),
        ),
    )  # fmt: skip


# ------------------------------------------------------------------------------------------------------ small tables


def _profiles() -> Table:
    names = GUTTER_PROFILES

    def fixed(key: str, header: str, unit: str, values: tuple[float, ...]) -> Column:
        return Column(key=key, header=header, unit=unit, values=values, fmt="General")

    def size(name: str, measure: str) -> float:
        return float(getattr(_PROFILES[name], measure)) if name in _PROFILES else 0.0

    def sloped(name: str) -> bool:
        return isinstance(_PROFILES.get(name), Trapezoid)

    round_ = tuple(int(name in _PROFILES and not sloped(name)) for name in names)
    tops = tuple(size(name, "top_in" if sloped(name) else "width_in") for name in names)
    columns = (
        fixed("prof_no", "no", "no", tuple(range(1, len(names) + 1))),
        Column(key="prof_name", header="profile", role="label", values=names),
        fixed("prof_box", "a box", "0/1", tuple(int(name not in _PROFILES) for name in names)),
        fixed("prof_round", "half-round", "0/1", round_),
        fixed("prof_back", "upright back", "0/1", tuple(int(sloped(name)) for name in names)),
        fixed("prof_k", "EN 12056-3 constant", "l/s from mm2", tuple(2.78e-5 if one else 3.48e-5 for one in round_)),
        fixed("prof_bottom_known", "bottom as known", "in",
              tuple(size(name, "bottom_in") if sloped(name) else 0.0 for name in names)),
        fixed("prof_top_known", "top as known", "in", tops),
        fixed("prof_depth_known", "depth as known", "in", tuple(size(name, "depth_in") for name in names)),
        work("prof_bottom", "bottom", "in", "=[prof_bottom_known]+gutter_width_in*[prof_box]", "W2"),
        work("prof_top", "top", "in", "=[prof_top_known]+gutter_width_in*[prof_box]", "W2"),
        work("prof_depth", "depth", "in", "=[prof_depth_known]+gutter_depth_in*[prof_box]", "W2"),
        work("prof_water", "water, less the freeboard", "in", "=MAX(0,[prof_depth]-gutter_freeboard_in)", "W2"),
        work("prof_spread", "both sides lean", "in/in", "=([prof_top]-[prof_bottom])/[prof_depth]"),
        work("prof_lean_back", "back leans", "in/in", "=[prof_spread]*half*(1-[prof_back])"),
        work("prof_lean_front", "front leans", "in/in", "=[prof_spread]-[prof_lean_back]"),
        work("prof_angle", "angle under water", "rad", "=2*ACOS(1-2*[prof_round]*[prof_water]/[prof_top])"),
        work("prof_section_round", "section, half-round", "sq in",
             "=[prof_top]*[prof_top]/(2*2*2)*([prof_angle]-SIN([prof_angle]))"),
        work("prof_section_sided", "section, straight sides", "sq in",
             "=([prof_bottom]+[prof_spread]*[prof_water]*half)*[prof_water]"),
        work("prof_section", "section under water", "sq in",
             "=IF([prof_round]=1,[prof_section_round],[prof_section_sided])", "W2"),
        work("prof_sides", "wetted, straight sides", "in",
             "=[prof_bottom]+[prof_water]*(SQRT(1+[prof_lean_back]*[prof_lean_back])"
             "+SQRT(1+[prof_lean_front]*[prof_lean_front]))"),
        work("prof_wetted", "wetted", "in", "=IF([prof_round]=1,[prof_top]*half*[prof_angle],[prof_sides])", "W2"),
        work("prof_manning", "by Manning", "gpm",
             "=IFERROR(manning_us/gutter_roughness*([prof_section]/[prof_wetted]/12)^two_thirds*SQRT(gutter_slope/12)"
             "*[prof_section]/144*gpm_per_cfs,0)", "W2"),
        work("prof_shown", "compared", "0/1", '=IF(AND([prof_box]=1,gutter_profile<>"box"),0,1)'),
        work("prof_rank", "by Manning, rounded", "gpm", "=ROUND([prof_manning],6)*[prof_shown]"),
        work("prof_full", "whole section", "sq in",
             "=IF([prof_round]=1,PI()*[prof_top]*[prof_top]/(2*2*2),([prof_bottom]+[prof_top])*half*[prof_depth])", "W2"),
        work("prof_en", "by EN 12056-3, short run", "gpm",
             "=en_share*[prof_k]*([prof_full]*sq_mm_per_sq_in)^en_power/l_s_per_gpm", "W2"),
    )  # fmt: skip
    return Table(key="profiles", title="Gutter profiles", rows=len(names), columns=columns)


def _sizes(shape: Shape) -> Table:
    sides = [tuple(float(side) for side in code.split("x")) for code in shape.sizes]
    columns = (
        Column(key="ws_no", header="no", unit="no", values=tuple(range(1, len(sides) + 1))),
        Column(key="ws_code", header="size", role="label", values=shape.sizes),
        Column(key="ws_one", header="side", unit="in", values=tuple(pair[0] for pair in sides)),
        Column(key="ws_other", header="other side", unit="in", values=tuple(pair[1] for pair in sides)),
        work("ws_least", "smaller side", "in", "=MIN([ws_one],[ws_other])"),
        work("ws_published", "in the published table", "0/1", "=IF(AND([ws_least]>=2,[ws_least]<=12),1,0)", "W3"),
        work("ws_wyly", "by Wyly-Eaton", "gpm",
             "=leader_coefficient*leader_filled^filled_power*[ws_least]^size_power*[ws_published]", "W3"),
        work("ws_wyly_rank", "the same, rounded", "gpm", '=ROUND([ws_wyly],6)*IF(leader_capacity_gpm="",1,0)'),
        work("ws_weir", "drop as a weir", "gpm",
             "=weir_c*2*([ws_one]+[ws_other])/12*(gutter_water/12)^three_halves*gpm_per_cfs", "W2"),
        work("ws_orifice", "drop as an orifice", "gpm",
             "=orifice_c*[ws_one]*[ws_other]/144*SQRT(gravity_2*gutter_water/12)*gpm_per_cfs", "W2"),
        work("ws_drop", "the smaller", "gpm", "=MIN([ws_weir],[ws_orifice])", "W2"),
        work("ws_drop_rank", "the same, rounded", "gpm", "=ROUND([ws_drop],6)"),
    )  # fmt: skip
    return Table(key="water_sizes", title="Leader sizes and drops", rows=len(sides), columns=columns)


def _materials() -> Table:
    moves = {row["material"]: float(row["value"]) for row in table("thermal_movement")}
    return Table(
        key="materials",
        title="Movement in heat and cold",
        rows=len(GUTTER_MATERIALS),
        columns=(
            Column(key="mat_name", header="material", role="label", values=GUTTER_MATERIALS),
            Column(
                key="mat_moves",
                header="100 ft over 100 deg F",
                unit="in",
                values=tuple(moves[name] for name in GUTTER_MATERIALS),
                fmt="0.00",
            ),
        ),
    )


def _codes(shape: Shape) -> Table:
    columns = (
        work("cw_no", "no", "no", "=[cw_no-]+1"),
        work("cw_used", "used", "0/1", '=IF([code_size@]="",0,1)'),
        work("cw_gutter", "of a gutter", "0/1", '=IF([code_kind@]="gutter",[cw_used],0)'),
        work("cw_leader", "of a leader", "0/1", '=IF([code_kind@]="leader",[cw_used],0)'),
        Column(key="cw_name", header="kind and size", formula='=[code_kind@]&"|"&[code_size@]'),
        work("cw_first", "first row of it", "row", "=MATCH([cw_name],cw_name,0)"),
        work("cw_fall", "fall", "in/ft", "=ROUND([code_fall@],6)"),
        work("cw_fits", "good for so flat a gutter", "0/1",
             "=IF([cw_fall]<=ROUND(gutter_fall_in_per_ft,6),[cw_gutter],0)", "W2"),
        work("cw_steeper", "steeper rows that are", "no",
             "=SUMPRODUCT((cw_first=[cw_first])*(cw_fits=1)*(cw_fall>[cw_fall]))", "W2"),
        work("cw_best", "the row that counts", "0/1", "=IF([cw_steeper]=0,[cw_fits],0)", "W2"),
        Column(key="cw_best_name", header="its name", formula='=IF([cw_best]=1,[cw_name],"")'),
        work("cw_gpm", "capacity", "gpm",
             '=IF([code_capacity_gpm@]="",[code_area_sq_ft@]*gpm_per_unit,[code_capacity_gpm@])*[cw_used]', "W2"),
        work("cw_gutter_rank", "gutter, rounded", "gpm", "=ROUND([cw_gpm],6)*[cw_best]"),
        work("cw_leader_rank", "leader, rounded", "gpm", "=ROUND([cw_gpm],6)*[cw_leader]"),
        Column(key="cw_edition", header="code and edition", formula='=IF([code_size@]="","",[code_code@]&", "&[code_edition@])'),
        work("cw_kind_row", "first row of its kind", "row", "=IFERROR(MATCH([code_kind@],code_kind,0),1)"),
        work("cw_mixed", "another edition than the first", "0/1",
             "=IF(INDEX(cw_edition,[cw_kind_row])=[cw_edition],0,[cw_used])", "W2"),
        work("cw_twice", "the same size and fall twice", "0/1",
             "=IF(SUMPRODUCT((cw_first=[cw_first])*(cw_fall=[cw_fall])*(cw_used=1))>1,[cw_used],0)", "W2"),
        work("cw_valued", "values given", "no", "=COUNT([code_capacity_gpm@])+COUNT([code_area_sq_ft@])"),
        work("cw_wrong", "to mend", "no",
             "=[cw_used]-MIN([cw_used],[cw_gutter]+[cw_leader])+[cw_mixed]+[cw_twice]+IF([cw_valued]=1,0,[cw_used])", "W2"),
    )  # fmt: skip
    return Table(key="codes_work", title="The adopted code", rows=shape.codes, columns=columns)


# ------------------------------------------------------------------------------------------------- parts and lines


def _accepted(name: str, key: str, bad: str, words: str) -> tuple[Column, Column]:
    """Two columns: what an acceptance would have to name, and whether none does."""
    return (
        Column(key=f"{name}_key", header="an acceptance names it", formula=f'=IF({bad}=1,{words},"")'),
        work(f"{name}_open", "failed and not accepted", "0/1", f"=IF(ISNUMBER(MATCH([{key}],aw_key,0)),0,{bad})"),
    )


def _bays(shape: Shape) -> Table:
    columns = (
        work("wb_lane", "part", "row", "=IF([b_drains@]=1,[b_part@],no_lane)"),
        work("wb_key", "sort key", "", "=[wb_lane]*1000*100+[b_clear@]"),
        work("wb_left", "left edge", "in", "=ROUND([b_left@],6)"),
        work("wb_right", "right edge", "in", "=ROUND([b_left@]+[b_clear@],6)"),
    )
    return Table(key="water_bays", title="Bays that drain", rows=shape.bay_rows, columns=columns)


def _parts(shape: Shape) -> Table:
    columns = (
        work("wp_on", "drains", "0/1", "=IF([p_outlets@]>0,[p_use@],0)"),
        work("wp_widths", "widths of its bays", "in", "=SUMIFS(b_clear,b_part,[p_no@],b_drains,1)", "W1"),
        work("wp_narrow", "narrowest", "in",
             '=IF([wp_on]=1,ROUND(SMALL(wb_key,COUNTIF(wb_lane,"<"&[p_no@])+1)-[p_no@]*1000*100,6),0)', "W2"),
        work("wp_wide", "widest", "in", "=CHOOSE(1+[p_drawn@],INDEX(w_clear,[p_ix@]),[wp_narrow])*[wp_on]", "W2"),
        work("wp_drape", "drape", "in", "=INDEX(w_drape,[p_ix@])*[wp_on]", "P3"),
        work("wp_slope", "fall that counts", "in/ft", "=IF(ROUND([p_fall@],6)>0,MIN([p_fall@],steepest),0)", "W2"),
        work("wp_bay_q", "flow of the narrowest bay", "gpm", "=IFERROR([p_flow@]*[wp_narrow]/[wp_widths],0)*[wp_on]", "W1"),
        work("wp_out_q", "flow of the busiest outlet", "gpm", "=IFERROR([p_flow@]*[wp_wide]/[wp_widths],0)*[wp_on]", "W1"),
        work("wp_section", "section of its V", "sq in", "=[wp_narrow]*[wp_drape]*half", "W2"),
        work("wp_wetted", "wetted", "in", "=SQRT([wp_narrow]*[wp_narrow]+2*2*[wp_drape]*[wp_drape])", "W2"),
        work("wp_bay_gpm", "the bay carries", "gpm",
             "=IFERROR(manning_us/liner_roughness*([wp_section]/[wp_wetted]/12)^two_thirds*SQRT([wp_slope]/12)"
             "*[wp_section]/144*gpm_per_cfs,0)*[wp_on]", "W2"),
        work("wp_bay_bad", "more than the bay carries", "0/1",
             "=IF(ROUND([wp_bay_q],6)>ROUND([wp_bay_gpm],6),[wp_on],0)", "W2"),
        work("wp_out_bad", "more than the outlet carries", "0/1",
             "=IF(ROUND([wp_out_q],6)>ROUND(outlet_gpm,6),[wp_on],0)", "W2"),
        *_accepted("wp_bay", "wp_bay_key", "[wp_bay_bad]", '"W2|"&[p_name@]&" bay"'),
        *_accepted("wp_out", "wp_out_key", "[wp_out_bad]", '"W2|"&[p_name@]&" bay outlet"'),
    )  # fmt: skip
    return Table(key="water_parts", title="Bays and outlets of each part", rows=shape.parts, columns=columns)


def _leaders(flow: str, capacity: str) -> str:
    """Return the formula of W3's count by reach, with flows in place of lengths."""
    return (
        f"=(MAX(1,IFERROR(ROUNDUP(ROUND({flow}/(2*{capacity}),6),0),1))"
        f"+IF(ROUND({flow},6)<=ROUND({capacity},6),0,1-[g_mid@]))*IF({capacity}>0,1,0)*[g_lead@]"
    )


def _least(count: str, known: str, rank: str, names: str) -> str:
    """Return the formula of the least size that carries, given how many do not."""
    return f'=IF({count}<{known},INDEX({names},MATCH(SMALL({rank},MIN({known},{count}+1)),{rank},0))&"","none")'


def _under(rank: str, flow: str) -> str:
    return f"=SUMPRODUCT(({rank}<{flow})*({rank}>=0))"


def _lines(shape: Shape) -> Table:
    first_pair = "([g_no@]-1)*profiles_known"
    columns = (
        work("wl_flow", "flow of the longest run", "gpm", "=IFERROR([g_q@]*[g_run@]/[g_feet@],0)*[g_lead@]", "W1"),
        work("wl_flow6", "the same, rounded", "gpm", "=ROUND([wl_flow],6)"),
        work("wl_m_under", "profiles that carry less, Manning", "no", _under("prof_rank", "[wl_flow6]")),
        Column(key="wl_m_size", header="least that carries it",
               formula=_least("[wl_m_under]", "profiles_known", "prof_rank", "prof_name")),
        work("wl_m_n", "leaders with which it passes", "no", _leaders("[g_q@]", "gutter_manning"), "W2"),
        work("wl_en", "carries by EN 12056-3", "gpm",
             f"=INDEX(wn_gpm,{first_pair}+gutter_row)*[g_lead@]", "W2"),
        work("wl_en_key", "least that carries, key", "", f"=SMALL(wn_key,{first_pair}+1)"),
        work("wl_en_any", "one carries", "0/1", "=IF([wl_en_key]<[g_no@]*1000*1000+1000*1000-1,[g_lead@],0)"),
        Column(key="wl_en_size", header="least that carries it",
               formula='=IF([wl_en_any]=1,INDEX(prof_name,INDEX(wn_profile,MATCH([wl_en_key],wn_key,0)))&"","none")'),
        work("wl_en_n", "leaders with which it passes", "no", _leaders("[g_q@]", "[wl_en]"), "W2"),
        work("wl_a_under", "typed sizes that carry less", "no", _under("cw_gutter_rank", "[wl_flow6]")),
        Column(key="wl_a_size", header="least typed that carries it",
               formula=_least("[wl_a_under]", "codes_known", "cw_gutter_rank", "code_size")),
        work("wl_a_n", "leaders with which it passes", "no", _leaders("[g_q@]", "code_gutter_gpm"), "W2"),
        work("wl_gpm", "what decides", "gpm", "=CHOOSE(gutter_way,gutter_manning,[wl_en],code_gutter_gpm)*[g_lead@]", "W2"),
        work("wl_gut_bad", "more than the gutter carries", "0/1", "=IF([wl_flow6]>ROUND([wl_gpm],6),[g_lead@],0)", "W2"),
        work("wl_share", "drops as busy as the busiest", "no",
             "=MAX(1,[g_leaders@]-(1-[g_mid@])*IF([g_leaders@]>2,1,0))", "W3"),
        work("wl_drop_q", "flow of the busiest drop", "gpm", "=[g_q@]/[wl_share]*[g_lead@]", "W3"),
        work("wl_drop_under", "sizes that carry less", "no", _under("ws_drop_rank", "ROUND([wl_drop_q],6)")),
        Column(key="wl_drop_size", header="least that carries it",
               formula=_least("[wl_drop_under]", "sizes_known", "ws_drop_rank", "ws_code")),
        work("wl_drop_alike", "drops, evenly", "no", "=IFERROR(ROUNDUP(ROUND([g_q@]/drop_gpm,6),0),0)*[g_lead@]", "W3"),
        work("wl_drop_n", "leaders with which it passes", "no",
             "=[wl_drop_alike]+IF([wl_drop_alike]>2,1-[g_mid@],0)", "W3"),
        work("wl_drop_bad", "more than the drop carries", "0/1",
             "=IF(ROUND([wl_drop_q],6)>ROUND(drop_gpm,6),[g_lead@],0)", "W2"),
        work("wl_each", "flow of a leader, evenly", "gpm", "=IFERROR([g_q@]/[g_leaders@],0)*[g_lead@]", "W3"),
        work("wl_lead_under", "sizes that carry less, Wyly-Eaton", "no", _under("ws_wyly_rank", "ROUND([wl_each],6)")),
        Column(key="wl_lead_size", header="least that carries it",
               formula=_least("[wl_lead_under]", "sizes_known", "ws_wyly_rank", "ws_code")),
        work("wl_lead_n", "leaders with which it passes", "no",
             "=ROUNDUP(ROUND([g_q@]/leader_gpm,6),0)*[g_lead@]", "W3"),
        work("wl_code_under", "typed leader sizes that carry less", "no", _under("cw_leader_rank", "ROUND([wl_each],6)")),
        Column(key="wl_code_size", header="least typed that carries it",
               formula=_least("[wl_code_under]", "codes_known", "cw_leader_rank", "code_size")),
        work("wl_code_n", "leaders with which it passes", "no",
             "=IFERROR(ROUNDUP(ROUND([g_q@]/code_leader_gpm,6),0),0)*[g_lead@]", "W2"),
        work("wl_lead_bad", "more than the leaders carry", "0/1",
             "=IF(ROUND([g_q@],6)>ROUND(leader_decides*[g_leaders@],6),[g_lead@],0)", "W2"),
        work("wl_lead_busy", "one leader takes too much", "0/1",
             "=IF(ROUND([wl_drop_q],6)>ROUND(leader_decides,6),[g_lead@]-[wl_lead_bad],0)", "W3"),
        *_accepted("wl_gut", "wl_gut_key", "[wl_gut_bad]", '"W2|"&[g_name@]&" gutter"'),
        *_accepted("wl_drop", "wl_drop_key", "[wl_drop_bad]", '"W2|"&[g_name@]&" gutter drop"'),
        *_accepted("wl_lead", "wl_lead_key", "[wl_lead_bad]", '"W2|"&[g_name@]&" leaders"'),
        *_accepted("wl_touch", "wl_touch_key", "[g_touch@]", '"O3|"&[g_name@]'),
        work("wl_high", "gutter top at the high end", "in", "=([g_lowest@]-gutter_top_gap_in)*[g_lead@]", "O3"),
        work("wl_low", "at the low end", "in", "=[wl_high]-gutter_fall_in_per_ft*[g_run@]*[g_lead@]", "O3"),
        work("wl_below", "height left below it there", "in", "=([wl_low]-gutter_depth_in)*[g_lead@]", "T5"),
        work("wl_low_below", "less than is asked", "0/1", "=IF(ROUND([wl_below],6)<ROUND(min_headroom_in,6),[g_lead@],0)", "T5"),
        work("wl_joints", "expansion joints", "no",
             "=MAX(0,ROUNDUP(ROUND([g_feet@]/expansion_joint_ft,6),0)-1)*[g_lead@]", "T4"),
        work("wl_moves", "movement between them", "in",
             "=moves_per*[g_feet@]/([wl_joints]+1)*temperature_swing_f/(100*100)*[g_lead@]", "T4"),
        work("wl_nozzle", "nozzle in the gutter without fall", "in", "=(nozzle_in_gutter_in+[g_rest@])*[g_lead@]", "O3"),
        work("wl_planned", "at the low end as planned", "in", "=[wl_nozzle]-gutter_fall_in_per_ft*[g_run@]*[g_lead@]", "O3"),
        work("wl_one_way", "one way", "in", "=[wl_nozzle]-gutter_fall_in_per_ft*[g_feet@]", "O3"),
        work("wl_two_ways", "two ways or to the middle", "in", "=[wl_nozzle]-gutter_fall_in_per_ft*[g_feet@]*half", "O3"),
        *(work(f"{key}_holds", "deep enough", "0/1",
               f"=IF(ROUND([{key}],6)>=ROUND(nozzle_in_gutter_in,6),[g_lead@],0)", "O3")
          for key in ("wl_planned", "wl_one_way", "wl_two_ways")),
        work("wl_code_gutter", "the code gives its gutter", "0/1", "=IF(code_gutter_gpm>0,[g_lead@],0)", "W2"),
        work("wl_code_leader", "the code gives its leaders", "0/1", "=IF(code_leader_gpm>0,[g_lead@],0)", "W2"),
    )  # fmt: skip
    return Table(key="water_lines", title="Gutter lines", rows=shape.parts, columns=columns)


def _pairs(shape: Shape) -> Table:
    """EN 12056-3: the length factor hangs on the profile's depth, so every line is worked out with every profile."""
    count = len(GUTTER_PROFILES)
    columns = (
        Column(key="wn_line", header="line", unit="row",
               values=tuple(line for line in range(1, shape.parts + 1) for _ in range(count))),
        Column(key="wn_profile", header="profile", unit="row", values=tuple(range(1, count + 1)) * shape.parts),
        work("wn_depth", "depth", "in", "=INDEX(prof_depth,[wn_profile])"),
        work("wn_run", "run", "in", "=INDEX(g_run,[wn_line])*12"),
        work("wn_on", "run is covered", "0/1", "=IF(ROUND([wn_run],6)<=ROUND(en_end*[wn_depth],6),1,0)", "W2"),
        work("wn_depths", "run in depths", "depths", "=MIN(en_end,MAX(en_first,[wn_run]/[wn_depth]))", "W2"),
        work("wn_factor", "length factor", "share",
             "=1-en_drop*(MIN([wn_depths],en_last)-en_first)/en_step-en_drop_end*(MAX([wn_depths],en_last)-en_last)/en_step",
             "W2"),
        work("wn_gpm", "capacity", "gpm", "=INDEX(prof_en,[wn_profile])*[wn_factor]*[wn_on]", "W2"),
        work("wn_rank", "compared, rounded", "gpm", "=ROUND([wn_gpm],6)*INDEX(prof_shown,[wn_profile])"),
        work("wn_ok", "carries the flow", "0/1", "=IF([wn_rank]>=INDEX(wl_flow6,[wn_line]),1,0)", "W2"),
        work("wn_key", "sort key", "", "=[wn_line]*1000*1000+IF([wn_ok]=1,[wn_rank],1000*1000-1)"),
    )  # fmt: skip
    return Table(key="water_pairs", title="Lines and profiles by EN 12056-3", rows=shape.parts * count, columns=columns)


# ------------------------------------------------------------------------------------------ areas, framing, posts


def _areas(shape: Shape) -> Table:
    columns = (
        work("wa_posts", "posts listed", "no", "=COUNTIF(pw_at,[w_no@])*[w_use@]", "T6"),
        work("wa_inside", "of them inside", "no", "=COUNTIFS(pw_at,[w_no@],pw_inside,1)*[w_use@]", "T6"),
        work("wa_odd", "not as many as are counted", "0/1",
             "=IF(AND([wa_posts]>0,[wa_inside]<>[w_posts@]),[w_use@],0)", "T6"),
        work("wa_low", "joists lower than is asked", "0/1",
             "=IF(ROUND([w_bottom@],6)<ROUND(min_headroom_in,6),[w_use@],0)", "T5"),
    )  # fmt: skip
    return Table(key="water_areas", title="Areas", rows=shape.areas, columns=columns)


def _framing(shape: Shape) -> Table:
    columns = (
        *_accepted("wf", "wf_key", "[f_in_the_way@]", '"G9|"&INDEX(p_name,MAX(1,[f_part@]))'),
        work("wf_has_depth", "dropped beam of known depth", "0/1", "=IF(COUNT([f_depth@])=1,[f_dropped@],0)", "T5"),
        work("wf_below", "height left below it", "in",
             "=(INDEX(w_bottom,[f_ix@])-ROUND([f_depth@]*small_in,6))*[wf_has_depth]", "T5"),
        work("wf_low", "less than is asked", "0/1",
             "=IF(ROUND([wf_below],6)<ROUND(min_headroom_in,6),[wf_has_depth],0)", "T5"),
    )  # fmt: skip
    return Table(key="water_framing", title="Beams", rows=shape.framing, columns=columns)


def _posts(shape: Shape) -> Table:
    columns = (
        work("pw_named", "filled in", "0/1", '=IF([pp_area@]="",0,1)'),
        work("pw_at", "area", "row", "=IF([pw_named]=1,IFERROR(MATCH([pp_area@],a_area,0),0),0)"),
        work("pw_ix", "that row", "row", "=MAX(1,[pw_at])"),
        work("pw_inside", "inside the frame", "0/1", '=IF([pp_where@]="outside",0,MIN(1,[pw_at]))', "O2"),
        work("pw_x", "x", "in", "=ROUND([pp_x@]*big_in,6)"),
        work("pw_y", "y", "in", "=ROUND([pp_y@]*big_in,6)"),
        work("pw_size", "side", "in", '=IF([pp_size@]="",default_post_in,ROUND([pp_size@]*small_in,6))'),
        work("pw_lost", "in no known area, or outside it", "0/1",
             "=IF(AND([pw_at]>0,[pw_x]<=ROUND(INDEX(w_width,[pw_ix]),6),[pw_y]<=ROUND(INDEX(w_projection,[pw_ix]),6)),0,"
             "[pw_named])", "O2"),
        work("pw_left", "left side", "in", "=ROUND([pw_x]-[pw_size]*half,6)", "O2"),
        work("pw_right", "right side", "in", "=ROUND([pw_x]+[pw_size]*half,6)", "O2"),
        work("pw_drawn", "in a drawn area", "0/1", "=INDEX(w_drawn,[pw_ix])", "G10"),
        work("pw_seg", "drawn bay", "row",
             "=SUMPRODUCT((sg_area=[pw_at])*(sg_own_left<[pw_x])*(sg_own_right>=[pw_x])*(sg_own_near<[pw_y])*(sg_own_far>=[pw_y])"
             "*sg_is_bay*sg_no)*[pw_drawn]", "G10"),
        work("pw_last", "or the last of its area", "row", "=INDEX(w_part1,[pw_ix])+INDEX(oa_bays,[pw_ix])-1", "G10"),
        work("pw_part", "part", "row",
             "=CHOOSE(1+[pw_drawn],INDEX(w_part1,[pw_ix])+SUMPRODUCT((f_at=[pw_at])*(f_beam=1)*(f_yin<[pw_y])),"
             "IFERROR(MATCH([pw_seg],p_seg,0)*IF([pw_seg]>0,1,0)+[pw_last]*IF([pw_seg]>0,0,1),[pw_last]))", "G6"),
        work("pw_bays", "bays it stands in that drain", "no",
             "=SUMPRODUCT((b_part=[pw_part])*(b_drains=1)*(wb_left<[pw_right])*(wb_right>[pw_left]))", "O2"),
        work("pw_in_bay", "its blocking lies in one", "0/1", "=IF([pw_bays]>0,[pw_inside],0)", "O2"),
        work("pw_half", "half its blocking", "in", "=[pw_size]*half+INDEX(w_thick,[pw_ix])", "O2"),
        work("pw_near", "blocking from", "in", "=ROUND([pw_y]-[pw_half],6)", "O2"),
        work("pw_far", "blocking to", "in", "=ROUND([pw_y]+[pw_half],6)", "O2"),
        work("pw_end_rim", "at the outlet, low end at the rim", "0/1",
             "=IF(AND([pw_far]>ROUND(INDEX(p_end,[pw_part])-outlet_end_in,6),[pw_near]<ROUND(INDEX(p_end,[pw_part]),6)),1,0)",
             "O2"),
        work("pw_end_ledger", "low end at the ledger", "0/1",
             "=IF(AND([pw_near]<ROUND(INDEX(p_far,[pw_part])+outlet_end_in,6),[pw_far]>ROUND(INDEX(p_far,[pw_part]),6)),1,0)",
             "O2"),
        work("pw_end", "stands where the outlet goes", "0/1",
             "=IF(INDEX(p_ledger,[pw_part])=1,[pw_end_ledger],[pw_end_rim])*[pw_in_bay]", "O2"),
        work("pw_from_high", "from the high end", "in",
             "=IF(INDEX(p_ledger,[pw_part])=1,INDEX(p_end,[pw_part])-[pw_y],[pw_y]-INDEX(p_far,[pw_part]))", "O2"),
        work("pw_along", "the same, within the part", "in",
             "=MIN(MAX(0,[pw_from_high]),INDEX(p_clear,[pw_part]))", "O2"),
        work("pw_height", "height left for its blocking", "in",
             "=IFERROR(ROUND(INDEX(w_depth,[pw_ix])-INDEX(w_drape,[pw_ix])*[pw_along]/INDEX(p_clear,[pw_part]),6),0)"
             "*[pw_in_bay]", "O2"),
        work("pw_low", "under the usual share", "0/1",
             "=IF([pw_height]<ROUND(blocking_share*INDEX(w_depth,[pw_ix]),6),[pw_in_bay],0)", "O2"),
        *_accepted("pw", "pw_key", "[pw_end]", '"O2|"&INDEX(p_name,[pw_part])&" posts"'),
    )  # fmt: skip
    return Table(key="water_posts", title="Posts", rows=shape.posts, columns=columns)


def _acceptances(shape: Shape) -> Table:
    def found(*keys: str) -> str:
        return "=" + "+".join(f"IF(ISNUMBER(MATCH([aw_key],{key},0)),1,0)" for key in keys)

    columns = (
        Column(key="aw_key", header="rule and place", formula='=[acc_rule@]&"|"&[acc_where@]'),
        work("aw_used", "filled in", "0/1", '=IF([acc_rule@]="",0,1)'),
        work("aw_some", "failed there", "no", found("wp_bay_key", "wp_out_key", "wf_key", "pw_key")),
        work("aw_more", "failed there, gutters", "no", found("wl_gut_key", "wl_drop_key", "wl_lead_key", "wl_touch_key")),
        work("aw_live", "of a failed check", "0/1", "=IF([aw_some]+[aw_more]>0,[aw_used],0)"),
        work("aw_idle", "of none", "0/1", "=[aw_used]-[aw_live]"),
        Column(key="aw_before", header="limits before it", opening="",
               formula='=[aw_text-]&IF(LEN([aw_text-])*[aw_live]>0,"; ","")'),
        Column(key="aw_words", header="the limit", formula='=IF([aw_live]=1,[acc_where@]&" ("&[acc_rule@]&"): "&[acc_reason@]'
               '&", accepted by "&[acc_person@],"")'),
        Column(key="aw_text", header="limits so far", opening="", formula="=[aw_before]&[aw_words]"),
        work("aw_wrong", "no rule that fails, no person or no reason", "0/1",
             '=IF(OR(NOT(ISNUMBER(MATCH([acc_rule@],list_can_fail,0))),[acc_person@]="",[acc_reason@]=""),[aw_used],0)'),
    )  # fmt: skip
    return Table(key="acceptances_work", title="Accepted checks", rows=shape.acceptances, columns=columns)


def water_work_sheet(shape: Shape) -> Sheet:
    """Return the workings of the water checks."""
    return Sheet(
        title="Work water",
        purpose="Capacities by every method, flows of bays, drops and leaders, heights, posts, and which failed checks a "
        "named person accepted.",
        parts=(
            _constants(),
            _chosen(),
            _profiles(),
            _sizes(shape),
            _materials(),
            _codes(shape),
            _bays(shape),
            _parts(shape),
            _lines(shape),
            _pairs(shape),
            _areas(shape),
            _framing(shape),
            _posts(shape),
            _acceptances(shape),
        ),
        working=True,
    )
