"""Workings of the plan: members, the gutters run by run, where their leaders stand and which way they fall."""

from __future__ import annotations

from baybook.estimate import Estimate
from baybook.workbook.declare import Block, Column, Scalar, Sheet, Table
from baybook.workbook.shape import Shape
from baybook.workbook.sheets.columns import work
from baybook.workbook.sheets.inputs import Units
from baybook.workbook.sheets.planpages import APART_IN, NAME_CM, plan_pages

__all__ = ["ARROW_POINTS", "CORNERS", "MEMBER_POINTS", "arrows", "plan_work_sheet"]

ARROWED_LEADERS = 32  # each with its arrows; of more, the marks alone
ARROW_POINTS, MEMBER_POINTS = 5, 3
_STEPS = (-0.75, -0.25, 0.25, 0.75)  # of a one-way run, from its leader


# The path round a bay, from the house wall and back to it, so that the way to the next bay follows a line that is there.
CORNERS = (("b_x0", "wall"), ("b_x0", "b_y1"), ("b_x1", "b_y1"), ("b_x1", "b_y0"), ("b_x0", "b_y0"), ("b_x0", "wall"))


def _r(key: str, header: str, unit: str, formula: str | tuple[str, ...], opening: float = 0) -> Column:
    return Column(key=key, header=header, unit=unit, formula=formula, role="work", fmt="0.00", opening=opening)


def arrows(shape: Shape) -> int:
    """Return the rows of the table of arrows."""
    return min(shape.leaders, ARROWED_LEADERS) * len(_STEPS)


def plan_work_sheet(estimate: Estimate, shape: Shape) -> Sheet:
    """Return what the plan draws beside bays: members, gutters as runs, leaders, arrows along the fall."""
    unit = Units(estimate.inputs.rates.units == "metric").big
    pages = plan_pages(estimate, shape)

    def cm(key: str, label: str, value: float) -> Scalar:
        return Scalar(key=key, label=label, unit="cm", value=value)

    sizes = Block(
        title="Sizes on paper",
        scalars=(
            Scalar(key="apart_in", label="areas are drawn apart by", unit="in", value=APART_IN),
            Scalar(key="cm_in", label="a centimetre of paper is", unit="in", value=pages.cm_in, origin="kept"),
            cm("words_cm", "words stand beside a gutter by", 0.55),
            cm("name_cm", "names stand above the house wall by", NAME_CM / 2),
            cm("arrow_cm", "half an arrow", 0.4),
            cm("barb_cm", "its head", 0.16),
            cm("beside_cm", "it stands beside its gutter by", 0.22),
            Scalar(key="arrow_share", label="and at most, of a one-way run", unit="share", value=0.15),
            Scalar(key="arrow_in", label="half an arrow", unit=unit, formula="=arrow_cm*cm_in/big_in"),
            Scalar(key="barb_in", label="its head", unit=unit, formula="=barb_cm*cm_in/big_in"),
            Scalar(key="beside_in", label="beside its gutter", unit=unit, formula="=beside_cm*cm_in/big_in"),
            Scalar(key="marks_most", label="rows of leaders", unit="no", value=shape.leaders),
            Scalar(key="parts_before", label="rows of parts before the stretches", unit="no", value=shape.parts),
        ),
    )
    return Sheet(
        title="Work plan",
        purpose="What the plan draws beside the bays: members, gutters run by run, leaders, arrows along the fall.",
        parts=(
            sizes,
            Table(key="plan_areas", title="Areas", rows=shape.areas, columns=_areas(pages.from_in, unit)),
            Table(key="plan_bays", title="Bays", rows=shape.bay_rows, columns=_bays(shape, unit)),
            Table(key="plan_gutters", title="Gutters", rows=shape.parts, columns=_gutters(unit)),
            Table(key="plan_posts", title="Posts", rows=shape.posts, columns=_posts(unit)),
            Table(
                key="plan_path",
                title="The path that draws the bays of rectangles",
                rows=shape.bays * len(CORNERS),
                columns=_path(shape, unit),
            ),
            Table(
                key="plan_members",
                title="The path that draws their members",
                rows=shape.members * MEMBER_POINTS,
                columns=_members(shape, unit),
            ),
            Table(key="ribs", title="Members as drawn", rows=shape.ribs, columns=_ribs(estimate, shape, unit)),
            Table(
                key="plan_runs",
                title="Gutters, run by run",
                rows=shape.parts + shape.stretches,
                columns=_runs(shape, unit),
            ),
            Table(key="plan_leaders", title="Leaders", rows=shape.leaders, columns=_leaders(unit)),
            Table(key="plan_arrows", title="Arrows along the fall", rows=arrows(shape), columns=_arrows(shape, unit)),
        ),
        working=True,
    )


