"""What spreadsheet values mean: numbers, texts, blanks, errors, comparison, rounding and criteria.

Numbers are floats, texts str, truth values bool, a blank cell None, an error an `ErrorValue`. Where the programs
disagree Excel's way is taken; the lint and the declarations keep to what all of them do alike.
"""

from __future__ import annotations

import datetime as dt
import math
import re
from collections.abc import Callable
from decimal import ROUND_CEILING, ROUND_DOWN, ROUND_FLOOR, ROUND_HALF_UP, ROUND_UP, Decimal
from functools import lru_cache
from typing import Any, NamedTuple

__all__ = [
    "SCALAR_FUNCTIONS",
    "SIGNS",
    "SNAP",
    "Criterion",
    "ErrorValue",
    "Fault",
    "cell_value",
    "compare",
    "criterion",
    "equality_key",
    "number",
    "number_text",
    "text",
    "truth",
    "wildcard",
]

SNAP = 2.0**-48  # two numbers this near, relatively, count as equal; their difference as nothing
_NUMERIC = re.compile(r"\s*[-+]?(?:\d+\.?\d*|\.\d+)(?:[Ee][-+]?\d+)?\s*", re.ASCII)
_CRITERION = re.compile(r"(<=|>=|<>|<|>|=)?(.*)", re.DOTALL)
_EPOCH = dt.date(1899, 12, 30)
_MARCH_1900, _AFTER_9999 = 61, 2_958_466


class ErrorValue(str):
    """An error as a cell shows it, such as ``#N/A``; a text of the same letters is a plain str."""

    __slots__ = ()


class Fault(Exception):  # noqa: N818  not a failure of the program: a value on its way to the cell
    """Carries an error value out of a formula."""

    def __init__(self, code: str) -> None:
        self.value = code if isinstance(code, ErrorValue) else ErrorValue(code)
        super().__init__(code)


def cell_value(value: Any) -> Any:
    """Return a declared constant as a cell holds it: dates as serial days, empty text as a blank."""
    if value is None or value == "":
        return None
    if isinstance(value, (bool, str)):
        return value
    if isinstance(value, dt.datetime):
        return (value - dt.datetime(1899, 12, 30, tzinfo=value.tzinfo)) / dt.timedelta(days=1)
    if isinstance(value, dt.date):
        return float((value - _EPOCH).days)
    if not math.isfinite(value):
        raise ValueError(f"A cell cannot hold {value}; give a finite number or leave it blank.")
    return float(value)


def number(value: Any) -> float:
    """Return a value as a number; a text that is no number is ``#VALUE!``."""
    if type(value) is float:
        return value
    if value is None:
        return 0.0
    if isinstance(value, str) and not _NUMERIC.fullmatch(value):
        raise Fault("#VALUE!")
    return float(value)


def truth(value: Any) -> bool:
    """Return a value as a condition; a text is ``#VALUE!``."""
    if type(value) is bool:
        return value
    if isinstance(value, str):
        raise Fault("#VALUE!")
    return bool(value)


def text(value: Any) -> str:
    """Return a value as text, a number as General shows it."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "TRUE" if value else "FALSE"
    return value if isinstance(value, str) else number_text(value)


def number_text(value: float) -> str:
    """Return a number in up to 15 significant digits, in full unless that takes more than 21 characters."""
    short = f"{value:.15g}"
    if "e" not in short:
        return "0" if short == "-0" else short
    full = f"{Decimal(short):f}"
    if len(full) <= 21:
        return full
    digits, power = short.split("e")
    return f"{digits}E{power[0]}{power[1:].zfill(2)}"


def compare(sign: str, left: Any, right: Any) -> bool:
    """Compare as a spreadsheet does: numbers before texts before truth values, texts without case."""
    if type(left) is float and type(right) is float:
        order = 0.0 if left == right or abs(left - right) < SNAP * abs(left) else left - right
        return _ORDERED[sign](order)
    left, right = _blank_as(left, right), _blank_as(right, left)
    rank = _rank(left) - _rank(right)
    if rank:
        return _ORDERED[sign](rank)
    if isinstance(left, str):
        left, right = left.lower(), right.lower()
    return _ORDERED[sign]((left > right) - (left < right))


_ORDERED: dict[str, Callable[[float], bool]] = {
    "=": lambda order: order == 0,
    "<>": lambda order: order != 0,
    "<": lambda order: order < 0,
    ">": lambda order: order > 0,
    "<=": lambda order: order <= 0,
    ">=": lambda order: order >= 0,
}


def _blank_as(value: Any, other: Any) -> Any:
    if value is not None:
        return value
    return False if isinstance(other, bool) else "" if isinstance(other, str) else 0.0


def _rank(value: Any) -> int:
    return 2 if isinstance(value, bool) else 1 if isinstance(value, str) else 0


def finite(value: float) -> float:
    """Return a number; one too great for a cell is ``#NUM!``."""
    if value - value != 0:
        raise Fault("#NUM!")
    return value


