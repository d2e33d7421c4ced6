"""The framer's page: joist marks, beams and blocking, gutter heights, what must not be cut, what to ask the designer."""

from __future__ import annotations

from baybook.estimate import Estimate
from baybook.workbook.declare import Block, Column, Scalar, Sheet, Table, Text
from baybook.workbook.shape import Shape
from baybook.workbook.sheets.columns import work
from baybook.workbook.sheets.results import said

__all__ = ["framer_sheet", "marks_sheet"]

NOT_CUT = (
    "No hole and no notch in a joist, ledger, rim or beam for liner, outlets, gutter or leaders: all of it hangs between or below.",
    "Nothing through the liner but posts marked inside. No fastener in the bottom of a bay.",
    "Keep the outlet's end of every bay free of blocking, bridging, pipes and cables.",
)
ASK = (
    "Joist, ledger and beam sizes, hangers and hold-downs; the weight of a ceiling, and of ice in a gutter.",
    "Every row of blocking lower than usual, and every post: is the height left enough, or is blocking set elsewhere?",
    "A flush beam: its hangers, and room for outlets and a gutter at it. A dropped beam: its distance from the gutter.",
    "Ledger flashing that drains on to the liner, never behind it. The framing inspection before the liner covers it.",
)


def _label(key: str, header: str, formula: str, unit: str = "", fmt: str = "", width: float = 0) -> Column:
    return Column(key=key, header=header, unit=unit, role="label", formula=formula, fmt=fmt, width=width)


def _spoken(key: str, inches: str, use: str) -> tuple[Column, Column]:
    """Return a length in sixteenths, and as it is said."""
    return (
        Column(
            key=f"{key}16",
            header="in sixteenths",
            unit="1/16 in",
            formula=f"=ROUND(ROUND({inches}*per_inch,6),0)",
            fmt="0;;",
        ),
        Column(key=f"{key}_said", header="as said", formula=said(f"[{key}16]", use)),
    )


def marks_sheet(shape: Shape) -> Sheet:
    """Return the workings of the marks: the left face of each member, strung together by area."""
    use = "[o_end@]"
    thick = "INDEX(w_thick,MAX(1,[o_area@]))"
    members = (
        *_spoken("fm_left", "[o_start@]", use),
        work("fm_width", "width", "in", "=ROUND([o_reach@]-[o_start@],6)"),
        work("fm_packed", "wider than one ply", "0/1", f"=IF([fm_width]>ROUND({thick},6),{use},0)"),
        *_spoken("fm_thick", "[fm_width]", "[fm_packed]"),
        Column(key="fm_wide", header="its width", formula='=IF([fm_packed]=1,"("&[fm_thick_said]&" wide)","")'),
        Column(
            key="fm_mark",
            header="mark",
            formula=f'=IF({use}=1,CHOOSE(1+[o_first_of@],",  ","")&[fm_left_said]&CHOOSE(1+[fm_packed],""," ")&[fm_wide],"")',
        ),
        Column(key="fm_text", header="marks so far", opening="", formula='=IF([o_same@]=1,[fm_text-],"")&[fm_mark]'),
    )
    framing = (
        work("fr_use", "used", "0/1", '=IF([f_area@]="",0,1)'),
        work("fr_has_x", "x given", "0/1", "=COUNT([f_x@])*[fr_use]"),
        work("fr_has_y", "y given", "0/1", "=COUNT([f_y@])*[fr_use]"),
        *_spoken("fr_x_at", "[f_xin@]", "[fr_has_x]"),
        *_spoken("fr_y_at", "[f_yin@]", "[fr_has_y]"),
        Column(key="fr_lumber", header="lumber for blocking",
               formula='=IF([f_block@]=1,"deepest lumber that fits: "&[f_lumber@],"")'),
        Column(key="fr_low", header="low blocking",
               formula='=IF([f_low@]=1,"; LOWER THAN USUAL: ask the designer","")'),
        *_spoken("fr_left", "MAX(0,[f_room@])", "[f_dropped@]"),
        Column(key="fr_room", header="room at a dropped beam", formula='=IF([f_dropped@]=1,[fr_left_said]'
               '&" to the low end"&CHOOSE(1+[f_in_the_way@],"",": STANDS WHERE THE GUTTER GOES"),"")'),
    )  # fmt: skip
    areas = (*_spoken("fa_wide", "[w_width@]", "[w_use@]"), *_spoken("fa_deep", "[w_projection@]", "[w_use@]"))
    lines = (*_spoken("fl_top", "[wl_high@]", "[g_lead@]"), *_spoken("fl_end", "[wl_low@]", "[g_lead@]"))
    posts = (*_spoken("fp_x_at", "[pw_x@]", "[pw_named@]"), *_spoken("fp_y_at", "[pw_y@]", "[pw_named@]"))
    return Sheet(
        title="Work framer",
        purpose="The framer's marks and places, in sixteenths and as they are said.",
        parts=(
            Table(key="framer_members", title="Marks", rows=shape.members, columns=members),
            Table(key="framer_rows", title="Framing", rows=shape.framing, columns=framing),
            Table(key="framer_areas", title="Areas", rows=shape.areas, columns=areas),
            Table(key="framer_lines", title="Gutter lines", rows=shape.parts, columns=lines),
            Table(key="framer_posts", title="Posts", rows=shape.posts, columns=posts),
        ),
        working=True,
    )