def _bays(shape: Shape, unit: str) -> tuple[Column, ...]:
    """Return the corners of every bay, and its number."""

    def either(plain: str, drawn: str) -> tuple[str, ...]:
        return (plain,) * shape.bays + (drawn,) * shape.segments

    return (
        Column(key="b_x0", header="left", unit=unit, fmt="0.00",
               formula="=(INDEX(off_x,[b_aix@])+[b_left@])/big_in*[b_use@]"),
        Column(key="b_x1", header="right", unit=unit, fmt="0.00", formula="=[b_x0]+[b_clear@]/big_in"),
        Column(key="b_y0", header="near end", unit=unit, fmt="0.00", formula="=INDEX(p_far,[b_pix@])/big_in*[b_use@]"),
        Column(key="b_y1", header="far end", unit=unit, fmt="0.00", formula="=INDEX(p_end,[b_pix@])/big_in*[b_use@]"),
        Column(key="b_xm", header="middle", unit=unit, fmt="0.00",
               formula="=IF([b_use@]=1,([b_x0]+[b_x1])*half,0-apart_in)"),
        Column(key="b_ym", header="middle", unit=unit, fmt="0.00", formula="=([b_y0]+[b_y1])*half"),
        Column(key="b_sign", header="number", role="label",
               formula=either('=IF([b_use@]=1,[b_number@],"")', '=IF([b_use@]=1,INDEX(sg_label,[b_seg@])&"","")')),
    )  # fmt: skip


def _path(shape: Shape, unit: str) -> tuple[Column, ...]:
    """Return the path that draws the bays of rectangles, one after the other."""

    def point(key: str, of: str) -> str:
        value = "0" if of == "wall" else f"INDEX({of},[path_bay])"
        return f"=IF(INDEX(b_use,[path_bay])=1,{value},[{key}-])"

    return (
        Column(
            key="path_bay", header="bay", unit="no", values=tuple(b for b in range(1, shape.bays + 1) for _ in CORNERS)
        ),
        _r(
            "path_x",
            "along the ledger",
            unit,
            tuple(point("path_x", x) for _ in range(shape.bays) for x, _ in CORNERS),
        ),
        _r("path_y", "out from it", unit, tuple(point("path_y", y) for _ in range(shape.bays) for _, y in CORNERS)),
    )


def _gutters(unit: str) -> tuple[Column, ...]:
    """Return the gutters of rectangles, and how many leaders a line has, written at the first of them.

    Under a gutter that runs outward from there the words stand below the deck's edge.
    """
    low = "CHOOSE(1+[p_ledger@],[p_end@],[p_far@])/big_in*[p_use@]*(1-[p_drawn@])"
    return (
        _r("gut_x0", "gutter from", unit, "=INDEX(off_x,[p_ix@])/big_in*[p_use@]*(1-[p_drawn@])"),
        _r("gut_x1", "to", unit, "=[gut_x0]+INDEX(w_width,[p_ix@])/big_in*[p_use@]*(1-[p_drawn@])"),
        _r("gut_y0", "at", unit, "=" + low),
        _r("gut_y1", "and", unit, "=[gut_y0]"),
        _r("gut_leads", "leaders", "no", "=[g_leaders@]"),
        _r("gut_before", "leaders before", "no", "=[gut_before-]+[gut_leads-]"),
        _r("gut_first", "its first leader", "row", "=MIN([gut_before]+1,marks_most)"),
        _r("gut_xm", "words at", unit, "=IF([g_lead@]=1,INDEX(ld_x,[gut_first]),0-apart_in)"),
        _r("gut_below", "under the deck's edge", "0/1",
           "=IF(INDEX(run_uy,INDEX(ld_run,[gut_first]))>0,[g_lead@]*[p_drawn@],0)"),
        _r("gut_ym", "out from the ledger", unit,
           "=(CHOOSE(1+[gut_below],INDEX(ld_y,[gut_first]),INDEX(w_projection,[p_ix@])/big_in)"
           "+words_cm*cm_in/big_in)*[g_lead@]"),
        Column(key="gut_words", header="words", role="label",
               formula='=IF([g_lead@]=1,[g_leaders@]&CHOOSE(MIN(2,MAX(1,[g_leaders@]))," leader"," leaders"),"")'),
    )  # fmt: skip


def _posts(unit: str) -> tuple[Column, ...]:
    at = "(INDEX(off_x,MAX(1,[pw_at@]))+[pw_x@])/big_in"
    return (
        _r("post_x", "post at", unit, f"=IF([pw_named@]=1,{at},0-apart_in)"),
        _r("post_y", "out from the ledger", unit, "=[pw_y@]/big_in*[pw_named@]"),
    )


