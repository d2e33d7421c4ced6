"""The customer's page: what is done, price, options, payments, what is not included, limits, terms; and its inputs."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from baybook.estimate import Estimate
from baybook.job.fields import fields_of
from baybook.job.records import QUOTE_KINDS, QuoteRow
from baybook.workbook.declare import Block, Column, Scalar, Sheet, Table
from baybook.workbook.shape import Shape
from baybook.workbook.sheets.columns import work
from baybook.workbook.sheets.inputs import Units, input_column
from baybook.workbook.sheets.results import said
from baybook.workbook.sheets.words import day_text, hundredths_text

__all__ = ["LISTS", "offer_inputs_sheet", "quote_sheet", "quote_work_sheet"]

LISTS: Mapping[str, tuple[str, ...]] = {"list_quote_kind": QUOTE_KINDS}
SECTIONS = (
    "What we do",
    "Price",
    "Options",
    "Payment",
    "Not included",
    "Stated limits",
    "Please note",
    "Terms",
    "Acceptance",
)
NOTES = (
    "Check with your local building department / a licensed electrician; the adopted code governs.",
    "We give no structural advice: joist, ledger and beam sizes and the ledger's flashing are the designer's.",
    "The space below is at best a damp location, a wet one where wind-driven rain or a leak can reach it.",
    "Lights, fans and outlets there: a licensed electrician decides (NEC Art. 100, 410.10(A), 210.8(A)(3), (F), 406.9).",
    "Water is led away from the house (IRC R401.3), never to the sanitary sewer, not over the neighbour's line.",
    "A dryer, bath or combustion vent that ends under the deck must be carried outside it and stay accessible (IRC M1502.3).",
    "Wet framing dries before it is closed in; a path for air stays open.",
    "A liner over open joists looks like a floor and is none: never step on it until it is decked.",
)  # fmt: skip
METHOD = (
    "We lay a liner over the joists and drape it into every bay. Each bay drains through an outlet into a gutter below; "
    "leaders bring the water to the ground."
)
LINE = "____________________"


def offer_inputs_sheet(estimate: Estimate, shape: Shape) -> Sheet:
    """Return the input sheet of what the quote says beside scope and price."""
    units = Units(estimate.inputs.rates.units == "metric")
    columns = tuple(
        input_column(
            "qt",
            one,
            (getattr(row, one.attribute) for row in estimate.inputs.quote),
            units,
            "list_quote_kind" if one.choices else "",
        )
        for one in fields_of(QuoteRow)
        if one.name != "job"
    )
    return Sheet(
        title="Offer",
        purpose="What the quote says beside scope and price: payments (the last takes the rest), options, what is not "
        "included, terms. The words are samples: have your terms read by somebody who knows the law where you work.",
        parts=(Table(key="quote_rows", title="Words of the quote", rows=shape.quoted, columns=columns),),
    )


# -------------------------------------------------------------------------------------------------------- workings


def quote_work_sheet(estimate: Estimate, shape: Shape) -> Sheet:
    """Return the workings of the quote: payments, options, and every line it may have, then those it has."""
    lines = list(_lines(shape))
    return Sheet(
        title="Work quote",
        purpose="Payments and options in figures, the words of the scope, and the lines of the quote in order.",
        parts=(
            _figures(),
            _known_options(estimate, shape),
            Table(key="quote_work", title="Payments and options", rows=shape.quoted, columns=_rows_worked()),
            Table(key="quote_areas", title="Areas in words", rows=shape.areas, columns=_area_words()),
            Table(key="quote_lines", title="Gutter lines in words", rows=shape.parts, columns=_line_words()),
            Table(
                key="quote_sources", title="Lines of the quote, used or not", rows=len(lines), columns=_sources(lines)
            ),
            Table(key="quote_flow", title="Lines of the quote, in order", rows=_rows_shown(shape), columns=_flow()),
        ),
        working=True,
    )


def _figures() -> Block:
    def s(key: str, label: str, formula: str, unit: str = "") -> Scalar:
        return Scalar(key=key, label=label, unit=unit, formula=formula)

    rain = "IF(metric=1,job_rainfall*mm_per_in,job_rainfall)"
    return Block(
        title="Of the whole quote",
        scalars=(
            s("quote_last", "last day", "=price_date+job_valid_days", "date"),
            s("pay_steps", "payments", '=COUNTIF(qt_kind,"payment")', "no"),
            s(
                "pay_off",
                "shares are no whole, or an amount stands beside them",
                '=IF(ROUND(SUMIF(qt_kind,"payment",qt_share)-1,6)=0,0,1)+SUMPRODUCT((qt_kind="payment")*(qt_amount<>""))',
                "no",
            ),
            s("quote_priced", "has a price", "=IF(errors_found=0,1,0)", "0/1"),
            s("quote_taxed", "tax on the total", '=IF(job_tax_on="total",1,0)', "0/1"),
            s("quote_tax", "what is said of tax", '=1+IF(job_tax_on="materials",1,0)+quote_taxed*2', "no"),
            s("quote_rain", "design rain", f"=ROUND({rain}*100,0)", "1/100 as shown"),
            Scalar(
                key="quote_sum",
                label="price",
                unit="money",
                role="money",
                formula="=ROUND(ROUND(total_price,8),2)",
                fmt="#,##0.00",
            ),
            Scalar(
                key="quote_net",
                label="price without tax on the total",
                unit="money",
                role="money",
                formula="=ROUND(ROUND(total_price-tax_sale,8),2)",
                fmt="#,##0.00",
            ),
            s(
                "quote_failed",
                "stated limits",
                '=IF(failures_open=0,"","A check has failed and must be settled before this is an offer.")'
                '&CHOOSE(1+MIN(1,LEN(limits_text))*MIN(1,failures_open),""," ")&limits_text',
            ),
        ),
    )


def _known_options(estimate: Estimate, shape: Shape) -> Table:
    known = [estimate.options[key] for key in sorted(estimate.options)]
    return Table(
        key="options_known",
        title="Prices of other jobs, as they were when this workbook was built",
        rows=shape.quoted,
        columns=(
            Column(key="opt_of", header="job", role="label", values=tuple(one.job for one in known), origin="kept"),
            Column(key="opt_price", header="price", unit="money", role="money", fmt="#,##0.00",
                   values=tuple(float(one.price) for one in known), origin="kept"),
            Column(key="opt_on", header="prices of", unit="date", role="label", fmt="yyyy-mm-dd",
                   values=tuple(one.on for one in known), origin="kept"),
        ),
    )  # fmt: skip


def _rows_worked() -> tuple[Column, ...]:
    def m(key: str, header: str, formula: str) -> Column:
        return Column(key=key, header=header, unit="money", role="money", fmt="#,##0.00", formula=formula)

    return (
        work("qp_use", "is a payment", "0/1", '=IF([qt_kind@]="payment",1,0)'),
        work("qp_no", "payments so far", "no", "=[qp_no-]+[qp_use]"),
        work("qp_last", "the last one", "0/1", "=IF([qp_no]=pay_steps,[qp_use],0)"),
        m("qp_share", "its share", "=ROUND(ROUND([qt_share@]*total_price,8),2)"),
        m("qp_amount", "its amount", "=ROUND(ROUND([qt_amount@],8),2)"),
        m("qp_before", "due before it", "=ROUND(ROUND([qp_before-]+[qp_step-],8),2)"),
        m("qp_rest", "what is left then", "=ROUND(ROUND((total_price-[qp_before])*[qp_last],8),2)"),
        m("qp_step", "due", "=ROUND(ROUND([qp_rest]+([qp_share]+[qp_amount])*([qp_use]-[qp_last]),8),2)"),
        work("qp_ways", "share and amount given", "no", "=COUNT([qt_share@])+COUNT([qt_amount@])"),
        work("qp_over", "payments before the last are over the price", "0/1", "=IF([qp_rest]<0,1,0)"),
        work("qo_use", "is an option", "0/1", '=IF([qt_kind@]="option",1,0)'),
        work("qo_named", "names a job", "0/1", '=IF([qt_of@]="",0,[qo_use])'),
        work("qo_at", "its price stands in row", "row", "=IF([qo_named]=1,IFERROR(MATCH([qt_of@],opt_of,0),0),0)"),
        work("qo_same", "price of the same day", "0/1",
             "=IF(INDEX(opt_on,MAX(1,[qo_at]))=price_date,MIN(1,[qo_at]),0)"),
        work("qo_priced", "has a price", "0/1", "=([qo_same]+[qo_use]*(1-[qo_named]))*quote_priced"),
        m("qo_other", "price of that job", "=ROUND(ROUND(INDEX(opt_price,MAX(1,[qo_at]))*[qo_same],8),2)"),
        m("qo_own", "this price and what the option adds",
          "=ROUND(ROUND((total_price+[qp_amount])*[qo_use]*(1-[qo_named]),8),2)"),
        m("qo_price", "price with the option", "=ROUND(ROUND([qo_other]+[qo_own],8),2)"),
        m("qo_more", "more than without", "=ROUND(ROUND(([qo_price]-total_price)*[qo_priced],8),2)"),
        work("qp_wrong", "share, amount and job do not fit its kind", "no",
             "=[qp_last]*[qp_ways]*pay_off+([qp_use]-[qp_last])*ABS([qp_ways]-1)+[qo_use]*ABS([qp_ways]+[qo_named]-1)"
             "+(1-[qp_use]-[qo_use])*[qp_ways]"),
        Column(key="qp_words", header="payment in words",
               formula='=[qt_words@]&IF([qt_when@]="","",", "&[qt_when@])'),
        Column(key="qo_words", header="option in words", formula='=IF([qo_use]=1,[qt_words@]&CHOOSE(1+[qo_priced]," (price on request)",""),"")'),
    )  # fmt: skip


def _area_words() -> tuple[Column, ...]:
    return (
        Column(
            key="qa_size",
            header="size",
            formula='=[w_name@]&": "&[fa_wide_said@]&" along the house by "&[fa_deep_said@]&", "&[w_gaps@]&" joist bays"',
        ),
        work("qa_capped", "bays capped", "no", "=SUMIF(p_area,[w_no@],p_caps)*[w_use@]"),
        Column(
            key="qa_caps",
            header="capped",
            formula='=IF([qa_capped]=0,"","("&[qa_capped]&" too narrow to drain, capped)")',
        ),
        Column(
            key="qa_text",
            header="in words",
            formula='=[qa_size]&CHOOSE(1+MIN(1,[qa_capped]),""," ")&[qa_caps]&", liner "&INDEX(l_liner,[w_lix@])&", falling to the "'
            '&CHOOSE(1+[w_ledger@],"outer","house")&" side"',
        ),
    )


def _line_words() -> tuple[Column, ...]:
    return (
        work("qg_length16", "length", "1/16 in", "=ROUNDUP(ROUND([g_len@]*per_inch,6),0)*[g_lead@]"),
        work("qg_use", "is a line", "0/1", "=[g_lead@]"),
        Column(key="qg_said", header="length as said", formula=said("[qg_length16]", "[qg_use]")),
        Column(
            key="qg_leaders",
            header="its leaders",
            formula='=[g_leaders@]&CHOOSE(MIN(2,1+ABS([g_leaders@]-1))," leader "," leaders ")'
            '&CHOOSE(1+[g_mid@],CHOOSE(MIN(2,1+ABS([g_leaders@]-1)),"at the end","at the ends"),"in the middle")',
        ),
        Column(
            key="qg_text",
            header="in words",
            formula='="Gutter "&[g_name@]&": "&[qg_said]&", "&[qg_leaders]&" to the ground"'
            '&CHOOSE(1+[g_away@],"",", its water led away from the house")',
        ),
    )


# ----------------------------------------------------------------------------------------------------- the lines


@dataclass(frozen=True, slots=True)
class _Line:
    """A line that the quote may have: its section from 1, the row it speaks of, and formulas."""

    section: int
    row: int
    use: str
    text: str
    amount: str = '=""'
    more: str = '=""'
    words: str = ""  # that never change


def _fixed(section: int, words: str, use: str = "=1", amount: str = '=""') -> _Line:
    return _Line(section, 1, use, '=[ql_words]&""', amount, words=words)


def _lines(shape: Shape) -> Iterator[_Line]:
    def rows(section: int, count: int, use: str, text: str, amount: str = '=""', more: str = '=""') -> Iterator[_Line]:
        return (_Line(section, row, f"={use}", text, amount, more) for row in range(1, count + 1))

    def priced(amount: str) -> str:
        return f'=IF(quote_priced=1,{amount},"")'

    def of_kind(kind: str) -> str:
        return f'IF(INDEX(qt_kind,[ql_row])="{kind}",1,0)'

    words = '=INDEX(qt_words,[ql_row])&""'
    yield _fixed(1, METHOD)
    yield from rows(1, shape.areas, "INDEX(w_use,[ql_row])", "=INDEX(qa_text,[ql_row])")
    yield from rows(1, shape.parts, "INDEX(g_lead,[ql_row])", "=INDEX(qg_text,[ql_row])")
    yield _Line(
        1,
        1,
        "=MIN(1,SUM(w_posts))",
        '=SUM(w_posts)&CHOOSE(MAX(1,MIN(2,SUM(w_posts)))," post"," posts")&" of the railing through the liner, taped and sealed."',
    )
    yield _Line(
        1,
        1,
        "=1",
        f'="Worked out for rain of "&{hundredths_text("quote_rain")}&CHOOSE(1+metric," in"," mm")'
        '&" an hour: heavier rain may run over."',
    )
    yield _fixed(2, "the work above", "=quote_taxed*quote_priced", "=quote_net")
    yield _fixed(2, "tax", "=quote_taxed*quote_priced", "=tax_sale")
    yield _Line(
        2,
        1,
        "=1",
        '=CHOOSE(1+quote_priced*quote_tax,"not priced: see Checks","price; no tax is added",'
        '"price, tax on materials included","price, tax included")',
        priced("quote_sum"),
    )
    yield from rows(
        3,
        shape.quoted,
        "INDEX(qo_use,[ql_row])",
        "=INDEX(qo_words,[ql_row])",
        '=IF(INDEX(qo_priced,[ql_row])=1,INDEX(qo_price,[ql_row]),"")',
        '=IF(INDEX(qo_priced,[ql_row])=1,INDEX(qo_more,[ql_row]),"")',
    )
    yield from rows(
        4,
        shape.quoted,
        "INDEX(qp_use,[ql_row])",
        "=INDEX(qp_words,[ql_row])",
        priced("INDEX(qp_step,[ql_row])"),
    )
    yield from rows(5, shape.quoted, of_kind("excluded"), words)
    yield _Line(6, 1, '=IF(quote_failed="",0,1)', "=quote_failed")
    yield from (_fixed(7, note) for note in NOTES)
    yield from rows(8, shape.quoted, of_kind("term"), words)
    yield _fixed(9, f"options chosen {LINE}", "=MIN(1,SUM(qo_use))")
    yield _fixed(9, f"accepted by {LINE} on {LINE[:12]}")


def _sources(lines: list[_Line]) -> tuple[Column, ...]:
    return (
        Column(key="ql_section", header="section", unit="no", values=tuple(one.section for one in lines)),
        Column(key="ql_row", header="of row", unit="row", values=tuple(one.row for one in lines)),
        Column(key="ql_words", header="fixed words", role="label", values=tuple(one.words for one in lines)),
        Column(key="ql_use", header="used", unit="0/1", formula=tuple(one.use for one in lines)),
        work("ql_sofar", "lines so far", "no", "=[ql_sofar-]+[ql_use]"),
        work("ql_place", "its place", "no", "=[ql_sofar]*[ql_use]"),
        Column(key="ql_text", header="text", formula=tuple(one.text for one in lines)),
        Column(key="ql_amount", header="amount", unit="money", role="money", fmt="#,##0.00",
               formula=tuple(one.amount for one in lines)),
        Column(key="ql_more", header="more or less", unit="money", role="money", fmt="#,##0.00",
               formula=tuple(one.more for one in lines)),
    )  # fmt: skip


def _flow() -> tuple[Column, ...]:
    return (
        work("qf_no", "no", "no", "=[qf_no-]+1"),
        work("qf_at", "line", "row", "=IFERROR(MATCH([qf_no],ql_place,0),0)"),
        work("qf_use", "used", "0/1", "=MIN(1,[qf_at])"),
        work("qf_section", "section", "no", "=INDEX(ql_section,MAX(1,[qf_at]))*[qf_use]"),
        Column(key="qf_label", header="heading",
               formula='=IF([qf_section]=[qf_section-],"",CHOOSE(1+[qf_section],"",'
               + ",".join(f'"{name}"' for name in SECTIONS) + "))"),
    )  # fmt: skip


def _rows_shown(shape: Shape) -> int:
    """Return the most lines a quote can have: each row of words is of one kind only."""
    return len(list(_lines(shape))) - (len(QUOTE_KINDS) - 1) * shape.quoted


def quote_sheet(shape: Shape) -> Sheet:
    """Return the customer's page."""

    def s(key: str, label: str, formula: str) -> Scalar:
        return Scalar(key=key, label=label, formula=formula, role="label")

    def shown(column: str) -> str:
        return f'=IF([qf_use@]=1,INDEX({column},[qf_at@]),"")'

    lines = (
        Column(key="qs_label", header="part", role="result", formula="=[qf_label@]", width=14),
        Column(key="qs_text", header="in words", role="label", formula=shown("ql_text"), width=64),
        Column(key="qs_amount", header="amount", unit="money", role="money", fmt="#,##0.00", formula=shown("ql_amount"),
               width=13),
        Column(key="qs_more", header="more or less", unit="money", role="money", fmt="+#,##0.00;-#,##0.00;0.00",
               formula=shown("ql_more"), width=13),
    )  # fmt: skip
    return Sheet(
        title="Quote",
        purpose="Under-deck drainage: a liner over the joists, bay outlets, a gutter and leaders.",
        parts=(
            Block(
                title="Offer",
                scalars=(
                    s("quote_customer", "for", '=job_customer&""'),
                    s("quote_site", "at", '=job_site&""'),
                    s("quote_job", "job", '=job_job&""'),
                    s("quote_date", "date", f"={day_text('price_date')}"),
                    s("quote_until", "valid until", f"={day_text('quote_last')}"),
                    s("quote_plan", "note", '=IF(plans_stale=0,"","quantities of cut goods are preliminary")'),
                ),
            ),
            Table(key="quote_shown", title="In detail", rows=_rows_shown(shape), columns=lines),
        ),
        landscape=False,
        printed_from=3,  # the state of the checks is not for the customer
    )
