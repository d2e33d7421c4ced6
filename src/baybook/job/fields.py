"""How an input is declared, read from text and shown again.

A field is declared once, beside the attribute that holds it (``job/records.py``, ``job/rates.py``). Reading and its
messages, the templates, the input sheets with their validation, export and the column docs all come from that.
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, fields, replace
from decimal import Decimal, InvalidOperation
from enum import Enum
from functools import cache
from typing import Any

from baybook import units

__all__ = ["Field", "Kind", "Reading", "declare", "fields_of", "parse", "show"]


class Kind(Enum):
    """What a field holds, hence how it is read and shown."""

    NAME = "a name, without * ? ~ and not beginning with < > ="
    TEXT = "text"
    LENGTH = "a length"
    JOIST = "a joist: 2x6 to 2x12, or a depth with its unit"
    FALL = "a fall"
    RAIN = "rain with its unit, 4.7 in/h or 120 mm/h"
    AREA = "an area"
    NUMBER = "a number"
    COUNT = "a whole number"
    PERCENT = "a percentage, 8.25 or 8.25%"
    SHARE = "a share from 0 to 1"
    MONEY = "an amount of money"
    EXACT = "an exact number"  # kept as the decimal it is written as
    DATE = "a date, 2026-11-25"
    WORD = "a word of a list"
    CURRENCY = "an ISO 4217 code, USD"
    SIZE = "a leader size, 2x3"


@dataclass(frozen=True, slots=True)
class Reading:
    """How a file's bare numbers are read.

    Parameters
    ----------
    metric : bool
        The book says ``units = metric``: a bare length is refused unless its column names a unit.
    decimal : str
        The decimal mark of the file, "." or ","; "?" where nothing tells it.
    """

    metric: bool = False
    decimal: str = "."


@dataclass(frozen=True, slots=True, kw_only=True)
class Field:
    """One input: a column of a CSV file or a key of rates.csv.

    Parameters
    ----------
    name : str
        Column or key as people write it.
    attribute : str
        Attribute of the record that holds it, with its unit.
    kind : Kind
        How it is read.
    default : Any
        Value of an empty cell; None where there is none.
    required : bool
        An empty cell is a problem.
    bare_unit : str
        Unit of a bare number; empty where a unit must be written.
    choices : tuple of str
        The words of a list.
    low, high : float or None
        Limits, both included; ``above`` an excluded lower limit.
    unit, rule, basis : str
        Unit of the value as held, the rule that uses it, and where it comes from.
    help : str
        What it means, in a line.
    """

    name: str
    attribute: str = ""
    kind: Kind = Kind.TEXT
    default: Any = None
    required: bool = False
    bare_unit: str = ""
    choices: tuple[str, ...] = ()
    low: float | None = None
    high: float | None = None
    above: float | None = None
    unit: str = ""
    rule: str = ""
    basis: str = ""
    help: str = ""
    example: str = ""


def declare(name: str, kind: Kind, **more: Any) -> Any:
    """Declare a dataclass attribute that is an input; the keywords are those of `Field`."""
    made = Field(name=name, kind=kind, **more)
    if made.required:
        return field(metadata={"input": made})
    return field(default=made.default, metadata={"input": made})


def fields_of(record: type) -> tuple[Field, ...]:
    """Return the declared inputs of a record, in order, each knowing its attribute."""
    return _fields_of(record)


@cache
def _fields_of(record: type) -> tuple[Field, ...]:
    declared = ((one.name, one.metadata["input"]) for one in fields(record) if "input" in one.metadata)
    return tuple(replace(made, attribute=name) for name, made in declared)


# ---------------------------------------------------------------------------------------------- reading

_PLAIN = re.compile(r"[-+]?(\d+(\.\d*)?|\.\d+)")
_GROUPED = re.compile(r"[-+]?\d{1,3}(,\d{3})+\.\d+")
FIRST_YEAR = 1950  # an earlier year is a slip, and a workbook counts no day before 1900
_DATE = re.compile(
    r"(?P<y>\d{4})-(?P<m>\d{2})-(?P<d>\d{2})|(?P<one>\d{1,2})(?P<mark>[./-])(?P<two>\d{1,2})(?P=mark)(?P<year>\d{4})",
    re.ASCII,
)
_DOUBTFUL = re.compile(r"(?<![\d.,])[1-9]\d{0,2}\.\d{3}(?![\d.,])")
_GROUPED_COMMA = re.compile(r"[-+]?\d{1,3}(\.\d{3})+,\d+")


def _doubtful(text: str, reading: Reading) -> None:
    """Refuse 1.234 where the file does not write its numbers with a decimal point: it may be a thousand and more."""
    found = _DOUBTFUL.search(text) if reading.decimal != "." else None
    if found:
        whole, places = found[0].split(".")
        plain = f"{whole}.{places}0" if reading.decimal == "?" else f"{whole},{places}"
        raise ValueError(f"{text!r} is ambiguous: write {whole}{places}, or {plain} if it is {whole} and a part")


def _number(text: str, reading: Reading) -> Decimal:
    """Read a plain number; thousands separators only where they leave no doubt."""
    bare = text.replace("\u00a0", "").replace("\u202f", "").strip()
    _doubtful(bare, reading)
    if reading.decimal == ",":
        if _GROUPED_COMMA.fullmatch(bare):
            bare = bare.replace(".", "")
        bare = bare.replace(",", ".") if bare.count(",") == 1 else bare
    elif "," in bare:
        if re.fullmatch(r"[-+]?\d{1,3},\d{3}", bare):
            raise ValueError(f"{text!r} is ambiguous: write {bare.replace(',', '')} or {bare.replace(',', '.')}")
        if not _GROUPED.fullmatch(bare):
            cure = f", {bare.replace(',', '.')}" if bare.count(",") == 1 and "." not in bare else ""
            raise ValueError(f"{text!r} is not a number: write digits with a decimal point{cure}")
        bare = bare.replace(",", "")
    if not _PLAIN.fullmatch(bare) or len(bare) > 30:
        raise ValueError(f"{text[:40]!r} is not a number: write digits, such as 12{reading.decimal.replace('?', '.')}5")
    return Decimal(bare)


def _percent(text: str, reading: Reading) -> Decimal:
    signed = text.endswith("%")
    value = _number(text.rstrip("%").rstrip(), reading)
    if not signed and 0 < value < 1:
        cures = f"{(value * 100).normalize():f}% or {value:f}%"
        raise ValueError(f"{text!r} is ambiguous: write {cures.replace('.', reading.decimal.replace('?', '.'))}")
    return value / 100


def _money(text: str, reading: Reading) -> Decimal:
    return _number(text.strip("$€£ \u00a0\u202f"), reading)


def _count(text: str, reading: Reading) -> int:
    value = _number(text, reading)
    if value != value.to_integral_value():
        raise ValueError(f"{text!r} is not a whole number: write it without decimals, such as 2")
    return int(value)


def _date(text: str) -> dt.date:
    """Read year-month-day; as spreadsheet programs of other countries save it only where it can be one day alone."""
    found = _DATE.fullmatch(text)
    if found is None:
        raise ValueError(f"{text!r} is not a date: write year-month-day, 2026-11-25")
    year, month, day = (found["y"] or found["year"]), (found["m"] or found["one"]), (found["d"] or found["two"])
    days = dict.fromkeys(filter(None, (_day(year, month, day), None if found["y"] else _day(year, day, month))))
    if not days:
        raise ValueError(f"{text!r} is no day of the calendar: write year-month-day, 2026-11-25")
    if len(days) > 1:
        raise ValueError(f"{text!r} is ambiguous: write {' or '.join(map(str, sorted(days)))}")
    only = next(iter(days))
    if only.year < FIRST_YEAR:
        raise ValueError(f"{text!r} is long before any deck: check the year, and write year-month-day, 2026-11-25")
    return only


def _day(year: str, month: str, day: str) -> dt.date | None:
    try:
        return dt.date(int(year), int(month), int(day))
    except ValueError:
        return None


def _name(text: str) -> str:
    if any(mark in text for mark in "*?~") or text[:1] in "<>=":
        signs = "which a spreadsheet takes for a search: write it without them"
        raise ValueError(f"{text!r} may not hold * ? ~ nor begin with < > =, {signs}")
    if len(text) > 100:
        raise ValueError(f"{text[:20]!r}... is longer than 100 characters: shorten the name")
    return text


def _word(text: str, one: Field) -> str:
    found = text.casefold()
    if found not in one.choices:
        raise ValueError(f"{text!r} is not one of {', '.join(one.choices)}")
    return found


def _joist(text: str) -> float:
    from baybook.data import dressed_depths

    depths = dressed_depths()
    code = text.lower().replace(" ", "").replace("×", "x")
    if code in depths:
        return depths[code]
    if re.fullmatch(r"\d+x\d+", code):
        raise ValueError(
            f"{text!r} is not a dressed size known here ({', '.join(depths)}): give the depth with its unit"
        )
    return units.parse_length(text, None)


def _currency(text: str) -> str:
    code = text.upper()
    if not re.fullmatch(r"[A-Z]{3}", code):
        raise ValueError(f"{text!r} is no currency: write the three letters of its code (ISO 4217), such as USD")
    return code


def _size(text: str) -> str:
    code = text.lower().replace(" ", "").replace("×", "x")
    sides = re.fullmatch(r"(\d+(?:\.\d+)?)x(\d+(?:\.\d+)?)", code)
    if not sides or not all(0 < float(side) <= 24 for side in sides.groups()):
        raise ValueError(f"{text!r} is not a leader size: write its two sides in inches, 2x3")
    return code


def _length(text: str, one: Field, reading: Reading) -> float:
    named = one.name.endswith(("_in", "_ft"))
    bare = one.bare_unit if named or not reading.metric else None
    value = units.parse_length(text, bare or None)
    return round(value / 12, 12) if one.unit == "ft" else value


_MEASURES = (Kind.LENGTH, Kind.JOIST, Kind.FALL, Kind.RAIN, Kind.AREA)


def _measure(text: str, reading: Reading) -> str:
    """Return a measure with the decimal point that `units` reads, where the file is known to write a comma."""
    _doubtful(text, reading)
    return text.replace(",", ".") if reading.decimal == "," and text.count(",") == 1 and "." not in text else text


def _typed(text: str, one: Field, reading: Reading) -> Any:
    text = _measure(text, reading) if one.kind in _MEASURES else text
    simple: dict[Kind, Callable[[], Any]] = {
        Kind.NAME: lambda: _name(text),
        Kind.TEXT: lambda: text,
        Kind.LENGTH: lambda: _length(text, one, reading),
        Kind.JOIST: lambda: _joist(text),
        Kind.FALL: lambda: units.parse_fall(text, "in/ft"),
        Kind.RAIN: lambda: units.parse_rain(text),
        Kind.AREA: lambda: units.parse_area(text, one.bare_unit or None),
        Kind.NUMBER: lambda: float(_number(text, reading)),
        Kind.COUNT: lambda: _count(text, reading),
        Kind.PERCENT: lambda: _percent(text, reading),
        Kind.SHARE: lambda: float(_number(text, reading)),
        Kind.MONEY: lambda: _money(text, reading),
        Kind.EXACT: lambda: _number(text, reading),
        Kind.DATE: lambda: _date(text),
        Kind.WORD: lambda: _word(text, one),
        Kind.CURRENCY: lambda: _currency(text),
        Kind.SIZE: lambda: _size(text),
    }
    return simple[one.kind]()


def _limits(one: Field, value: Any, text: str) -> None:
    if isinstance(value, str | dt.date):
        return
    low, high = one.low, one.high
    if one.kind is Kind.SHARE:
        low, high = 0.0, 1.0
    times, unit = (100, " %") if one.kind is Kind.PERCENT else (1, f" {one.unit}" if one.unit else "")
    if one.above is not None and not value > one.above:
        raise ValueError(f"{text!r} must be above {times * one.above:g}{unit}")
    if low is not None and value < low:
        raise ValueError(f"{text!r} must be {times * low:g}{unit} or more")
    if high is not None and value > high:
        raise ValueError(f"{text!r} must be {times * high:g}{unit} or less")


def parse(one: Field, text: str, reading: Reading) -> Any:
    """Read one cell.

    Parameters
    ----------
    one : Field
        Its declaration.
    text : str
        What stands in the cell, trimmed.
    reading : Reading
        Units and decimal mark of the file.

    Returns
    -------
    Any
        The value in the unit of the field's attribute; the default where the cell is empty.

    Raises
    ------
    ValueError
        If it cannot be read or is out of its limits; the message is a sentence without the place.
    """
    if not text:
        if one.required:
            what = f"one of {', '.join(one.choices)}" if one.kind is Kind.WORD else one.kind.value
            raise ValueError(f"is empty and is needed: {what} ({one.help})")
        return one.default
    try:
        value = _typed(text, one, reading)
    except InvalidOperation:
        raise ValueError(f"{text[:40]!r} is not a number: write digits, such as 12.5") from None
    _limits(one, value, text)
    return value


# ---------------------------------------------------------------------------------------------- showing


def _plain(value: float | Decimal) -> str:
    text = format(value, "f") if isinstance(value, Decimal) else repr(value)
    if "e" in text:
        text = format(Decimal(text), "f")
    return text.rstrip("0").rstrip(".") if "." in text else text


_SHOWN: Mapping[Kind, Callable[[Any], str]] = {
    Kind.FALL: lambda value: f"{_plain(value)} in/ft",
    Kind.RAIN: lambda value: f"{_plain(value)} in/h",
    Kind.PERCENT: lambda value: f"{_plain(value * 100)}%",
    Kind.DATE: lambda value: value.isoformat(),
}


def show(one: Field, value: Any) -> str:
    """Return a value as text that `parse` reads back to the same value.

    Parameters
    ----------
    one : Field
        Its declaration.
    value : Any
        The value, or None for an empty cell.

    Returns
    -------
    str
        The text for a CSV cell.
    """
    if value is None:
        return ""
    if one.kind in _SHOWN:
        return _SHOWN[one.kind](value)
    if one.kind in {Kind.LENGTH, Kind.JOIST}:
        return _plain(value) if one.name.endswith(("_in", "_ft")) else f"{_plain(value)} in"
    if one.kind is Kind.AREA:
        return f"{_plain(value)} sq ft"
    return value if isinstance(value, str) else _plain(value)
