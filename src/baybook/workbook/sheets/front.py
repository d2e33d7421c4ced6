"""Start, quote, checks, sources and log: the sheets that speak of the others."""

from __future__ import annotations

import datetime as dt

from baybook import __version__
from baybook.data import table
from baybook.estimate import Estimate
from baybook.job.fields import Field, Kind, fields_of
from baybook.job.rates import Rates
from baybook.offering import accepted
from baybook.workbook.declare import Block, Column, Scalar, Sheet, Table, Text

__all__ = ["checks_sheet", "log_sheet", "sources_list_sheet", "start_sheet"]

REFUSED, FAILED, LOOK = 3, 2, 1

CHECKS: tuple[tuple[str, str, int, str], ...] = (
    ("inputs can be read, are words of their lists and within limits: see Work inputs", "=SUM(ic_bad)", REFUSED, ""),
    ("no area, liner record or override stands twice", "=SUM(w_twice)+SUM(m_twice)+SUM(h_twice)", REFUSED, ""),
    ("areas: lengths are numbers, the joist is known", "=SUM(w_untyped)", REFUSED, ""),
    ("areas: the liner record is known, and named where there are several",
     '=SUMPRODUCT((w_liner=0)*w_use)+IF(liner_records>1,SUMPRODUCT((a_liner="")*w_use),0)', REFUSED, ""),
    ("framing rows name a known area", '=SUMPRODUCT((f_area<>"")*(f_at=0))', REFUSED, ""),
    ("framing rows have what they need and lie in their area", "=SUM(f_lacks)+SUM(f_outside)", REFUSED, "G3"),
    ("offers fit their item: unit, liner record, pack, width, days, currency",
     "=SUM(x_other_unit)+SUM(x_odd_record)+SUM(x_odd_size)+SUM(x_odd_days)+SUM(x_odd_code)", REFUSED, "M1"),
    ("overrides and offcuts are such as can be", "=SUM(h_odd)+SUM(r_odd)", REFUSED, ""),
    ("a shared line is not called as an area with a line of its own", "=SUM(w_line_own)", REFUSED, "W4"),
    ("offers: price, pack and length are numbers", "=SUM(x_untyped)", REFUSED, "M1"),
    ("offers name a known item", '=SUMPRODUCT((v_item<>"")*(x_item=0))', REFUSED, ""),
    ("overrides name a line", "=SUM(h_lost)", REFUSED, ""),
    ("the table of areas is not full", "=MAX(0,areas_used-COUNT(w_no))", REFUSED, ""),
    ("the table of members holds them all", "=MAX(0,members_listed-COUNT(c_no))", REFUSED, ""),
    ("the table of parts holds them all", "=MAX(0,parts_listed-COUNT(p_no))", REFUSED, ""),
    ("the table of bays holds them all", "=MAX(0,bays_plain-bays_before)", REFUSED, ""),
    ("drawn areas are as they were drawn: refresh the workbook where one is not", "=SUM(oa_off)", REFUSED, "G10"),
    ("what was measured is a number", "=SUM(sg_untyped)", REFUSED, "G10"),
    ("the table of stock lengths holds them all", "=SUM(t_too_many)", REFUSED, ""),
    ("every area has a bay", "=SUMPRODUCT((w_gaps=0)*w_use)", REFUSED, "G4"),
    ("every part has a clear run", "=SUM(p_no_run)", REFUSED, "P1"),
    ("spacing within what the liner is made for", "=SUM(chk_wide_apart)", REFUSED, "P4"),
    ("stock is longer than the lap of a splice", "=SUMPRODUCT((p_spliced=1)*(p_stock<=splice_lap_in))", REFUSED, "P6"),
    ("numbers of leaders and pieces are such as can be",
     "=MAX(0,MAX(g_leaders)-most_leaders)+MAX(0,MAX(MAX(p_pieces),MAX(w_apron_n),MAX(g_whole),MAX(d_whole))-most_pieces)",
     REFUSED, ""),
    ("no splice where splices are not allowed", '=IF(splices="no",SUM(p_spliced),0)', REFUSED, "P6"),
    ("the nozzle reaches into the gutter", "=SUM(g_short)", REFUSED, "O3"),
    ("areas on a shared line stand evenly enough", "=SUM(g_steep)", REFUSED, "W4"),
    ("areas on a shared line agree where leaders stand", "=SUM(g_unlike)", REFUSED, "W3"),
    ("a leader fits below every line", "=SUM(g_no_leader)", REFUSED, "T5"),
    ("every needed item is on offer", "=SUM(i_missing)", REFUSED, "M6"),
    ("every piece fits a stock length", "=SUM(z_unfit)", REFUSED, "P7"),
    ("the design rain is more than nothing", "=IF(SUM(job_rainfall)>0,0,1)", REFUSED, "W1"),
    ("gutter profile and material are known",
     "=IF(AND(ISNUMBER(MATCH(gutter_profile,prof_name,0)),ISNUMBER(MATCH(gutter_material,mat_name,0))),0,1)", REFUSED, "W2"),
    ("the adopted code: one value a row, one row a size and fall, one edition", "=SUM(cw_wrong)", REFUSED, "W2"),
    ("posts stand in a known area", "=SUM(pw_lost)", REFUSED, "O2"),
    ("acceptances name a rule, a person and a reason", "=SUM(aw_wrong)", REFUSED, ""),
    ("payments and options: share, amount or job, as their kind asks", "=SUM(qp_wrong)", REFUSED, ""),
    ("a margin is under 100 %", '=IF(AND(job_profit_basis="margin",job_profit>=1),1,0)', REFUSED, "M3"),
    ("members and bays agree", "=ABS(SUM(o_end)-SUM(o_bay)+SUM(w_drawn)-areas_used)", REFUSED, "G4"),
    ("orders and offcuts add up to the goods", "=ABS(ROUND(SUM(os_cost)+SUM(t_offcuts)-sum_goods,6))", REFUSED, "M1"),
    ("no dropped beam stands where the gutter goes", "=SUM(f_in_the_way)", FAILED, "G9"),
    ("the nozzle stays clear of the gutter's bottom", "=SUM(g_touch)", FAILED, "O3"),
    ("nothing takes more water than it carries",
     "=SUM(wp_bay_bad)+SUM(wp_out_bad)+SUM(wl_gut_bad)+SUM(wl_drop_bad)+SUM(wl_lead_bad)", FAILED, "W2"),
    ("no post's blocking stands where an outlet goes", "=posts_at_outlets", FAILED, "O2"),
    ("every bay has fall enough", "=SUM(p_slack)", LOOK, "P3"),
    ("no panel is spliced", "=SUM(p_spliced)", LOOK, "P6"),
    ("no outlet is cut narrower", "=SUM(p_narrow_outlets)", LOOK, "O1"),
    ("no gutter needs an expansion joint", "=SUM(g_long)", LOOK, "T4"),
    ("hangers are close enough", "=SUM(g_wide)", LOOK, "T4"),
    ("blocking is as high as usual", "=SUM(f_low)", LOOK, "O2"),
    ("blocking of posts is as high as usual", "=posts_low", LOOK, "O2"),
    ("posts inside are as many as are counted", "=SUM(wa_odd)", LOOK, "T6"),
    ("no leader between two others takes too much", "=SUM(wl_lead_busy)", LOOK, "W3"),
    ("the gutter is as deep as its rate says", "=IF(ROUND(gutter_real_depth-gutter_depth_in,6)=0,0,1)", LOOK, "W2"),
    ("the adopted code has the sizes in use", "=code_lacks", LOOK, "W2"),
    ("the height asked for is left below", "=heights_short", LOOK, "T5"),
    ("every acceptance is of a failed check", "=SUM(aw_idle)", LOOK, ""),
    ("payments before the last leave something of the price", "=SUM(qp_over)", LOOK, ""),
    ("every area has a page of the site sheet", "=areas_used-SUM(site_use)", LOOK, ""),
    ("cut plans are current", "=plans_stale", LOOK, "P7"),
)  # fmt: skip

