"""What goes to the site: a page of goods to load, a page an area, and labels for the pieces (W1, O1, O2, P2, P7)."""

from __future__ import annotations

from dataclasses import dataclass

from baybook.estimate import Estimate
from baybook.units import show_length
from baybook.workbook.declare import Block, Column, Scalar, Sheet, Table
from baybook.workbook.shape import Shape
from baybook.workbook.sheets.columns import work
from baybook.workbook.sheets.results import said
from baybook.workbook.sheets.stock import line_rows
from baybook.workbook.sheets.words import day_text, gathered, hundredths_text, without_feet

__all__ = ["LABEL_ROWS", "labels_sheet", "site_sheet", "site_work_sheet"]

LINE = 19.0  # points, a line of the page's type
GOODS = 30  # rows of the page of goods
CUT_LINES = 7
CUTS_FIT = 440  # characters on so many lines
LABEL_ROWS = 7  # rows of labels a page, two a row
LABEL_HEIGHT = 94.0
BLANK = "__________"
BOX = "[  ]"
ORDER = (
    "Let the stock lie unrolled before use. Never step on the liner.",
    "The maker's instructions come first. Seam tape on liner only, not on wood.",
)
PHOTOS = "Photos: hangers, bolts, hold-downs first; outlets; laps; gutter; both tests."


def _line_words() -> tuple[Column, ...]:
    """Return each gutter line's water test."""
    return (
        work("sl_use", "is a line", "0/1", "=[g_lead@]"),
        work("sl_flow", "its flow", "hundredths", "=ROUND(ROUND([g_q@]*site_flow_unit*100,6),0)", "W1"),
        work("sl_hoses", "hoses for its test", "no", "=ROUNDUP(ROUND([g_q@]/hose_gpm,6),0)*[sl_use]", "W1"),
        Column(
            key="sl_text",
            header="its test",
            formula=f'="gutter "&[g_name@]&": "&{hundredths_text("[sl_flow]")}&" "&site_flow_word&", "&[sl_hoses]'
            '&CHOOSE(MAX(1,MIN(2,[sl_hoses]))," hose"," hoses")',
        ),
        Column(
            key="sl_gutter",
            header="where it hangs",
            formula='="gutter "&[g_name@]&": top "&[fl_top_said@]&" above grade at the high end, "&[fl_end_said@]'
            '&" at the low end, leaders: "&[g_leaders@]&CHOOSE(1+MIN(1,[g_joiners@]),"",", joiners: "&[g_joiners@])',
        ),
    )


def _bay_words() -> tuple[Column, ...]:
    return (
        work("sb_tight", "narrow outlet", "0/1", "=[b_tight@]*[b_use@]"),
        work("sb_cap", "capped", "0/1", "=[b_use@]*(1-[b_drains@])"),
        Column(key="sb_label", header="bay", formula='=[b_label@]&""'),
    )


def _cut_words() -> tuple[Column, ...]:
    """Return the bays sorted by area, strung together under the length they have in common."""
    return (
        work("sc_no", "no", "no", "=[sc_no-]+1"),
        work("sc_lane", "area, then part", "row", "=IF([b_use@]=1,[b_area@],spare_lane)*1000+[b_part@]"),
        work("sc_key", "sort key", "", "=[sc_lane]*1000*1000+[sc_no]"),
        work("sc_sorted", "sorted key", "", "=SMALL(sc_key,[sc_no])"),
        work("sc_row", "row", "row", "=MOD([sc_sorted],1000*1000)"),
        work("sc_area", "area", "row", "=INT(ROUND([sc_sorted]/(1000*1000*1000),6))"),
        work("sc_same", "same area as above", "0/1", "=IF([sc_area]=[sc_area-],1,0)*IF([sc_area]<spare_lane,1,0)"),
        work("sc_cut", "cut length", "in", "=INDEX(b_cut,[sc_row])", "P2"),
        work("sc_like", "as long as the one above", "0/1", "=IF([sc_cut]=[sc_cut-],[sc_same],0)"),
        Column(
            key="sc_bit",
            header="bay",
            formula='=IF([sc_area]<spare_lane,CHOOSE(1+[sc_like],CHOOSE(1+[sc_same],"",";  ")&INDEX(bay_said,INDEX(b_use_sofar,[sc_row]))'
            '&": ",", ")&INDEX(b_label,[sc_row]),"")',
        ),
        Column(key="sc_text", header="said so far", opening="", formula='=IF([sc_same]=1,[sc_text-],"")&[sc_bit]'),
    )