def add(left: Any, right: Any) -> float:
    """Add; what is left of two numbers that are equal but for binary noise is nothing."""
    left, right = number(left), number(right)
    total = finite(left + right)
    return 0.0 if abs(total) < SNAP * abs(left) else total


def subtract(left: Any, right: Any) -> float:
    """Subtract, as `add` does."""
    left, right = number(left), number(right)
    total = finite(left - right)
    return 0.0 if abs(total) < SNAP * abs(left) else total


def multiply(left: Any, right: Any) -> float:
    """Multiply."""
    return finite(number(left) * number(right))


def divide(left: Any, right: Any) -> float:
    """Divide; by nothing is ``#DIV/0!``."""
    below = number(right)
    if below == 0:
        number(left)
        raise Fault("#DIV/0!")
    return finite(number(left) / below)


def power(left: Any, right: Any) -> float:
    """Raise to a power; what has no real value is ``#NUM!``."""
    base, exponent = number(left), number(right)
    if base == 0 and exponent <= 0:
        raise Fault("#NUM!" if exponent == 0 else "#DIV/0!")
    try:
        result = base**exponent
    except OverflowError:
        raise Fault("#NUM!") from None
    if isinstance(result, complex):
        raise Fault("#NUM!")
    return float(result)


SIGNS: dict[str, Callable[[Any, Any], Any]] = {
    "+": add,
    "-": subtract,
    "*": multiply,
    "/": divide,
    "^": power,
    "&": lambda left, right: text(left) + text(right),
    "=": lambda left, right: compare("=", left, right),
    "<>": lambda left, right: compare("<>", left, right),
    "<": lambda left, right: compare("<", left, right),
    ">": lambda left, right: compare(">", left, right),
    "<=": lambda left, right: compare("<=", left, right),
    ">=": lambda left, right: compare(">=", left, right),
}


class Criterion(NamedTuple):
    """A condition of COUNTIF and its kin.

    `equal` is the key of plain equality (see `equality_key`), None if it is anything else; `bound` is the sign and
    number of an inequality; `test` decides for one cell.
    """

    equal: Any
    bound: tuple[str, float] | None
    test: Callable[[Any], bool]


def equality_key(value: Any) -> Any:
    """Return what a cell is looked up by: its number (also one written as text), its text without case, or ""."""
    if type(value) is float:
        return value
    if value is None or value == "":
        return ""
    if isinstance(value, bool):
        return (value,)
    if isinstance(value, ErrorValue):
        return (str(value),)
    return float(value) if _NUMERIC.fullmatch(value) else value.lower()


@lru_cache(maxsize=100_000, typed=True)
def criterion(value: Any) -> Criterion:
    """Read a criterion: a number, a text, ``"<="&number`` and the like; a blank one stands for 0."""
    if not isinstance(value, str):
        return _equal(0.0 if value is None else equality_key(value))
    found = _CRITERION.match(value)
    sign, rest = (found[1] or "", found[2]) if found else ("", value)
    if sign in {"", "="} and rest:
        return _wildcard(rest) if re.search(r"[*?~]", rest) else _equal(equality_key(rest))
    if sign == "<>":
        return _unequal(rest)
    if not rest:
        return _equal("") if not sign else Criterion(None, None, lambda cell: cell is None and sign == "=")
    holds = _ORDERED[sign]
    if _NUMERIC.fullmatch(rest):
        limit = float(rest)
        return Criterion(None, (sign, limit), lambda cell: type(cell) is float and holds(cell - limit))
    word = rest.lower()
    return Criterion(
        None, None, lambda cell: type(cell) is str and holds((cell.lower() > word) - (cell.lower() < word))
    )


def _equal(key: Any) -> Criterion:
    return Criterion(key, None, lambda cell: bool(equality_key(cell) == key))


def _unequal(rest: str) -> Criterion:
    if not rest:
        return Criterion(None, None, lambda cell: cell is not None)
    same = criterion(rest).test
    return Criterion(None, None, lambda cell: not same(cell))


def _wildcard(pattern: str) -> Criterion:
    found = wildcard(pattern)
    return Criterion(None, None, lambda cell: type(cell) is str and found.fullmatch(cell) is not None)


@lru_cache(maxsize=1000)
def wildcard(pattern: str) -> re.Pattern[str]:
    """Return the expression of a pattern in which ? is one character, * any, and ~ makes the next plain."""
    parts = re.findall(r"~[*?~]|.", pattern, re.DOTALL)
    made = [{"*": ".*", "?": "."}.get(part) or re.escape(part[-1]) for part in parts]
    return re.compile("".join(made), re.IGNORECASE | re.DOTALL)