CAUTIONS = (
    (
        "Check with your local building department / a licensed electrician; the adopted code governs. This workbook gives no "
        "structural advice and promises no dry space: most rain is carried off."
    ),
    (
        "Electrical (NEC Article 100, 410.10(A), 210.8(A)(3) and (F), 406.9): the space is at best a damp location, and a wet one "
        "if wind-driven rain or a leak can reach it; luminaires and fans marked for damp or wet locations, GFCI protection, "
        "weather-resistant receptacles; a licensed electrician decides."
    ),
    (
        "Structure: joist, ledger and beam sizes are the designer's; the ledger's flashing (IRC R507.2.4, R703.4, numbering since "
        "2015) must drain on to the liner, never behind it. Extra weight under the deck (ceilings, ice in a gutter) is for the "
        "designer too."
    ),
    (
        "Water: discharge away from the house (IRC R401.3: 6 in of fall in the first 10 ft; R801.3: 5 ft in expansive soil), never "
        "to the sanitary sewer, not over the neighbour's line."
    ),
    (
        "Vents: a dryer, bath or combustion vent that ends under the deck must be carried outside it and stay accessible "
        "(IRC M1502.3)."
    ),
    "Moisture: let wet framing dry before closing it in; keep a vent path.",
    "Freeze: everything falls and drains empty; heat cable only if listed; hangers at 18 in where ice and snow last.",
    (
        "A liner over open joists looks like a floor and is none: never step on it; plank or barricade it until it is decked "
        "(29 CFR 1926.502(i), value from memory); a wet liner is slippery."
    ),
    "Hidden work: the framing inspection (hangers, ledger bolts, hold-downs) comes before the liner covers it.",
    (
        "Metals and plastics: hot-dip or stainless staples and screws in treated lumber; aluminium hangers kept apart from "
        "copper-treated lumber; tape and sealant compatible with the liner (no bitumen on PVC or EPDM)."
    ),
    (
        "Falls and cuts: 6 ft fall protection (29 CFR 1926.501), ladder 4:1 and 3 ft above the landing (1926.1053); knives and "
        "staplers; two people carry and hold a long panel."
    ),
    (
        "Always: the liner maker's printed instructions and warranty terms come before this program's defaults; seam tape goes on "
        "liner only, never on bare wood; a water test before the decking goes down."
    ),
)

