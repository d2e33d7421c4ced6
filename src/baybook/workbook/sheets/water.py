"""Where the water goes, as a person reads it: rain, capacities, reach, heights, posts; and the inputs they take."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from baybook.data import table
from baybook.estimate import Estimate
from baybook.job.fields import fields_of
from baybook.job.records import CAN_FAIL, CODE_KINDS, Acceptance, CodeRow, Post
from baybook.water.rain import suggestions
from baybook.workbook.declare import Block, Column, Scalar, Sheet, Table, Text
from baybook.workbook.shape import Shape
from baybook.workbook.sheets.inputs import Units, input_column
from baybook.workbook.sheets.listed import listed

__all__ = ["LISTS", "drainage_inputs_sheet", "figures", "rain_sheet", "water_checks_sheet"]

LISTS: Mapping[str, tuple[str, ...]] = {
    "list_post_where": ("inside", "outside"),
    "list_code_kind": CODE_KINDS,
    "list_can_fail": CAN_FAIL,
}
DEBRIS = (
    '="Debris decides more often than rain: a screen over each of "&SUM(p_outlets)&" bay outlets and "&SUM(g_leaders)'
    '&" gutter drops, and a clean-out at the foot of each leader. They are not in the quantities."'
)


# --------------------------------------------------------------------------------------------------------- inputs


def drainage_inputs_sheet(estimate: Estimate, shape: Shape) -> Sheet:
    """Return the input sheet of posts, the adopted code and accepted checks."""
    inputs = estimate.inputs
    units = Units(inputs.rates.units == "metric")

    def columns(prefix: str, record: type, rows: tuple[object, ...], lists: Mapping[str, str]) -> tuple[Column, ...]:
        return tuple(
            input_column(prefix, one, (getattr(row, one.attribute) for row in rows), units, lists.get(one.name, ""))
            for one in fields_of(record)
            if one.name != "job"
        )

    return Sheet(
        title="Posts and codes",
        purpose="Railing posts, capacities you type from the adopted code, and failed checks that a named person lets pass.",
        parts=(
            Table(
                key="posts",
                title="Posts",
                rows=shape.posts,
                columns=columns("pp", Post, inputs.posts, {"where": "list_post_where"}),
                note="x from the left end, y from the back of the ledger, to the post's centre.",
            ),
            Table(
                key="codes",
                title="The adopted code",
                rows=shape.codes,
                columns=columns("code", CodeRow, inputs.codes, {"kind": "list_code_kind"}),
                note="Where it has the size in use, it decides. Editions of one code differ by a factor of two.",
            ),
            Table(
                key="acceptances",
                title="Accepted checks",
                rows=shape.acceptances,
                columns=columns("acc", Acceptance, inputs.acceptances, {"rule": "list_can_fail"}),
                note="A failed check stands in the way of an offer until a named person accepts it with a reason.",
            ),
        ),
    )


# -------------------------------------------------------------------------------------------------------- results


def _r(key: str, header: str, unit: str, formula: str, rule: str = "", fmt: str = "", role: str = "result") -> Column:
    return Column(key=key, header=header, unit=unit, formula=formula, rule=rule, fmt=fmt, role=role)


def _if(use: str, value: str) -> str:
    return f'=IF({use}=1,{value},"")'


def _state(key: str, use: str, bad: str) -> Column:
    return _r(key, "state", "", _if(use, f'CHOOSE(1+{bad},"passed","FAILED")'), "W2", role="check")


def _ratio(key: str, use: str, flow: str, capacity: str) -> Column:
    return _r(key, "of it taken", "", _if(use, f'IFERROR({flow}/{capacity},"none carried")'), "W2", "0.0%")


def _rain(estimate: Estimate) -> Block:
    source = estimate.inputs.rain
    years = f"once in {source.years} years, of the point's file" if source.years else "no file of the point in the book"

    def shown(key: str, label: str, value: float | None, note: str) -> Scalar:
        words = "not in the book" if value is None else round(value, 4)
        return Scalar(key=key, label=label, unit="in/h", role="label", rule="W1", value=words, note=note, origin="kept")

    return Block(
        title="Rain",
        scalars=(
            Scalar(key="rain_used", label="design rain", unit="in/h", role="result", rule="W1", formula="=job_rainfall",
                   fmt="0.00##"),
            Scalar(key="rain_from", label="where it comes from", role="label", rule="W1", value=source.text, origin="kept"),
            shown("rain_hour", "rain of 60 minutes", source.hour_in_per_h, years),
            shown("rain_five", "rain of 5 minutes", source.five_minutes_in_per_h,
                  "about four times as much: a method is good with the duration it was made for"),
            Scalar(key="rain_wall", label="share of a wall that counts", unit="share", role="result", rule="W1", formula="=wall_share",
                   fmt="0.00", note="codes differ: see below"),
        ),
    )  # fmt: skip


def _bays(shape: Shape) -> Table:
    use = "[wp_on@]"
    columns = (
        _r("wq_part", "part", "", _if(use, "[p_name@]"), "G6", role="label"),
        _r("wq_fall", "fall", "in/ft", _if(use, "[p_fall@]"), "P3", "0.0000"),
        _r("wq_width", "narrowest bay", "in", _if(use, "[wp_narrow@]"), "W2", "0.000"),
        _r("wq_bay_q", "flow in it", "gpm", _if(use, "[wp_bay_q@]"), "W1", "0.000"),
        _r("wq_bay_gpm", "it carries", "gpm", _if(use, "[wp_bay_gpm@]"), "W2", "#,##0.0"),
        _ratio("wq_bay_ratio", use, "[wp_bay_q@]", "[wp_bay_gpm@]"),
        _state("wq_bay_state", use, "[wp_bay_bad@]"),
        _r("wq_out_q", "busiest outlet", "gpm", _if(use, "[wp_out_q@]"), "W1", "0.000"),
        _r("wq_out_gpm", "it drains", "gpm", _if(use, "outlet_gpm"), "W2", "#,##0.0"),
        _ratio("wq_out_ratio", use, "[wp_out_q@]", "outlet_gpm"),
        _state("wq_out_state", use, "[wp_out_bad@]"),
    )
    return Table(
        key="water_bays_shown",
        title="Bays and their outlets",
        rows=shape.parts,
        columns=listed("wp_on", columns),
        note="Each bay takes of the part's flow what its width is of all that drain (assumed).",
    )


def _gutters(shape: Shape) -> Table:
    use = "[g_lead@]"
    coded = "[wl_code_gutter@]"
    columns = (
        _r("wg_line", "gutter line", "", _if(use, "[g_name@]"), "W4", role="label"),
        _r("wg_flow", "flow of its longest run", "gpm", _if(use, "[wl_flow@]"), "W1", "#,##0.00"),
        _r("wg_decides", "what decides", "", _if(use, 'CHOOSE(gutter_way,"Manning","EN 12056-3","adopted code")'), "W2",
           role="label"),
        _r("wg_gpm", "carried", "gpm", _if(use, "[wl_gpm@]"), "W2", "#,##0.0"),
        _ratio("wg_ratio", use, "[wl_flow@]", "[wl_gpm@]"),
        _state("wg_state", use, "[wl_gut_bad@]"),
        _r("wg_m_gpm", "Manning", "gpm", _if(use, "gutter_manning"), "W2", "#,##0.0"),
        _r("wg_m_size", "least profile that passes", "", _if(use, "[wl_m_size@]"), "W2", role="label"),
        _r("wg_m_n", "or leaders", "no", _if(use, "[wl_m_n@]"), "W2", "0"),
        _r("wg_en_gpm", "EN 12056-3", "gpm", _if(use, "[wl_en@]"), "W2", "#,##0.0"),
        _r("wg_en_size", "least profile that passes", "", _if(use, "[wl_en_size@]"), "W2", role="label"),
        _r("wg_en_n", "or leaders", "no", _if(use, "[wl_en_n@]"), "W2", "0"),
        _r("wg_a_gpm", "adopted code", "gpm", f'=IF({coded}*{use}=1,code_gutter_gpm,"")', "W2", "#,##0.0"),
        _r("wg_a_size", "least size that passes", "", f'=IF({coded}*{use}=1,[wl_a_size@],"")', "W2", role="label"),
        _r("wg_a_n", "or leaders", "no", f'=IF({coded}*{use}=1,[wl_a_n@],"")', "W2", "0"),
    )  # fmt: skip
    return Table(key="water_gutters_shown", title="Gutters", rows=shape.parts, columns=listed("g_lead", columns))


def _leaders(shape: Shape) -> Table:
    use = "[g_lead@]"
    coded = "[wl_code_leader@]"
    columns = (
        _r("wd_line", "gutter line", "", _if(use, "[g_name@]"), "W4", role="label"),
        _r("wd_leaders", "leaders", "no", _if(use, "[g_leaders@]"), "W3", "0"),
        _r("wd_flow", "flow of the line", "gpm", _if(use, "[g_q@]"), "W1", "#,##0.00"),
        _r("wd_gpm", "all leaders carry", "gpm", _if(use, "leader_decides*[g_leaders@]"), "W2", "#,##0.0"),
        _ratio("wd_ratio", use, "[g_q@]", "(leader_decides*[g_leaders@])"),
        _state("wd_state", use, "[wl_lead_bad@]"),
        _r("wd_size", "least size, Wyly-Eaton", "", _if(use, "[wl_lead_size@]"), "W3", role="label"),
        _r("wd_n", "or leaders", "no", _if(use, "[wl_lead_n@]"), "W3", "0"),
        _r(
            "wd_a_gpm",
            "all, adopted code",
            "gpm",
            f'=IF({coded}*{use}=1,code_leader_gpm*[g_leaders@],"")',
            "W2",
            "#,##0.0",
        ),
        _r("wd_a_size", "least size that passes", "", f'=IF({coded}*{use}=1,[wl_code_size@],"")', "W2", role="label"),
        _r("wd_a_n", "or leaders", "no", f'=IF({coded}*{use}=1,[wl_code_n@],"")', "W2", "0"),
        _r("wd_drop_q", "busiest drop", "gpm", _if(use, "[wl_drop_q@]"), "W3", "#,##0.00"),
        _r("wd_drop_gpm", "it drains", "gpm", _if(use, "drop_gpm"), "W2", "#,##0.0"),
        _ratio("wd_drop_ratio", use, "[wl_drop_q@]", "drop_gpm"),
        _state("wd_drop_state", use, "[wl_drop_bad@]"),
        _r("wd_drop_size", "least size that passes", "", _if(use, "[wl_drop_size@]"), "W2", role="label"),
        _r("wd_drop_n", "or leaders", "no", _if(use, "[wl_drop_n@]"), "W2", "0"),
    )
    return Table(
        key="water_leaders_shown", title="Leaders and gutter drops", rows=shape.parts, columns=listed("g_lead", columns)
    )


def _reach(shape: Shape) -> Table:
    use = "[g_lead@]"

    def stands(key: str, header: str, column: str) -> tuple[Column, Column]:
        return (
            _r(key, header, "in", _if(use, f"[{column}@]"), "O3", "0.000"),
            _r(f"{key}_holds", "holds", "", _if(use, f'CHOOSE(1+[{column}_holds@],"no","yes")'), "O3", role="label"),
        )

    columns = (
        _r("wr_line", "gutter line", "", _if(use, "[g_name@]"), "W4", role="label"),
        _r("wr_run", "longest run", "ft", _if(use, "[g_run@]"), "W3", "#,##0.00"),
        _r("wr_high_stands", "nozzle in the gutter, high end", "in", _if(use, "[wl_nozzle@]"), "O3", "0.000"),
        *stands("wr_planned", "low end as planned", "wl_planned"),
        *stands("wr_one_way", "run one way", "wl_one_way"),
        *stands("wr_two_ways", "two ways, or to the middle", "wl_two_ways"),
        _r("wr_high", "gutter top, high end", "in", _if(use, "[wl_high@]"), "O3", "#,##0.00"),
        _r("wr_low", "gutter top, low end", "in", _if(use, "[wl_low@]"), "O3", "#,##0.00"),
        _r("wr_below", "height left below it", "in", _if(use, "[wl_below@]"), "T5", "#,##0.00"),
        _r("wr_joints", "expansion joints", "no", _if(use, "[wl_joints@]"), "T4", "0"),
        _r("wr_moves", "moves in heat and cold", "in", _if(use, "[wl_moves@]"), "T4", "0.00"),
    )
    return Table(
        key="water_reach_shown",
        title="Reach, heights, movement",
        rows=shape.parts,
        columns=listed("g_lead", columns),
        note="Heights are above grade.",
    )


def _posts(shape: Shape) -> Table:
    use = "[pw_inside@]"
    columns = (
        _r("wx_part", "part", "", _if(use, "INDEX(p_name,[pw_part@])"), "O2", role="label"),
        _r("wx_x", "post at x", "in", _if(use, "[pw_x@]"), "O2", "#,##0.00"),
        _r("wx_y", "y", "in", _if(use, "[pw_y@]"), "O2", "#,##0.00"),
        _r(
            "wx_height",
            "height left for blocking",
            "in",
            _if("[pw_in_bay@]*[pw_inside@]", "[pw_height@]"),
            "O2",
            "0.000",
        ),
        _r("wx_state", "state", "", _if(use, 'CHOOSE(1+[pw_end@],"clear of the outlet","FAILED")'), "O2", role="check"),
    )
    return Table(
        key="water_posts_shown", title="Posts inside the frame", rows=shape.posts, columns=listed("pw_inside", columns)
    )


def _methods() -> Table:
    code = '=IF({0}>0,INDEX(cw_edition,MAX(1,{0})),"none typed")'
    rows = (
        ("bay as a V, brim-full", "Manning, uniform flow", "Manning's equation, 1.486 in US units; n from the rates"),
        ("bay outlet, gutter drop", "weir and orifice, the smaller", "HEC-22, coefficients from memory"),
        ("gutter that falls", "Manning, freeboard kept", "profiles idealised, from memory: measure the gutter"),
        (
            "gutter, as if level",
            "EN 12056-3 eaves gutter",
            "2000, constants from memory; K-style as a rectangle of its section",
        ),
        ("gutter, adopted code", "as you typed it", code.format("code_gutter_row")),
        ("leaders", "Wyly-Eaton, 7/24 full, unless given", "National Standard Plumbing Code 2006, Table 13.6.1"),
        ("leaders, adopted code", "as you typed it", code.format("code_leader_row")),
    )
    return Table(
        key="water_methods",
        title="Methods and editions",
        rows=len(rows),
        columns=(
            Column(key="method_what", header="what", role="label", values=tuple(row[0] for row in rows)),
            Column(key="method_name", header="method", role="label", values=tuple(row[1] for row in rows)),
            Column(key="method_edition", header="source and edition", role="label",
                   formula=tuple(row[2] if row[2].startswith("=") else f'="{row[2]}"' for row in rows)),
        ),
    )  # fmt: skip


def _published() -> tuple[Table, Table]:
    walls, cities = table("wall_share"), suggestions()

    def label(key: str, header: str, values: Iterator[object], unit: str = "", fmt: str = "") -> Column:
        return Column(key=key, header=header, unit=unit, role="label", values=tuple(values), fmt=fmt)

    shares = Table(
        key="wall_shares",
        title="A wall's share by code",
        rows=len(walls),
        columns=(
            label("share_code", "code", (row["code"] for row in walls)),
            label("share_value", "share", (float(row["value"]) for row in walls), fmt="0.00"),
            label("share_of", "of", (row["unit"].removeprefix("share of ") for row in walls)),
            label("share_place", "clause", (row["clause"] for row in walls)),
            label("share_basis", "basis", (row["basis"] for row in walls)),
        ),
    )
    rains = Table(
        key="city_rains",
        title="Published rain of cities: suggestions, never used unless you type one",
        rows=len(cities),
        columns=(
            label("city_name", "city", (f"{row.place} {row.state}" for row in cities)),
            label("city_rain", "rain", (row.rain_in_per_h for row in cities), "in/h", "0.0"),
            label("city_minutes", "duration", (row.duration_min for row in cities), "min"),
            label("city_years", "once in", (row.ari_years for row in cities), "years"),
            label("city_basis", "source", (row.basis for row in cities)),
        ),
    )
    return shares, rains


def rain_sheet(estimate: Estimate) -> Sheet:
    """Return the rain, where it comes from, and the methods and published figures beside it."""
    return Sheet(
        title="Rain and methods",
        purpose="The design rain and where it comes from; by what each capacity is worked out; figures of codes to compare.",
        parts=(_rain(estimate), _methods(), *_published()),
        landscape=False,
    )


def water_checks_sheet(shape: Shape) -> Sheet:
    """Return the water checks: what comes and what is carried, by which method, and what would pass."""
    return Sheet(
        title="Water checks",
        purpose="Flow against capacity, each by a named method whose edition the sheet Rain and methods names; editions of "
        "one code differ by a factor of two. The adopted code governs: check with your local building department.",
        parts=(_bays(shape), _gutters(shape), _leaders(shape), _reach(shape), _posts(shape), Text(lines=(DEBRIS,))),
    )


# ------------------------------------------------------------------------------------------ what the engine says


@dataclass(frozen=True, slots=True)
class _Keys:
    """Where a check row stands in the workings; a capacity that is the same for all lines stands in a single cell."""

    flow: str
    capacity: str
    alone: bool
    leaders: str = ""
    bad: str = ""


_BY_ROW: Mapping[tuple[str, str], _Keys] = {
    ("bay", ""): _Keys("wp_bay_q", "wp_bay_gpm", alone=False, bad="wp_bay_bad"),
    ("bay outlet", ""): _Keys("wp_out_q", "outlet_gpm", alone=True, bad="wp_out_bad"),
    ("gutter", "Manning"): _Keys("wl_flow", "gutter_manning", alone=True, leaders="wl_m_n", bad="wl_gut_bad"),
    ("gutter", "EN"): _Keys("wl_flow", "wl_en", alone=False, leaders="wl_en_n", bad="wl_gut_bad"),
    ("gutter", "adopted"): _Keys("wl_flow", "code_gutter_gpm", alone=True, leaders="wl_a_n", bad="wl_gut_bad"),
    ("gutter drop", ""): _Keys("wl_drop_q", "drop_gpm", alone=True, leaders="wl_drop_n", bad="wl_drop_bad"),
    ("leaders", ""): _Keys("g_q", "leader_gpm", alone=True, leaders="wl_lead_n", bad="wl_lead_bad"),
    ("leaders", "adopted"): _Keys("g_q", "code_leader_gpm", alone=True, leaders="wl_code_n", bad="wl_lead_bad"),
}
_WAYS = {"as planned": "wl_planned", "one way": "wl_one_way", "two ways": "wl_two_ways", "to the middle": "wl_two_ways"}


def figures(estimate: Estimate) -> Iterator[tuple[str, int, float]]:
    """Yield (key, row, what the engine says) of the workings of the water checks."""
    water, takeoff = estimate.water, estimate.takeoff
    parts = {part.name: at for at, part in enumerate(takeoff.parts)}
    lines = {line.name: (parts[line.parts[0]], line.leaders) for line in takeoff.lines}
    for row in water.rows:
        method = row.method.split(" ", maxsplit=1)[0].rstrip(",")
        keys = _BY_ROW.get((row.what, method)) or _BY_ROW[row.what, ""]
        at, leaders = lines[row.name] if row.what in {"gutter", "gutter drop", "leaders"} else (parts[row.name], 1)
        yield keys.flow, at, row.flow_gpm
        yield keys.capacity, 0 if keys.alone else at, row.capacity_gpm / (leaders if row.what == "leaders" else 1)
        if keys.leaders:
            yield keys.leaders, at, row.leaders
        if row.governs:
            yield keys.bad, at, not row.passes
    for facts in water.lines:
        at, _ = lines[facts.line]
        yield "wl_high", at, facts.top_high_in
        yield "wl_low", at, facts.top_low_in
        yield "wl_below", at, facts.under_low_in
        yield "wl_joints", at, facts.joints
        yield "wl_moves", at, facts.movement_in
    for reach in water.reaches:
        yield _WAYS[reach.way], lines[reach.line][0], reach.nozzle_low_in
    yield "posts_at_outlets", 0, sum(row.at_outlet for row in water.posts)
    yield "posts_low", 0, sum(row.low for row in water.posts)