def round_half_away(value: float, places: float) -> float:
    """Round half away from zero, in the decimals the number is written with."""
    digits = int(places)
    scaled = abs(value) * 10.0**digits + 0.5
    if 0 <= digits <= 8 and 1 <= scaled < 1e9:
        whole = math.floor(scaled)
        if 1e-6 < scaled - whole < 1 - 1e-6:  # not near a half: binary noise cannot matter
            return math.copysign(whole / 10.0**digits, value)
    return _quantize(value, digits, ROUND_HALF_UP)


def _quantize(value: float, places: float, rounding: str) -> float:
    if value == 0 or (places >= 0 and value.is_integer()):
        return value
    exact = Decimal(repr(value))
    step = Decimal(1).scaleb(-int(places))
    return float((exact / step).to_integral_value(rounding) * step)


def _multiple(value: float, step: float, rounding: str) -> float:
    """CEILING and FLOOR: the next multiple of the step, both of one sign."""
    if value == 0:
        return 0.0
    if value > 0 > step:
        raise Fault("#NUM!")
    unit = Decimal(repr(step))
    return float((Decimal(repr(value)) / unit).to_integral_value(rounding) * unit)


def _ceiling(value: float, step: float) -> float:
    if step == 0:
        return 0.0
    return _multiple(value, step, ROUND_UP if value < 0 and step < 0 else ROUND_CEILING)


def _floor(value: float, step: float) -> float:
    if step == 0:
        raise Fault("#DIV/0!")
    return _multiple(value, step, ROUND_DOWN if value < 0 and step < 0 else ROUND_FLOOR)


def _mod(value: float, divisor: float) -> float:
    if divisor == 0:
        raise Fault("#DIV/0!")
    return value % divisor


def _square_root(value: float) -> float:
    if value < 0:
        raise Fault("#NUM!")
    return math.sqrt(value)


def _arc_cosine(value: float) -> float:
    if not -1 <= value <= 1:
        raise Fault("#NUM!")
    return math.acos(value)


def _date(year: float, month: float, day: float) -> float:
    months = int(year) * 12 + int(month) - 1
    years = months // 12 + (1900 if int(year) < 1900 else 0)
    try:
        return float((dt.date(years, months % 12 + 1, 1) - _EPOCH).days + int(day) - 1)
    except (ValueError, OverflowError):
        raise Fault("#NUM!") from None


def _day(serial: float) -> dt.date:
    """Return the day of a serial number; before March 1900 the programs count differently."""
    if not _MARCH_1900 <= serial < _AFTER_9999:
        raise Fault("#NUM!")
    return _EPOCH + dt.timedelta(days=int(serial))


def _left(value: str, count: float = 1.0) -> str:
    if count < 0:
        raise Fault("#VALUE!")
    return value[: int(count)]


def _mid(value: str, start: float, count: float) -> str:
    if start < 1 or count < 0:
        raise Fault("#VALUE!")
    return value[int(start) - 1 : int(start) - 1 + int(count)]


def _substitute(value: str, old: str, new: str, which: float | None = None) -> str:
    if which is None or not old:
        return value.replace(old, new) if old else value
    if which < 1:
        raise Fault("#VALUE!")
    parts = value.split(old)
    at = int(which)
    return value if at >= len(parts) else old.join(parts[:at]) + new + old.join(parts[at:])


# name: (what each argument is read as, how many of them are needed, what is done)
SCALAR_FUNCTIONS: dict[str, tuple[tuple[Callable[[Any], Any], ...], int, Callable[..., Any]]] = {
    "ROUND": ((number, number), 2, round_half_away),
    "ROUNDUP": ((number, number), 2, lambda value, places: _quantize(value, places, ROUND_UP)),
    "ROUNDDOWN": ((number, number), 2, lambda value, places: _quantize(value, places, ROUND_DOWN)),
    "TRUNC": ((number, number), 1, lambda value, places=0.0: _quantize(value, places, ROUND_DOWN)),
    "INT": ((number,), 1, lambda value: _quantize(value, 0, ROUND_FLOOR)),
    "CEILING": ((number, number), 2, _ceiling),
    "FLOOR": ((number, number), 2, _floor),
    "MOD": ((number, number), 2, _mod),
    "SQRT": ((number,), 1, _square_root),
    "ABS": ((number,), 1, abs),
    "PI": ((), 0, lambda: math.pi),
    "SIN": ((number,), 1, math.sin),
    "ACOS": ((number,), 1, _arc_cosine),
    "DATE": ((number, number, number), 3, _date),
    "YEAR": ((number,), 1, lambda serial: float(_day(serial).year)),
    "MONTH": ((number,), 1, lambda serial: float(_day(serial).month)),
    "DAY": ((number,), 1, lambda serial: float(_day(serial).day)),
    "NOT": ((truth,), 1, lambda value: not value),
    "LEN": ((text,), 1, lambda value: float(len(value))),
    "LEFT": ((text, number), 1, _left),
    "MID": ((text, number, number), 3, _mid),
    "SUBSTITUTE": ((text, text, text, number), 3, _substitute),
}