def _blocking_words() -> tuple[Column, ...]:
    return (
        work("sf_left16", "height left", "1/16 in", "=INT(ROUND(MAX(0,[f_rip@])*per_inch,6))*[f_block@]", "O2"),
        work("sf_use", "is blocking", "0/1", "=[f_block@]"),
        Column(key="sf_said", header="as said", formula=said("[sf_left16]", "[sf_use]")),
        Column(key="sf_short", header="as said on site", formula=without_feet("[sf_said]")),
        Column(key="sf_text", header="blocking", formula='="at "&[fr_y_at_said@]&" at most "&[sf_short]&" high"'),
    )


def _bought(shape: Shape) -> int:
    """Return the rows of the draft order."""
    return len([row for row in line_rows(shape) if not row.block]) + shape.blocks * shape.lengths


def _goods_words() -> tuple[Column, ...]:
    return (
        Column(key="sd_more", header="description", formula='=IF([ord_text@]="","",", "&[ord_text@])'),
        Column(
            key="sd_text",
            header="in words",
            formula='=IF([os_use@]=1,[ord_packs@]&" x "&SUBSTITUTE([ord_item@],"_"," ")&[sd_more]&" ("&[ord_sku@]&")","")',
        ),
    )


def _last(prefix: str) -> str:
    """Return what was said of a page's area, empty if nothing was."""
    at = f'COUNTIF({prefix}_area,"<="&[site_area])'
    return f'=IF(COUNTIF({prefix}_area,[site_area])*[site_use]=0,"",INDEX({prefix}_text,MAX(1,{at})))'


def _or_elsewhere(column: str) -> str:
    """Return a page's words, or on whose page to look if its gutter is counted with another area's."""
    other = (
        '"gutter "&INDEX(g_name,[site_lead])&" is shared: see the page of area "&INDEX(w_name,INDEX(g_ix,[site_lead]))'
    )
    return f'=IF([{column}]="",CHOOSE(1+[site_use],"",{other}),[{column}])'


def _length(key: str, header: str, inches: str, use: str, rule: str) -> tuple[Column, ...]:
    """Return a length of an area in sixteenths, and as it is said on its page where it is used."""
    return (
        work(f"{key}16", header, "1/16 in", f"=ROUND(ROUND({inches}*per_inch,6),0)", rule),
        Column(key=f"{key}_said", header="as said", formula=said(f"[{key}16]", use)),
        Column(key=key, header="as said on site", formula=without_feet(f"[{key}_said]")),
    )