METHOD = (
    "Inputs (yellow) stand on sheets of their own; workings and results follow; checks stand at the top of every sheet.",
    (
        "Followed: the ICAEW's Twenty Principles for Good Spreadsheet Practice and Financial Modelling Code, and the FAST "
        "Standard, where they agree: inputs, workings, outputs apart; one formula down a range; no hidden cells; no hard "
        "numbers in formulas. Where they differ: whole columns have names (ICAEW allows clear ones, FAST does not), and "
        "one formula down a range holds for each block of a table."
    ),
    "Before every rounding up or down a value is rounded to six places; money is rounded to eight, then to two.",
    "Only the cut plan's optimum is not a formula. If an input moves after it was made, a safe count is priced and said.",
)


def _wide_apart() -> Column:
    return Column(
        key="chk_wide_apart",
        header="wider apart than the liner is made for",
        unit="0/1",
        rule="P4",
        formula="=IF(ROUND([chk_spacing],6)>ROUND([chk_made_for],6),INDEX(w_use,[chk_area]),0)",
    )


def checks_sheet(areas: int) -> Sheet:
    """Return the checks, their master, and which count against the price."""
    rows = (
        Column(key="chk_text", header="check", role="label", values=tuple(row[0] for row in CHECKS)),
        Column(key="chk_rule", header="rule", role="label", values=tuple(row[3] for row in CHECKS)),
        Column(key="chk_count", header="found", unit="no", formula=tuple(row[1] for row in CHECKS), fmt="#,##0.##"),
        Column(key="chk_level", header="weight", unit="3 refused, 2 failed, 1 look", values=tuple(row[2] for row in CHECKS)),
        Column(key="chk_bad", header="not passed", unit="0/1", role="check", formula="=IFERROR(IF([chk_count]=0,0,1),1)"),
        Column(key="chk_word", header="state", role="check",
               formula='=CHOOSE(1+[chk_bad]*[chk_level],"passed","look at it","FAILED","REFUSED")'),
    )  # fmt: skip
    spacing = (
        Column(key="chk_area", header="no", unit="no", formula="=[chk_area-]+1"),
        Column(key="chk_name", header="area", role="label", formula="=INDEX(w_name,[chk_area])"),
        Column(key="chk_spacing", header="joists on centre", unit="in", rule="P4", formula="=INDEX(w_spacing,[chk_area])"),
        Column(key="chk_made_for", header="liner is made for", unit="in", rule="P4",
               formula="=INDEX(l_made_for_in,INDEX(w_lix,[chk_area]))*INDEX(w_use,[chk_area])"),
        _wide_apart(),
    )  # fmt: skip

    def s(key: str, label: str, formula: str) -> Scalar:
        return Scalar(key=key, label=label, unit="no", formula=formula, role="check")

    master = (
        s("errors_found", "refused", "=SUMIF(chk_level,2+1,chk_bad)"),
        s("failed_found", "failed", "=SUMIF(chk_level,2,chk_bad)"),
        s("looks_found", "to look at", "=SUMIF(chk_level,1,chk_bad)"),
        Scalar(key="liner_records", label="liner records filled in", unit="no", formula="=COUNT(l_made_for_in)"),
        Scalar(
            key="master_text",
            label="state",
            role="check",
            formula='="Checks: "&errors_found&" refused, "&failed_found&" failed, "&looks_found&" to look at"',
        ),
    )
    return Sheet(
        title="Checks",
        purpose="What was checked. Anything refused blocks the price; anything failed stands in the way of an offer.",
        parts=(
            Block(title="Together", scalars=master),
            Table(key="checks", title="Checks", rows=len(CHECKS), columns=rows),
            Table(key="spacing_checks", title="Spacing", rows=areas, columns=spacing),
        ),
    )