def _areas(starts: tuple[float, ...], unit: str) -> tuple[Column, ...]:
    return (
        _r("off_x", "area begins at", "in", "=MAX([off_x-]+[off_wide-],[off_from])"),
        _r("off_wide", "and takes", "in", "=([w_width@]+apart_in)*[w_use@]"),
        Column(key="off_from", header="begins at the least at", unit="in", values=starts, origin="kept"),
        work("name_x", "its name at", unit, "=([off_x]+[w_width@]*half)/big_in*[w_use@]-apart_in*(1-[w_use@])"),
        work("name_y", "out from the ledger", unit, "=0-name_cm*cm_in/big_in*[w_use@]"),
    )


def _members(shape: Shape, unit: str) -> tuple[Column, ...]:
    """Return the path that draws the members of rectangles: from the house wall to the rim and back."""
    rows, area = range(1, shape.members + 1), "MAX(1,INDEX(o_area,[pm_row]))"
    middle = f"(INDEX(off_x,{area})+(INDEX(o_start,[pm_row])+INDEX(o_reach,[pm_row]))*half)/big_in"
    far = f"=INDEX(w_projection,{area})/big_in*INDEX(o_end,[pm_row])"
    return (
        Column(
            key="pm_row", header="member", unit="row", values=tuple(row for row in rows for _ in range(MEMBER_POINTS))
        ),
        work("pm_x", "along the ledger", unit, f"=IF(INDEX(o_end,[pm_row])=1,{middle},[pm_x-])", "G4"),
        work("pm_y", "out from it", unit, ("=0*[pm_row]", far, "=0*[pm_row]") * shape.members),
    )


def _ribs(estimate: Estimate, shape: Shape, unit: str) -> tuple[Column, ...]:
    takes = estimate.takeoff.areas
    found = [
        (row + 1, (one.left_in + one.right_in) / 2, one.near_in, one.far_in)
        for row, take in zip(shape.rows("area", len(takes)), takes, strict=True)
        if take.drawing is not None
        for one in take.drawing.members
    ][: shape.ribs]

    def plan(at: int, key: str, header: str, unit: str) -> Column:
        values = tuple(row[at] for row in found) + (0.0 if at else 0,) * (shape.ribs - len(found))
        return Column(key=key, header=header, unit=unit, values=values, rule="G10", origin="plan")

    return (
        plan(0, "rib_area", "area", "row"),
        plan(1, "rib_mid", "middle", "in"),
        plan(2, "rib_near", "from", "in"),
        plan(3, "rib_far", "to", "in"),
        work("rib_use", "used", "0/1", "=IF([rib_area]>0,INDEX(w_drawn,MAX(1,[rib_area])),0)"),
        work("rib_x0", "on the plan", unit,
             "=IF([rib_use]=1,(INDEX(off_x,MAX(1,[rib_area]))+[rib_mid])/big_in,0-apart_in)"),
        work("rib_x1", "its other end", unit, "=[rib_x0]"),
        work("rib_y0", "out from it", unit, "=[rib_near]/big_in*[rib_use]"),
        work("rib_y1", "its other end", unit, "=[rib_far]/big_in*[rib_use]"),
    )  # fmt: skip


def _runs(shape: Shape, unit: str) -> tuple[Column, ...]:
    """Return the gutters of rectangles and the stretches along outlines: each a straight run of its line."""

    def either(plain: str, drawn: str) -> tuple[str, ...]:
        return (plain,) * shape.parts + (drawn,) * shape.stretches

    def of(plain: str, drawn: str) -> tuple[str, ...]:
        return either(f"=INDEX({plain},[run_ix])", f"=INDEX({drawn},[run_ix])")

    return (
        work("run_no", "no", "no", "=[run_no-]+1"),
        work("run_ix", "row of its table", "row", either("=[run_no]", "=[run_no]-parts_before")),
        work("run_len", "length", "in", of("g_width", "gs_len"), "W4"),
        work(
            "run_code",
            "line code",
            "",
            either("=INDEX(g_code,[run_ix])*IF([run_len]>0,1,0)", "=INDEX(gs_code,[run_ix])"),
            "W4",
        ),
        work("run_from", "begins, along its line, at", "in", "=ROUND(SUMIF([run_code^],[run_code],[run_len^])-[run_len],6)"),
        work("run_key", "key", "", "=[run_code]*1000+COUNTIF([run_code^],[run_code])"),
        *(work(f"run_{end}", "an end", unit, of(f"gut_{end}", f"gs_at_{end}")) for end in ("x0", "y0", "x1", "y1")),
        *(
            work(f"run_u{axis}", f"direction, {axis}", "share",
                 f"=IFERROR(([run_{axis}1]-[run_{axis}0])*big_in/[run_len],0)")
            for axis in "xy"
        ),
    )  # fmt: skip