def _pages() -> tuple[Column, ...]:
    """Return what each page says of its area."""

    def text(key: str, header: str, formula: str) -> Column:
        return Column(key=key, header=header, formula=formula)

    def of(column: str) -> str:
        return f"INDEX({column},[site_ix])"

    def of_liner(column: str) -> str:
        return f"INDEX({column},{of('w_lix')})"

    def in_area(condition: str) -> str:
        return f"=MIN(1,SUMPRODUCT((p_ix=[site_ix])*{condition}))*[site_use]"

    return (
        work("site_no", "page", "no", "=[site_no-]+1"),
        work("site_area", "area", "row", "=IFERROR(MATCH([site_no],si_place,0),0)"),
        work("site_use", "used", "0/1", "=MIN(1,[site_area])"),
        work("site_ix", "that row", "row", "=MAX(1,[site_area])"),
        work("site_trim16", "trim off each outlet", "1/16 in", f"=INT(ROUND(MAX(0,{of('w_trim')})*per_inch,6))", "O1"),
        work("site_trimmed", "outlets are trimmed", "0/1", "=IF([site_trim16]>0,[site_use],0)", "O1"),
        text("site_trim_said", "as said", said("[site_trim16]", "[site_trimmed]")),
        text("site_trim", "as said on site", without_feet("[site_trim_said]")),
        *_length("site_side", "side lap", of("w_lap"), "[site_use]", "P4"),
        *_length("site_high", "lap at the high end by the ledger", of_liner("l_high_lap_in"), "[site_use]", "P2"),
        *_length("site_drape", "drape", of("w_drape"), "[site_use]", "P3"),
        work("site_spliced", "panels are spliced", "0/1", in_area("(p_pieces>1)"), "P6"),
        *_length("site_splice", "lap of a splice", "splice_lap_in", "[site_spliced]", "P6"),
        work("site_ledger", "drains to the ledger", "0/1", f"={of('w_ledger')}*[site_use]", "G8"),
        *_length("site_apron", "apron", "apron_in", "[site_ledger]", "P1"),
        *_length("site_turn", "turned down over the rim", "rim_turn_down_in", "[site_ledger]", "P2"),
        text(
            "site_panels",
            "panels",
            '=IF([site_use]=1,[site_side]&", "&CHOOSE(1+[site_ledger],"lap at the ledger "&[site_high],'
            '"turned down over the rim "&[site_turn])&", drape "&[site_drape],"")',
        ),
        work("site_posts", "posts through the liner", "no", f"={of('w_posts')}*[site_use]", "T6"),
        work(
            "site_lead",
            "gutter line of its first part",
            "row",
            "=IFERROR(MATCH(INDEX(g_code,MATCH([site_ix],p_ix,0)),g_code,0),1)",
            "W4",
        ),
        work("site_flow", "flow of the area", "gpm", "=SUMIF(p_ix,[site_ix],p_flow)*[site_use]", "W1"),
        work(
            "site_share100",
            "share of a bay",
            "hundredths",
            "=ROUND(ROUND(IFERROR([site_flow]/SUMIF(p_ix,[site_ix],p_outlets),0)*site_flow_unit*100,6),0)",
            "W1",
        ),
        text("site_share", "share of a bay, as said", f'={hundredths_text("[site_share100]")}&" "&site_flow_word'),
        text("site_lines", "gutter lines that begin here", _last("sg1")),
        text("site_gutter", "gutter lines", _or_elsewhere("site_lines")),
        text("site_flows", "their water test", _last("sg2")),
        text("site_test", "water test", _or_elsewhere("site_flows")),
        text("site_narrow", "narrow outlets", _last("sn")),
        text("site_caps", "capped bays", _last("sk")),
        text("site_blocks", "blocking", _last("sx")),
        text("site_all_cuts", "cut list", _last("sc")),
        text(
            "site_cuts",
            "cut list, if it fits its place",
            '=IF(LEN([site_all_cuts])>site_most,"see sheet Bays, the list is too long for this page",[site_all_cuts])',
        ),
    )


def _of_the_job() -> Block:
    def s(key: str, label: str, formula: str, unit: str = "") -> Scalar:
        return Scalar(key=key, label=label, unit=unit, formula=formula)

    return Block(
        title="Of the job",
        scalars=(
            Scalar(key="site_most", label="longest cut list a page holds", unit="characters", value=CUTS_FIT),
            Scalar(key="site_goods", label="most lines of goods to load", unit="no", value=GOODS),
            s("site_permit", "permit", f'=IF(job_permit="","{BLANK}",job_permit&"")'),
            s(
                "site_day",
                "day of the inspection",
                f'=IF(job_inspected_on="","{BLANK}",{day_text("job_inspected_on")})',
            ),
            s("site_flow_unit", "what flows are said in", "=CHOOSE(1+metric,1,l_s_per_gpm*60)", "to a gpm"),
            s("site_flow_word", "its word", '=CHOOSE(1+metric,"gpm","L/min")'),
            s("site_volume_word", "volumes", '=CHOOSE(1+metric,"gallons","litres")'),
            s("site_bucket_word", "of the bucket", '=CHOOSE(1+metric,"gal","L")'),
            s("site_bucket", "bucket", "=ROUND(ROUND(bucket_gal*site_flow_unit*100,6),0)", "hundredths"),
            s("site_hose", "one hose", "=ROUND(ROUND(hose_gpm*site_flow_unit*100,6),0)", "hundredths"),
            s("site_bucket_said", "bucket, as said", f"={hundredths_text('site_bucket')}"),
            s("site_hose_said", "one hose, as said", f"={hundredths_text('site_hose')}"),
        ),
    )