def start_sheet(estimate: Estimate) -> Sheet:
    """Return the first sheet: what this is, its state, the cautions."""
    job = estimate.inputs.job

    def s(key: str, label: str, formula: str, unit: str = "", fmt: str = "", role: str = "result") -> Scalar:
        return Scalar(key=key, label=label, unit=unit, formula=formula, fmt=fmt, role=role)

    return Sheet(
        title="Start",
        one_page=True,
        purpose="Estimate for a liner, bay outlets, gutter and leaders under a raised deck.",
        parts=(
            Block(
                title="This job",
                scalars=(
                    s("start_job", "job", '=job_job&""', role="label"),
                    s("start_customer", "customer", '=job_customer&""', role="label"),
                    s("start_site", "site", '=job_site&""', role="label"),
                    s("start_status", "status", '=job_status&""', role="label"),
                    s("start_bays", "bays", "=bays_listed", "no", "0"),
                    s("start_flow", "flow", "=flow_gpm", "gpm", "#,##0.00"),
                    s("start_price", "price, tax included", "=quote_price", job.currency, "#,##0.00"),
                    s("start_plan", "cut plan", "=plan_words", role="check"),
                    s("start_checks", "checks", "=master_text", role="check"),
                ),
            ),
            Text(lines=("How to use it",), style="title"),
            Text(
                lines=(
                    "Yellow cells on Job, Areas, Framing, Liners, Rates, Prices, Extras, Posts and codes, Measured, Offer are yours; all else follows.",
                    "Bays, Cuts, Water, Quantities, Estimate, Orders and Quote are results. Sheets called Work show how.",
                    "Decisions and Framer are for the day before framing; Site and Labels for the days after it.",
                    "Read Checks before you send anything.",
                )
            ),
            Text(lines=("Cautions",), style="title"),
            Text(lines=CAUTIONS, style="caution"),
        ),
        landscape=False,
    )


def _shown(one: Field) -> str:
    """Return the formula that shows a rate: words as text, numbers as numbers, an empty one as nothing."""
    return f'={one.name}&""' if one.kind in {Kind.WORD, Kind.SIZE} else f'=IF({one.name}="","",{one.name})'


RULE_WORDS = {
    "G1": "end joists, their outer faces at the ends of the width", "G2": "field joists by layout and spacing",
    "G3": "added members, dividers and borders", "G4": "strips closer than the pack gap are one member; the gaps are bays",
    "G5": "a narrow bay is capped; every other bay has one panel and one outlet", "G6": "a flush beam splits bays into parts",
    "G8": "gutter on the ledger side: high end at the rim, apron, discharge", "G9": "room for the gutter beside a dropped beam",
    "G10": "an area by its corners, or measured: each bay with its own run, low end and catchment",
    "G11": "openings: water falls back from them or to a gutter at the header; trimmers and headers are the designer's",
    "G12": "the gutter follows the low edges; corner pieces where it turns, joiners where it hardly does",
    "P1": "clear run between ledger and rim", "P2": "cut length up to the step", "P3": "drape and fall",
    "P4": "width needed and stock width", "P5": "cap strips side by side", "P6": "splices", "P7": "cut plan at least cost",
    "O1": "outlet trim, extension, narrower outlets", "O2": "height left for blocking", "O3": "nozzle reach and gutter fall",
    "W1": "flow", "W2": "capacity by a named method and edition", "W3": "leaders of a line", "W4": "shared gutter lines",
    "T1": "tape along members", "T2": "sealant bead", "T3": "staples", "T4": "gutter pieces, joiners, hangers",
    "T5": "leader length, elbows, straps", "T6": "posts that pierce the liner", "T7": "waste before packs",
    "M1": "whole packs", "M2": "labour", "M3": "overhead, contingency, profit, least price", "M4": "tax and rounding",
    "M5": "the cheapest offer for the packs needed", "M6": "prices in force on the day",
}  # fmt: skip


