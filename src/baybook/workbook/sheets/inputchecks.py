"""Every input held to its declaration: readable, a word of its list, within its limits, there where it is needed."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from baybook.job.fields import Field, Kind, fields_of
from baybook.job.records import Job
from baybook.workbook.declare import Column, Sheet, Table
from baybook.workbook.given import INPUT_TABLES, needs_value, rate_fields
from baybook.workbook.sheets.columns import work
from baybook.workbook.sheets.inputs import Units

__all__ = ["input_checks_sheet"]

UNBOUNDED = 1e12  # larger than any limit
LAST_DAY = 2_958_465  # 9999-12-31
_WORDS = {Kind.NAME, Kind.TEXT, Kind.WORD, Kind.CURRENCY, Kind.SIZE}
_WHOLE = {Kind.COUNT, Kind.DATE}
_ELSEWHERE = {"a_joist", "v_item"}  # checks of their own


@dataclass(frozen=True, slots=True)
class _Input:
    """An input cell or column, and the column without which its row does not count (empty for a cell)."""

    key: str
    field: Field
    of: str
    row_key: str


def _inputs(known: dict[str, Column]) -> Iterator[_Input]:
    for one in fields_of(Job):
        yield _Input(f"job_{one.name}", one, "job", "")
    for one in rate_fields():
        yield _Input(one.name, one, "rates", "")
    for name, table in INPUT_TABLES.items():
        for one in fields_of(table.record):
            for key in (f"{table.prefix}_{one.name}", f"{table.prefix}_{one.name}_depth"):
                if key in known and key not in _ELSEWHERE:
                    yield _Input(key, one, name, f"{table.prefix}_{table.key}" if table.key else "")


def _unread(one: _Input) -> str:
    """Count what cannot be read."""
    key, kind = one.key, one.field.kind
    if key == "leader_size":
        return f"=IF(COUNTIF(size_code,{key})=1,0,1)"
    if one.field.choices:
        return f"=COUNTA({key})" + "".join(f'-COUNTIF({key},"{word}")' for word in one.field.choices)
    if kind is Kind.CURRENCY:
        return f"=IF(LEN({key})=2+1,0,1)" if one.of == "job" else f"=COUNT({key})"
    return "=0" if kind in _WORDS else f"=COUNTA({key})-COUNT({key})"


def _missing(one: _Input, known: dict[str, Column]) -> str:
    """Count rows, or the one cell, that lack it."""
    if one.of in {"job", "rates"}:
        return f'=IF({one.key}="",1,0)' if needs_value(one.field) else "=0"
    table = INPUT_TABLES[one.of]
    if not one.field.required or one.key == one.row_key or one.field.kind is Kind.JOIST:
        return "=0"
    if one.row_key:
        return f'=SUMPRODUCT(({one.row_key}<>"")*({one.key}=""))'
    needed = (f"{table.prefix}_{each.name}" for each in fields_of(table.record) if each.required)
    others = [key for key in needed if key in known and key != one.key]
    return f'=SUMPRODUCT(({others[0]}<>"")*({one.key}=""))'


def _limits(one: _Input, units: Units) -> tuple[float, float, int]:
    """Return least, most, and whether the least itself is too little, in the unit the input is shown in."""
    declared = one.field
    if declared.kind in _WORDS:
        return -UNBOUNDED, UNBOUNDED, 0
    if declared.kind is Kind.DATE:
        return 1.0, float(LAST_DAY), 0
    low, high = (0.0, 1.0) if declared.kind is Kind.SHARE else (declared.low, declared.high)
    strict = declared.above is not None
    low = declared.above if strict else low
    factor = 1.0
    if declared.kind in {Kind.LENGTH, Kind.JOIST} and not declared.name.endswith(("_in", "_ft")):
        factor = units.big_in if declared.bare_unit == "ft" else units.small_in
    return (
        -UNBOUNDED if low is None else round(low / factor, 9),
        UNBOUNDED if high is None else round(high / factor, 9),
        int(strict),
    )


def _rows_of(sheets: Sequence[Sheet]) -> tuple[dict[str, Column], dict[str, int]]:
    """Return the input columns and how many rows each has."""
    known, rows = {}, {}
    for part in (part for sheet in sheets for part in sheet.parts):
        for column in part.columns if isinstance(part, Table) else ():
            if column.role == "input":
                known[column.key], rows[column.key] = column, part.rows if isinstance(part, Table) else 1
    return known, rows


def _whole_tables(inputs: Sequence[_Input], rows: dict[str, int]) -> Iterator[Table]:
    """Yield a table for each table of inputs with whole numbers or days, row beside row."""
    for name in INPUT_TABLES:
        found = [one for one in inputs if one.of == name and one.field.kind in _WHOLE]
        if found:
            columns = tuple(
                work(
                    f"whole_{one.key}",
                    one.field.name.replace("_", " "),
                    "0/1",
                    f"=IFERROR(IF(ROUND([{one.key}@],0)=[{one.key}@],0,1),1)",
                )
                for one in found
            )
            title = f"Not whole, in {name}"
            yield Table(key=f"whole_{name}", title=title, rows=rows[found[0].key], columns=columns)


def _whole(one: _Input) -> str:
    if one.field.kind not in _WHOLE:
        return "=0"
    if one.of in INPUT_TABLES:
        return f"=SUM(whole_{one.key})"
    return f"=IFERROR(IF(ROUND({one.key},0)={one.key},0,1),1)"


def input_checks_sheet(sheets: Sequence[Sheet], units: Units) -> Sheet:
    """Return the check of every input.

    Parameters
    ----------
    sheets : sequence of Sheet
        The input sheets.
    units : Units
        What they are shown in.

    Returns
    -------
    Sheet
        One row an input: a cell, or a column of a table.
    """
    known, rows = _rows_of(sheets)
    inputs = list(_inputs(known))
    limits = [_limits(one, units) for one in inputs]

    def each(make: object) -> tuple[str, ...]:
        return tuple(make(one) for one in inputs)  # type: ignore[operator]  # a function of an input

    def smallest(name: str) -> tuple[str, ...]:
        return tuple("=0" if one.field.kind in _WORDS else f"={name}({one.key})" for one in inputs)

    columns = (
        Column(key="ic_of", header="of", role="label", values=tuple(one.of for one in inputs)),
        Column(key="ic_name", header="input", role="label", values=tuple(one.key for one in inputs)),
        work("ic_unread", "not readable", "no", each(_unread)),
        work("ic_part", "not whole", "no", each(_whole)),
        work("ic_missing", "missing", "no", each(lambda one: _missing(one, known))),
        work("ic_numbers", "numbers", "no", smallest("COUNT")),
        work("ic_least", "least", "as shown", smallest("MIN")),
        work("ic_most", "greatest", "as shown", smallest("MAX")),
        Column(key="ic_low", header="not under", unit="as shown", values=tuple(low for low, _, _ in limits)),
        Column(key="ic_high", header="not over", unit="as shown", values=tuple(high for _, high, _ in limits)),
        Column(key="ic_strict", header="nor the least itself", unit="0/1", values=tuple(strict for _, _, strict in limits)),
        work("ic_under", "too little", "0/1",
             "=IF(OR(ROUND([ic_least],6)<ROUND([ic_low],6),AND([ic_strict]=1,ROUND([ic_least],6)=ROUND([ic_low],6))),"
             "MIN(1,[ic_numbers]),0)"),
        work("ic_over", "too much", "0/1", "=IF(ROUND([ic_most],6)>ROUND([ic_high],6),MIN(1,[ic_numbers]),0)"),
        Column(key="ic_bad", header="to put right", unit="no", role="check",
               formula="=[ic_unread]+[ic_part]+[ic_missing]+[ic_under]+[ic_over]"),
    )  # fmt: skip
    return Sheet(
        title="Work inputs",
        purpose="Each input: what cannot be read, is no word of its list, is missing, or is out of its limits.",
        parts=(
            Table(key="input_checks", title="Inputs", rows=len(inputs), columns=columns),
            *_whole_tables(inputs, rows),
        ),
        working=True,
    )