def _place(prefix: str, at: str, code: str, use: str, unit: str) -> tuple[Column, ...]:
    """Return the run on which a place along a line lies, and where that is on the plan."""
    row, from_in = f"[{prefix}_run]", f"INDEX(run_from,[{prefix}_run])"
    return (
        work(f"{prefix}_nth", "run of its line", "no",
             f"=SUMPRODUCT((run_code={code})*(run_from<={at}))"),
        work(f"{prefix}_run", "that row", "row", f"=IFERROR(MATCH({code}*1000+[{prefix}_nth],run_key,0),1)"),
        *(
            work(f"{prefix}_{axis}", "on the plan" if axis == "x" else "out from the ledger", unit,
                 f"=IF({use}=1,INDEX(run_{axis}0,{row})+INDEX(run_u{axis},{row})*({at}-{from_in})/big_in,{off})")
            for axis, off in (("x", "0-apart_in"), ("y", "0"))
        ),
    )  # fmt: skip


def _leaders(unit: str) -> tuple[Column, ...]:
    """W3. Leaders of a line: at both ends and between, or in the middle of equal shares; one alone at the left end."""
    return (
        work("ld_no", "no", "no", "=[ld_no-]+1"),
        work("ld_use", "used", "0/1", "=IF([ld_no]<=SUM(g_leaders),1,0)"),
        work("ld_row", "its line", "row", '=MAX(1,COUNTIF(gut_before,"<"&[ld_no]))'),
        work("ld_of", "leader of its line", "no", "=[ld_no]-INDEX(gut_before,[ld_row])"),
        work("ld_code", "line code", "", "=INDEX(g_code,[ld_row])*[ld_use]"),
        work("ld_way", "one-way run", "in", "=INDEX(g_run,[ld_row])*12", "W3"),
        work("ld_at", "along its line", "in", "=ROUND(([ld_of]+[ld_of]-2+INDEX(g_mid,[ld_row]))*[ld_way],6)", "W3"),
        *_place("ld", "[ld_at]", "[ld_code]", "[ld_use]", unit),
    )


def _arrows(shape: Shape, unit: str) -> tuple[Column, ...]:
    """Return two arrows along each one-way run, beside the gutter, toward its leader: five points each."""
    leaders = arrows(shape) // len(_STEPS)
    tips = {"1": "0-[ar_half]", "2": "[ar_half]", "3": "[ar_half]-barb_in", "4": "[ar_half]", "5": "[ar_half]-barb_in"}
    sides = {"1": "0", "2": "0", "3": "barb_in*half", "4": "0", "5": "0-barb_in*half"}

    def point(axis: str, n: str) -> str:
        across = "0-[ar_uy]" if axis == "x" else "[ar_ux]"
        return f"=[ar_{axis}]+([ar_u{axis}]*[ar_way]*({tips[n]})+({across})*(beside_in+{sides[n]}))*[ar_use]"

    return (
        Column(key="ar_leader", header="leader", unit="row",
               values=tuple(one for one in range(1, leaders + 1) for _ in _STEPS)),
        Column(key="ar_step", header="of its one-way run", unit="share", values=_STEPS * leaders),
        work("ar_way", "way along the line", "sign", "=IF([ar_step]>0,0-1,1)"),
        work("ar_code", "line code", "", "=INDEX(ld_code,[ar_leader])"),
        work("ar_at", "along its line", "in",
             "=ROUND(INDEX(ld_at,[ar_leader])+[ar_step]*INDEX(ld_way,[ar_leader]),6)"),
        work("ar_use", "used", "0/1",
             "=IF(AND([ar_at]>0,[ar_at]<INDEX(g_len,INDEX(ld_row,[ar_leader]))),INDEX(ld_use,[ar_leader]),0)"),
        *_place("ar", "[ar_at]", "[ar_code]", "[ar_use]", unit),
        work("ar_half", "half of it", unit, "=MIN(arrow_in,INDEX(ld_way,[ar_leader])*arrow_share/big_in)"),
        work("ar_ux", "direction, x", "share", "=INDEX(run_ux,[ar_run])"),
        work("ar_uy", "direction, y", "share", "=INDEX(run_uy,[ar_run])"),
        *(work(f"ar_x{n}", f"point {n}", unit, point("x", n)) for n in tips),
        *(work(f"ar_y{n}", "out from it", unit, point("y", n)) for n in tips),
    )  # fmt: skip