def site_work_sheet(shape: Shape) -> Sheet:
    """Return the workings of the pages: words of bays, blocking and gutter lines, strung together by area."""
    rows = tuple(row for page in _page_rows(shape) for row in page)
    return Sheet(
        title="Work site",
        purpose="What is said of each area on its page of the site sheet.",
        parts=(
            _of_the_job(),
            Table(
                key="site_places",
                title="Areas in order",
                rows=shape.areas,
                columns=(
                    work("si_sofar", "areas so far", "no", "=[si_sofar-]+[w_use@]"),
                    work("si_place", "its page", "no", "=[si_sofar]*[w_use@]"),
                ),
            ),
            Table(
                key="site_lines",
                title="Gutter lines",
                rows=shape.parts,
                columns=(
                    *_line_words(),
                    *gathered("sg1", "[sl_use]", "[g_ix@]", "sl_gutter"),
                    *gathered("sg2", "[sl_use]", "[g_ix@]", "sl_text"),
                ),
            ),
            Table(
                key="site_bays",
                title="Bays",
                rows=shape.bay_rows,
                columns=(
                    *_bay_words(),
                    *gathered("sn", "[sb_tight]", "[b_area@]", "sb_label"),
                    *gathered("sk", "[sb_cap]", "[b_area@]", "sb_label"),
                    *_cut_words(),
                ),
            ),
            Table(
                key="site_blocking",
                title="Blocking",
                rows=shape.framing,
                columns=(*_blocking_words(), *gathered("sx", "[sf_use]", "[f_ix@]", "sf_text")),
            ),
            Table(key="site_bought", title="Goods in words", rows=_bought(shape), columns=_goods_words()),
            Table(key="site_pages", title="Pages", rows=shape.sites, columns=_pages()),
            Table(
                key="site_layout",
                title="Rows of the site sheet",
                rows=len(rows),
                columns=(
                    Column(key="sy_row", header="speaks of row", unit="row", values=tuple(row.of for row in rows)),
                    Column(key="sy_use", header="used", unit="0/1", formula=tuple(row.use for row in rows)),
                ),
            ),
        ),
        working=True,
    )


# -------------------------------------------------------------------------------------------------------- the sheet


@dataclass(frozen=True, slots=True)
class _Row:
    """A row of the sheet: the order line or page it speaks of, when it does, its words, its height, whether to tick."""

    of: int
    use: str
    words: str
    height: float
    box: bool = False


def _goods(rows: int) -> tuple[_Row, ...]:
    """Return the first page: what to load."""
    words = "INDEX(sd_text,[sy_row@])"
    return (
        _Row(1, "=1", 'job_job&": goods to load for "&job_customer', LINE),
        _Row(1, "=MIN(1,plans_stale)", '"Cut goods are preliminary: the cut plan is out of date."', LINE),
        *(_Row(row, "=INDEX(os_use,[sy_row])", words, LINE, box=True) for row in range(1, min(GOODS, rows) + 1)),
        _Row(1, "=IF(SUM(os_use)>site_goods,1,0)", '"and more: see sheet Orders"', LINE),
    )