def sources_list_sheet() -> Sheet:
    """Return assumptions and sources: method, rules, every rate with its basis, published tables with their edition."""
    declared = [one for one in fields_of(Rates) if one.rule]
    published = [
        (name, row)
        for name in (
            "dressed_lumber",
            "dca6_spans",
            "wall_share",
            "roughness",
            "gutter_profiles",
            "thermal_movement",
            "rain_cities",
        )
        for row in table(name)[:1]
    ]

    def label(key: str, header: str, values: tuple[object, ...], unit: str = "") -> Column:
        return Column(key=key, header=header, role="label", values=values, unit=unit)

    rule_rows = (
        label("src_rule", "rule", tuple(RULE_WORDS)),
        label("src_words", "what it settles", tuple(RULE_WORDS.values())),
    )
    rate_rows = (
        label("src_rate", "rate", tuple(one.name.replace("_", " ") for one in declared)),
        label("src_of", "rule", tuple(one.rule for one in declared)),
        Column(
            key="src_value",
            header="value here",
            formula=tuple(_shown(one) for one in declared),
            role="result",
            fmt="General",
        ),
        label("src_unit", "unit", tuple(one.unit for one in declared)),
        label("src_basis", "basis", tuple(one.basis or "assumed: confirm it" for one in declared)),
        label("src_help", "what it is", tuple(one.help for one in declared)),
    )
    sources = (
        label("pub_table", "table", tuple(name.replace("_", " ") for name, _ in published)),
        label("pub_source", "source", tuple(row.get("source", "") for _, row in published)),
        label("pub_edition", "edition", tuple(row.get("edition", "") for _, row in published)),
        label(
            "pub_place",
            "place",
            tuple((row.get("clause", "") + " " + row.get("page", "")).strip() for _, row in published),
        ),
        label("pub_basis", "basis", tuple(row.get("basis", "") for _, row in published)),
    )
    return Sheet(
        title="Sources",
        purpose="Assumptions and sources: the method, each rule, each rate with its value and basis, published tables.",
        parts=(
            Text(lines=METHOD),
            Table(key="rules_list", title="Rules", rows=len(RULE_WORDS), columns=rule_rows),
            Table(key="rates_list", title="Rates in force", rows=len(declared), columns=rate_rows),
            Table(key="published", title="Published tables", rows=len(published), columns=sources),
        ),
    )


def log_sheet(estimate: Estimate, when: dt.datetime) -> Sheet:
    """Return the log: when the workbook was made, by which version, at what price."""
    rows = 80
    let_pass = [row for _, row in accepted(estimate.inputs, estimate.findings)]
    days = (when.strftime("%Y-%m-%d %H:%M"), *(row.on.isoformat() for row in let_pass))
    what = ("built", *(f"{row.rule} at {row.where} accepted by {row.person}" for row in let_pass))
    columns = (
        Column(key="log_when", header="when", role="label", values=days, origin="kept"),
        Column(key="log_version", header="version", role="label", values=(f"baybook {__version__}",), origin="kept"),
        Column(key="log_what", header="what", role="label", values=what, origin="kept"),
        Column(key="log_before", header="price before", unit=estimate.inputs.job.currency, role="money", fmt="#,##0.00",
               values=(), origin="kept"),
        Column(key="log_price", header="price", unit=estimate.inputs.job.currency, role="money", fmt="#,##0.00",
               values=(float(estimate.totals.price),), origin="kept"),
        Column(key="log_note", header="note", role="input", values=("", *(row.reason for row in let_pass))),
    )  # fmt: skip
    return Sheet(
        title="Log",
        purpose="When this workbook was made and what moved since.",
        parts=(Table(key="log", title="Log", rows=rows, columns=columns),),
    )