def framer_sheet(estimate: Estimate, shape: Shape) -> Sheet:
    """Return the framer's page."""
    del estimate

    def s(key: str, label: str, formula: str) -> Scalar:
        return Scalar(key=key, label=label, role="label", formula=formula)

    areas = (
        _label("fa_name", "area", '=IF([w_use@]=1,[w_name@],"")'),
        _label("fa_width", "width along the ledger", "=[fa_wide_said@]"),
        _label("fa_depth", "projection", "=[fa_deep_said@]"),
        _label("fa_joist", "joist depth, in", '=IF([w_use@]=1,[w_depth@],"")', fmt="0.00"),
        _label("fa_members", "members", '=IF([w_use@]=1,[w_members@],"")', fmt="0"),
        _label("fa_side", "gutter side", '=IF([w_use@]=1,CHOOSE(1+[w_ledger@],"rim","ledger"),"")'),
        _label("fa_marks", "left face of each member, along ledger and rim alike, from the left end",
               '=IF([w_use@]=1,CHOOSE(1+[w_drawn@],INDEX(fm_text,[w_lastix@]),[oa_marks@]&""),"")', width=70),
    )  # fmt: skip
    rows = (
        _label("fr_area", "area", '=IF([fr_use@]=1,[f_area@],"")'),
        _label("fr_kind", "what", '=IF([fr_use@]=1,SUBSTITUTE([f_kind@],"_"," "),"")'),
        _label("fr_x", "centre from the left end", "=[fr_x_at_said@]"),
        _label("fr_y", "centre from the back of the ledger", "=[fr_y_at_said@]"),
        _label("fr_plies", "plies", '=IF([fr_use@]*(1-[f_block@])=1,[f_plies@]&"","")'),
        _label("fr_left", "height left for blocking, in", '=IF([f_block@]=1,[f_rip@],"")', fmt="0.000"),
        _label("fr_word", "note", "=[fr_lumber@]&[fr_low@]&[fr_room@]", width=70),
    )  # fmt: skip
    lines = (
        _label("fl_name", "gutter line", '=IF([g_lead@]=1,[g_name@],"")'),
        _label("fl_high", "gutter top at its high end, above grade", "=[fl_top_said@]"),
        _label("fl_low", "at its low end", "=[fl_end_said@]"),
        _label("fl_leaders", "leaders", '=IF([g_lead@]=1,[g_leaders@],"")', fmt="0"),
        _label("fl_at", "they stand", '=IF([g_lead@]=1,CHOOSE(1+[g_mid@],"at the ends","in the middle"),"")'),
    )
    posts = (
        _label("fp_area", "area", '=IF([pw_named@]=1,[pp_area@],"")'),
        _label("fp_x", "post from the left end", "=[fp_x_at_said@]"),
        _label("fp_y", "from the back of the ledger", "=[fp_y_at_said@]"),
        _label("fp_size", "side, in", '=IF([pw_named@]=1,[pw_size@],"")', fmt="0.00"),
        _label("fp_where", "stands", '=IF([pw_named@]=1,CHOOSE(1+[pw_inside@],"outside","inside"),"")'),
        _label("fp_left", "height left for its blocking, in", '=IF([pw_in_bay@]=1,[pw_height@],"")', fmt="0.000"),
        _label("fp_word", "note", '=CHOOSE(1+[pw_end@],"","BLOCKING STANDS WHERE THE OUTLET GOES: move it or set it outside ")'
               '&CHOOSE(1+[pw_low@],"","LOWER THAN USUAL: ask the designer")'),
    )  # fmt: skip
    return Sheet(
        title="Framer",
        purpose="For the framer, before framing: where members stand, what height is left, what must stay whole.",
        parts=(
            Block(
                title="Deck",
                scalars=(
                    s("framer_job", "job", '=job_job&""'),
                    s("framer_site", "site", '=job_site&""'),
                ),
            ),
            Table(key="framer_marks", title="Joist marks", rows=shape.areas, columns=areas),
            Table(
                key="framer_framing",
                title="Added members, beams, blocking",
                rows=shape.framing,
                columns=rows,
                note="Blocking at or under the height left; a dropped beam's clear distance to the low end.",
            ),
            Table(key="framer_gutters", title="Gutters", rows=shape.parts, columns=lines),
            Table(key="framer_posts_shown", title="Posts", rows=shape.posts, columns=posts),
            Text(lines=("What must not be cut",), style="title"),
            Text(lines=NOT_CUT),
            Text(lines=("What to ask the designer",), style="title"),
            Text(lines=ASK),
        ),
        landscape=False,
        one_page=True,
    )