def _area(page: int) -> tuple[_Row, ...]:
    """Return the page of an area: hold point, work in order, cuts, water test, what to sign."""

    def row(words: str, lines: int, *, box: bool = False) -> _Row:
        return _Row(page, "=INDEX(site_use,[sy_row])", words, LINE * lines, box)

    def some(column: str, head: str, lines: int) -> _Row:
        said_of = f"INDEX({column},[sy_row@])"
        return _Row(page, f'=IF(INDEX({column},[sy_row])="",0,1)', f'"{head} "&{said_of}', LINE * lines, box=True)

    def where(use: str, words: str, lines: int) -> _Row:
        return _Row(page, f"=MIN(1,INDEX({use},[sy_row]))", words, LINE * lines, box=True)

    def of(column: str) -> str:
        return f"INDEX({column},[sy_row@])"

    return (
        row('job_job&", area "&INDEX(w_name,INDEX(site_ix,[sy_row@]))', 1),
        row('"HOLD: no liner before the framing inspection. It hides hangers, bolts and hold-downs."', 2, box=True),
        row(f'"Permit "&site_permit&", inspected on "&site_day&", seen by {BLANK}"', 1),
        *(row(f'"{line}"', 1, box=True) for line in ORDER),
        some("site_blocks", "Blocking", 2),
        some("site_gutter", "Hang the gutter the water falls to:", 3),
        some("site_trim", "Trim each outlet by", 1),
        some("site_narrow", "Cut the outlet narrower:", 2),
        some("site_caps", "Cap, no outlet:", 1),
        some("site_apron", "Apron along the ledger first, wide", 1),
        some("site_panels", "Panels: side laps", 1),
        where("site_spliced", f'"Splices: lap "&{of("site_splice")}&", the upper piece over the lower, and tape it."', 1),
        where("site_posts", f'"Posts through the liner: "&{of("site_posts")}&". Blocking first; tape and sealant all round each."', 1),
        some("site_cuts", "Cut list:", CUT_LINES),
        row(f'"Water test: a bay carries about "&{of("site_share")}&", any hose passes; then "&{of("site_test")}', 3, box=True),
        row('"All hoses run "&water_test_min&" min. Counted at "&site_hose_said&" "&site_flow_word&" a hose; measure: "&site_volume_word'
            '&" x 60 / seconds to fill the "&site_bucket_said&" "&site_bucket_word&" bucket."', 2),
        row(f'"At the outlets, before posts and boards: passed {BLANK} on {BLANK}"', 1, box=True),
        row(f'"Again after posts and stairs: passed {BLANK} on {BLANK}"', 1, box=True),
        row(f'"{PHOTOS}"', 1, box=True),
        row(f'"Installer: {BLANK}{BLANK}  day: {BLANK}"', 1),
    )  # fmt: skip


def _page_rows(shape: Shape) -> tuple[tuple[_Row, ...], ...]:
    return (_goods(_bought(shape)), *(_area(page) for page in range(1, shape.sites + 1)))


def site_sheet(shape: Shape) -> Sheet:
    """Return the site sheet: goods to load, then a page an area."""
    pages = _page_rows(shape)
    rows = tuple(row for page in pages for row in page)
    boxes = tuple(f'=IF([sy_use@]=1,"{BOX}","")' if row.box else '=""' for row in rows)
    words = tuple(f'=IF([sy_use@]=1,{row.words},"")' for row in rows)
    columns = (
        Column(key="sr_box", header="done", role="label", formula=boxes, width=7),
        Column(key="sr_text", header="what", role="label", formula=words, width=86),
    )
    return Sheet(
        title="Site",
        purpose="What the installer carries: goods to load, and a page an area with its work, its cuts and its water test.",
        parts=(Table(key="site_rows", title="Site sheet", rows=len(rows), columns=columns),),
        landscape=False,
        points=14,
        pages=tuple(map(len, pages)),
        row_heights=tuple(row.height for row in rows),
        tight=True,
    )


# --------------------------------------------------------------------------------------------------------- labels


def labels_sheet(estimate: Estimate, shape: Shape) -> Sheet:
    """Return labels to print: what to write on each piece, its length, the stock piece it comes from."""
    units = estimate.inputs.rates.units
    found = [
        (label, show_length(length / 16, units), f"{cut.cut.item} {piece.number}")
        for cut in estimate.cuts
        for label, length, piece in cut.in_order_of_work()
    ]
    rows = (shape.pieces + 1) // 2
    heads = (("piece", "piece", 16.0), ("length", "length", 17.0), ("from", "from", 14.0))
    columns = tuple(
        Column(
            key=f"tag_{name}_{side + 1}",
            header=header,
            role="label",
            origin="plan",
            width=width,
            values=tuple(one[at] for one in found[side::2]),
        )
        for side in range(2)
        for at, (name, header, width) in enumerate(heads)
    )
    whole, rest = divmod(rows, LABEL_ROWS)
    return Sheet(
        title="Labels",
        purpose="A label a piece, two abreast: what to write on it, how long it is, which stock piece it comes from.",
        parts=(Table(key="labels", title="Labels", rows=rows, columns=columns),),
        landscape=False,
        points=16,
        pages=(*(LABEL_ROWS,) * whole, *((rest,) if rest else ())),
        row_heights=(LABEL_HEIGHT,) * rows,
    )
