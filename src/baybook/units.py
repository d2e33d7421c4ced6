"""Lengths, areas, rain and falls as people write them, to plain numbers and back.

The grammar is our own and strict: the whole text must be one quantity, and what could mean two things is refused with
the reason. Values are exact fractions until the last step. The only importer of pint, which converts and never parses
(it multiplies across a space: 12 ft 6 in would be 72 ft·in).
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from types import MappingProxyType
from typing import Any, NamedTuple

__all__ = [
    "CU_IN_PER_FL_OZ",
    "FACTORS",
    "GPM_PER_IN_H_SQ_FT",
    "IN_PER_FT",
    "IN_PER_FT_PER_PERCENT",
    "IN_PER_M",
    "L_S_PER_GPM",
    "MM_PER_IN",
    "M_PER_FT",
    "SQ_FT_PER_M2",
    "SQ_IN_PER_SQ_FT",
    "Factor",
    "UnitError",
    "convert",
    "feet_inches",
    "metric",
    "parse_area",
    "parse_fall",
    "parse_length",
    "parse_rain",
    "show_length",
]


class UnitError(ValueError):
    """A quantity that cannot be read.

    The message is one sentence: the text read, what is wrong with it and what would be right.
    """


class Factor(NamedTuple):
    """What one `from_unit` is in `to_unit`; the units are spelled as `convert` takes them."""

    value: float
    from_unit: str
    to_unit: str


IN_PER_FT = 12.0
M_PER_FT = 0.3048
MM_PER_IN = 25.4
IN_PER_M = 1 / 0.0254
SQ_IN_PER_SQ_FT = 144.0
SQ_FT_PER_M2 = 1 / 0.3048**2
GPM_PER_IN_H_SQ_FT = 7.480519 / 720  # as W1 states it: 7.480519 gal/cu ft is rounded, so right to 7 figures
L_S_PER_GPM = 3.785411784 / 60
CU_IN_PER_FL_OZ = 231 / 128
IN_PER_FT_PER_PERCENT = 0.12

FACTORS: Mapping[str, Factor] = MappingProxyType(
    {
        "IN_PER_FT": Factor(IN_PER_FT, "ft", "in"),
        "M_PER_FT": Factor(M_PER_FT, "ft", "m"),
        "MM_PER_IN": Factor(MM_PER_IN, "in", "mm"),
        "IN_PER_M": Factor(IN_PER_M, "m", "in"),
        "SQ_IN_PER_SQ_FT": Factor(SQ_IN_PER_SQ_FT, "ft**2", "in**2"),
        "SQ_FT_PER_M2": Factor(SQ_FT_PER_M2, "m**2", "ft**2"),
        "GPM_PER_IN_H_SQ_FT": Factor(GPM_PER_IN_H_SQ_FT, "in/hour*ft**2", "gallon/minute"),
        "L_S_PER_GPM": Factor(L_S_PER_GPM, "gallon/minute", "liter/second"),
        "CU_IN_PER_FL_OZ": Factor(CU_IN_PER_FL_OZ, "fluid_ounce", "in**3"),
        "IN_PER_FT_PER_PERCENT": Factor(IN_PER_FT_PER_PERCENT, "percent", "in/ft"),
    }
)

# --- What may be written ---------------------------------------------------------------------------------------------

_LONGEST_TEXT = 80
_LARGEST = 1_000_000  # in the unit returned: far beyond any deck, so a slip of the pen

_FOLD = str.maketrans(
    dict.fromkeys("\u00a0\u2007\u2009\u202f", " ")  # no-break, figure, thin and narrow no-break space
    | dict.fromkeys("’‘′", "'")
    | dict.fromkeys("”“″", '"')
    | dict.fromkeys("\u2044\u2215", "/")  # fraction slash, division slash
    | dict.fromkeys("\u2010\u2011\u2013\u2212", "-")  # hyphen, no-break hyphen, en dash, minus
)
_TYPOGRAPHIC = {"½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8"}

_GLYPH = f"[{''.join(_TYPOGRAPHIC)}]"
_FRACTION = rf"(?:(?:[0-9]+(?: +|-|(?={_GLYPH})))?(?:[0-9]+/[0-9]+|{_GLYPH}))"
_NUMBER = rf"(?:{_FRACTION}|[.,]?[0-9][0-9.,]*)"  # loose on separators: _decimal says what is wrong with them
_INCH_MARK = r'(?:"|inches|inch|in\.?)'
# A dash may follow the foot mark, as drawings have it (14'-3 1/2"), but not the word, where it could be a minus.
_FOOT_MARK = r"(?:'(?: *|-| - )|(?:feet|foot|ft(?:\.(?= ))?) *)"

_ONE_QUANTITY = re.compile(rf"(?P<sign>-?)(?P<number>{_NUMBER}) *(?P<unit>(?:[^0-9 ].*)?)")
_FEET_AND_INCHES = re.compile(
    rf"(?P<sign>-?)(?P<feet>{_NUMBER}) *{_FOOT_MARK}(?!\.)(?P<inches>{_NUMBER}) *(?P<mark>{_INCH_MARK}?)",
    re.IGNORECASE | re.ASCII,
)
_MIXED = re.compile(rf"(?:(?P<whole>[0-9]+)(?: +|-|(?={_GLYPH})))?(?P<part>[0-9]+/[0-9]+|{_GLYPH})")
_TWO_NUMBERS = re.compile(
    rf"(?P<feet>-?[0-9]+)(?P<join> *- *| +)(?P<inches>{_NUMBER}) *{_INCH_MARK}?", re.IGNORECASE | re.ASCII
)
_SPACED_THOUSANDS = re.compile(r"-?[0-9]{1,3}(?: [0-9]{3})+(?:[.,][0-9]+)?(?: *[a-z'\"/ .%²]+)?", re.IGNORECASE)

_INCH = ('"', "in", "in.", "inch", "inches")
_FOOT = ("'", "ft", "ft.", "foot", "feet")
_HOUR = ("h", "hr", "hour")
_PER = ("/", " / ", " per ")

_FEET = Fraction(str(IN_PER_FT))
_MM = 1 / Fraction(str(MM_PER_IN))


@dataclass(frozen=True, slots=True)
class _Kind:
    """A kind of quantity: its units as people write them, each with its size in the unit the parser returns."""

    noun: str
    unit: str
    units: Mapping[str, Fraction]
    examples: str
    bare_rule: str
    signed: bool = True


_LENGTH = _Kind(
    noun="a length",
    unit="in",
    units=dict.fromkeys(_INCH, Fraction(1))
    | dict.fromkeys(_FOOT, _FEET)
    | {"mm": _MM, "cm": 10 * _MM, "m": 1000 * _MM},
    examples="14' 3-1/2\", 171.5 in, 4.35 m or 4350 mm",
    bare_rule="a metric book needs a unit beside every length: 4.35 m or 4350 mm",
)
_AREA = _Kind(
    noun="an area",
    unit="sq ft",
    units=dict.fromkeys(("sq ft", "sq. ft.", "sqft", "ft2", "ft²"), Fraction(1))
    | dict.fromkeys(("sq m", "m2", "m²"), 1 / Fraction(str(M_PER_FT)) ** 2),
    examples="130 sq ft or 12 m2",
    bare_rule="a metric book needs a unit beside every area: 12 m2 or 130 sq ft",
    signed=False,
)
_RAIN = _Kind(
    noun="a rate of rain",
    unit="in/h",
    units={f"{inch}{per}{hour}": Fraction(1) for inch in _INCH for per in _PER for hour in _HOUR}
    | {f"mm{per}{hour}": _MM for per in _PER for hour in _HOUR},
    examples="4.7 in/h or 120 mm/h",
    bare_rule="rain needs its unit: 4.7 in/h or 120 mm/h",
    signed=False,
)
_FALL = _Kind(
    noun="a fall",
    unit="in/ft",
    units={f"{inch}{per}{foot}": Fraction(1) for inch in _INCH for per in _PER for foot in _FOOT}
    | {f"mm{per}m": _FEET / 1000 for per in _PER}
    | {"%": _FEET / 100},
    examples="1/4 in/ft, 20 mm/m or 2 %",
    bare_rule="a fall needs its unit: 1/4 in/ft, 20 mm/m or 2 %",
)

# --- Reading ---------------------------------------------------------------------------------------------------------


def parse_length(text: str, bare: str | None) -> float:
    r"""Return a length as people write it.

    Feet and inches (' ft feet foot, " in inch inches), fractions (3-1/2, 3 1/2, 3½), a decimal point or an unmistakable
    decimal comma, m, cm and mm, with a leading minus if need be. Ranges are the caller's to check.

    Parameters
    ----------
    text : str
        What was written; the whole of it must be one length.
    bare : str or None
        The unit of a number without one: "ft", "in", "m" or "mm". None refuses such a number, even 0.

    Returns
    -------
    float
        The exact length, rounded to 12 places. [in]

    Raises
    ------
    UnitError
        If the text is no length, could be two, or is beyond a million inches. The message says what would be right.

    Examples
    --------
    >>> parse_length("14' 3-1/2\"", None)
    171.5
    >>> parse_length("12", "ft")
    144.0
    >>> parse_length("14-3 1/2", "ft")
    Traceback (most recent call last):
    baybook.units.UnitError: 14-3 1/2 could be 14 ft 3 1/2 in or 14 less 3 1/2: write 14' 3-1/2" or 14 ft 3.5 in
    """
    plain, shown = _folded(text, _LENGTH)
    match = _FEET_AND_INCHES.fullmatch(plain)
    inches = _feet_and_inches(match, shown) if match else _one_quantity(plain, shown, _LENGTH, bare)
    return _settled(inches, shown, _LENGTH)


def parse_area(text: str, bare: str | None) -> float:
    """Return an area as people write it.

    Parameters
    ----------
    text : str
        A number with sq ft, sqft, ft2, ft², sq m, m2 or m².
    bare : str or None
        The unit of a number without one: "sq ft" or "m2". None refuses such a number.

    Returns
    -------
    float
        The area, rounded to 12 places. [sq ft], >= 0

    Raises
    ------
    UnitError
        If the text is no area or is negative. The message says what would be right.

    Examples
    --------
    >>> parse_area("9.290304 m2", None)
    100.0
    """
    return _parsed(text, _AREA, bare)


def parse_rain(text: str) -> float:
    """Return a rate of rain as people write it; the unit is required.

    Parameters
    ----------
    text : str
        A number with in/h, in/hr, in/hour, mm/h, mm/hr or mm/hour.

    Returns
    -------
    float
        The rate, rounded to 12 places. [in/h], >= 0

    Raises
    ------
    UnitError
        If the text is no rate of rain, lacks its unit or is negative. The message says what would be right.

    Examples
    --------
    >>> parse_rain("127 mm/h")
    5.0
    """
    return _parsed(text, _RAIN, None)


def parse_fall(text: str, bare: str | None) -> float:
    """Return a fall as people write it.

    Parameters
    ----------
    text : str
        A number with in/ft, mm/m or %; a leading minus is a fall the other way.
    bare : str or None
        The unit of a number without one: "in/ft", "mm/m" or "%". None refuses such a number.

    Returns
    -------
    float
        The fall, rounded to 12 places. [in/ft]

    Raises
    ------
    UnitError
        If the text is no fall. The message says what would be right.

    Examples
    --------
    >>> parse_fall("1/4 in/ft", None), parse_fall("2 %", None)
    (0.25, 0.24)
    """
    return _parsed(text, _FALL, bare)


def _parsed(text: str, kind: _Kind, bare: str | None) -> float:
    plain, shown = _folded(text, kind)
    return _settled(_one_quantity(plain, shown, kind, bare), shown, kind)


def _folded(text: str, kind: _Kind) -> tuple[str, str]:
    """Return the text with typography made plain, and as a message shows it."""
    text = text.strip()
    shown = "".join(c if c.isprintable() else " " for c in text[: _LONGEST_TEXT // 2])
    if not text:
        raise UnitError(f"nothing is written where {kind.noun} belongs: write {kind.examples}")
    if len(text) > _LONGEST_TEXT:
        raise UnitError(f"{shown}… is too long to be {kind.noun}: write {kind.examples}")
    return text.translate(_FOLD).replace("''", '"'), shown if len(shown) == len(text) else f"{shown}…"


def _settled(value: Fraction, shown: str, kind: _Kind) -> float:
    if value < 0 and not kind.signed:
        raise UnitError(f"{shown} is below zero, which {kind.noun} cannot be: write it without the minus")
    if abs(value) > _LARGEST:
        raise UnitError(
            f"{shown} is over {_LARGEST:,} {kind.unit}, the most read as {kind.noun}: check the number and its unit"
        )
    return float(round(value, 12))


def _one_quantity(plain: str, shown: str, kind: _Kind, bare: str | None) -> Fraction:
    """Return a number with one unit, or a bare number in the unit `bare`."""
    match = _ONE_QUANTITY.fullmatch(plain)
    unit = " ".join(match["unit"].lower().split()) if match else ""
    if match is None or (unit and unit not in kind.units):
        raise UnitError(_why_not(plain, shown, kind, unit))
    if not unit and bare is None:
        raise UnitError(f"{shown} has no unit, and {kind.bare_rule}")
    value = _number(match["number"], shown) * kind.units[unit or str(bare)]
    return -value if match["sign"] else value


def _feet_and_inches(match: re.Match[str], shown: str) -> Fraction:
    inches = _number(match["inches"], shown)
    if not match["feet"].isdigit():
        _number(match["feet"], shown)  # a slip within the number is the better reason
        raise UnitError(f"{shown} has feet that are not whole before its inches: write whole feet, as in 14' 3\"")
    value = int(match["feet"]) * _FEET + inches
    if inches >= _FEET:
        cure = f"write inches below 12, or all of it in inches, {match['sign']}{float(value):.9g} in"
        raise UnitError(f"{shown} has 12 inches or more beside its feet: {cure}")
    if not match["mark"]:
        cure = f"write {match['sign']}{match['feet']}' {match['inches']}\""
        raise UnitError(f"{shown} ends in a number without its inch mark: {cure}")
    return -value if match["sign"] else value


def _number(number: str, shown: str) -> Fraction:
    """Return a whole, decimal, common or mixed number, exactly."""
    mixed = _MIXED.fullmatch(number)
    if mixed is None:
        return _decimal(number, shown)
    part = _TYPOGRAPHIC.get(mixed["part"], mixed["part"])
    above, below = map(int, part.split("/"))
    if not below:
        raise UnitError(f"{shown} has a fraction over zero, {part}: write a fraction such as 3-1/2")
    if above >= below:
        raise UnitError(f"{shown} has a fraction that is not below 1, {part}: write a mixed number such as 3-1/2")
    return int(mixed["whole"] or 0) + Fraction(above, below)


def _decimal(number: str, shown: str) -> Fraction:
    if re.fullmatch(r"[0-9]+|[0-9]*\.[0-9]+", number):
        return Fraction(number)
    whole, comma, places = number.partition(",")
    if not (comma and whole.isdigit() and places.isdigit()):
        raise UnitError(f"{shown} has a number written with stray or thousands separators: write it plainly, 1234.5")
    if len(places) == 3:
        raise UnitError(f"{shown} could be {int(whole + places)} or {whole}.{places}: write one of them, with no comma")
    return Fraction(f"{whole}.{places}")


def _why_not(plain: str, shown: str, kind: _Kind, unit: str) -> str:
    """Return the sentence for a text that is not one quantity of this kind."""
    if _SPACED_THOUSANDS.fullmatch(plain):
        return f"{shown} has a space inside its number: write {re.sub('(?<=[0-9]) (?=[0-9])', '', plain)}"
    two = _TWO_NUMBERS.fullmatch(plain) if kind is _LENGTH else None
    if two:
        feet, inches = two["feet"], two["inches"]
        value = _number(inches, shown)
        if value < _FEET:
            joined = inches.replace(" ", "-") if " " in inches else inches
            cure = f"write {feet}' {joined}\" or {feet} ft {float(value):.12g} in"
            if "-" in two["join"]:
                return f"{shown} could be {feet} ft {inches} in or {feet} less {inches}: {cure}"
            return f"{shown} does not say which number is feet and which inches: {cure}"
    if unit and unit.isprintable() and not re.search(rf"[0-9,.-]|{_GLYPH}", unit):
        return f"{shown} has a unit that is not read for {kind.noun}, {unit}: write {kind.examples}"
    return f"{shown} is not read as {kind.noun}: write {kind.examples}"


# --- Showing ---------------------------------------------------------------------------------------------------------


def feet_inches(inches: float) -> str:
    r"""Return a length in feet and inches, to the nearest sixteenth (a half goes away from zero).

    Parameters
    ----------
    inches : float
        Length. [in]

    Returns
    -------
    str
        Such as ``14' 3-1/2"``, ``14' 0"``, ``6"`` or ``-1/16"``.

    Raises
    ------
    UnitError
        If the length is not a finite number.

    Examples
    --------
    >>> feet_inches(171.5), feet_inches(6), feet_inches(168.03125)
    ('14\' 3-1/2"', '6"', '14\' 0-1/16"')
    """
    sixteenths = _nearest(inches, 16)
    feet, rest = divmod(sixteenths, 192)
    whole, part = divmod(rest, 16)
    fraction = str(Fraction(part, 16)) if part else ""
    shown = f'{whole}-{fraction}"' if fraction and (whole or feet) else f'{fraction or whole}"'
    return ("-" if inches < 0 and sixteenths else "") + (f"{feet}' {shown}" if feet else shown)


def metric(inches: float) -> str:
    """Return a length in metres from 1 m up and in millimetres below, to the nearest millimetre.

    Parameters
    ----------
    inches : float
        Length. [in]

    Returns
    -------
    str
        Such as ``4.350 m`` or ``350 mm``.

    Raises
    ------
    UnitError
        If the length is not a finite number.

    Examples
    --------
    >>> metric(171.26), metric(13.78)
    ('4.350 m', '350 mm')
    """
    mm = _nearest(inches, MM_PER_IN)
    shown = f"{mm // 1000}.{mm % 1000:03d} m" if mm >= 1000 else f"{mm} mm"
    return ("-" if inches < 0 and mm else "") + shown


def show_length(inches: float, units: str) -> str:
    """Return a length as the job shows it.

    Parameters
    ----------
    inches : float
        Length. [in]
    units : str
        "us" for feet and inches, "metric" for metres and millimetres.

    Returns
    -------
    str
        See `feet_inches` and `metric`.

    Raises
    ------
    UnitError
        If the length is not a finite number or `units` is neither.
    """
    if units not in {"us", "metric"}:
        raise UnitError(f"units is {units}: write us or metric")
    return feet_inches(inches) if units == "us" else metric(inches)


def _nearest(inches: float, steps_per_in: float) -> int:
    """Return the size in whole steps, without its sign; rounded to 6 places first, as before every floor."""
    if not math.isfinite(inches):
        raise UnitError(f"a length of {inches} cannot be shown: it must be a finite number of inches")
    return math.floor(round(abs(inches) * steps_per_in, 6) + 0.5)


# --- Everything else -------------------------------------------------------------------------------------------------


def convert(value: float, from_unit: str, to_unit: str) -> float:
    """Return a value in another unit, by pint.

    Parameters
    ----------
    value : float
        In `from_unit`.
    from_unit, to_unit : str
        Unit expressions of pint, such as "gallon/minute"; gallons and fluid ounces are US.

    Returns
    -------
    float
        In `to_unit`, not rounded.

    Raises
    ------
    UnitError
        If a unit is not known or the two measure different things.

    Examples
    --------
    >>> round(convert(1, "gallon/minute", "liter/second"), 7)
    0.0630902
    """
    registry = _registry()
    try:
        source, target = registry.parse_units(from_unit), registry.parse_units(to_unit)
        return float(registry.Quantity(value, source).to(target).magnitude)
    except Exception as error:  # pint raises AttributeError, TypeError, ValueError, AssertionError ... by the mishap
        raise UnitError(f"{value} {from_unit} does not convert to {to_unit}: name two units of one kind") from error


@cache
def _registry() -> Any:
    import pint

    return pint.UnitRegistry()
