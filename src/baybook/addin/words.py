"""Functions on lengths as people write them, on rates, and on what is wrong with a call."""

from __future__ import annotations

from dataclasses import fields
from decimal import Decimal
from typing import Any

from baybook.addin.declare import UNITS, Function, arg, one_value, table
from baybook.addin.reading import Refusal, is_blank, read_cell
from baybook.job.fields import Kind
from baybook.job.rates import Rates, rate_field
from baybook.units import feet_inches

__all__ = ["FUNCTIONS", "rates_of"]

_LENGTH = arg(
    Kind.LENGTH, "length", bare_unit="in", unit="in", low=-1_000_000, high=1_000_000, help="14' 3-1/2\" or 4.35 m"
)


def _key(cell: Any, where: str) -> str:
    return str(read_cell(arg(Kind.TEXT, "key", help="a key of rates.csv").field, cell, where)).casefold()


def _own_values(own_rates: list[list[Any]] | None) -> dict[str, Any]:
    """Read a table of own rates; blank rows and a heading are passed over."""
    found = {}
    for number, row in enumerate(own_rates or (), 1):
        if all(is_blank(cell) for cell in row):
            continue
        where = f"own_rates, row {number}"
        if len(row) < 2:
            raise Refusal("own_rates has one column; it takes two: key and value")
        key = _key(row[0], where)
        one = rate_field(key)
        if one is None and number == 1 and str(row[1]).strip().casefold() == "value":
            continue
        if one is None:
            raise Refusal(f"{where}: {key!r} is no key of rates.csv")
        found[one.attribute] = read_cell(one, row[1], f"{where}, {key}")
    return found


def rates_of(own_rates: list[list[Any]] | None) -> Rates:
    """Return the rates in force: the defaults, and in their place the rows of a table of own ones.

    Parameters
    ----------
    own_rates : list of list, optional
        Rows of key and value.

    Returns
    -------
    Rates
        As the take-off takes them.

    Raises
    ------
    Refusal
        If a key is unknown or a value cannot be read.
    """
    own = _own_values(own_rates)
    names = {one.name for one in fields(Rates)}
    waste = {key.removeprefix("waste_"): value for key, value in own.items() if key not in names}
    return Rates(**{key: value for key, value in own.items() if key in names}, waste=waste)


def _rate(key: str, own_rates: list[list[Any]] | None) -> Any:
    one = rate_field(key.casefold())
    if one is None:
        raise Refusal(f"{key!r} is no key of rates.csv")
    value = _own_values(own_rates).get(one.attribute, one.default)
    return float(value) if isinstance(value, Decimal) else value


FUNCTIONS = (
    Function(
        name="BAY_INCHES",
        help="A length as people write it, as a number.",
        args=(_LENGTH, UNITS),
        gives=one_value("length", "in"),
        core=float,
        engine="units.parse_length",
        example=("14' 3-1/2\"",),
    ),
    Function(
        name="BAY_FEET_INCHES",
        help="A length as text in feet, inches and sixteenths.",
        args=(_LENGTH,),
        gives=one_value("text"),
        core=feet_inches,
        engine="units.feet_inches",
        example=(171.5,),
    ),
    Function(
        name="BAY_RATE",
        help="A rate in force: your own if your table has it, else the default.",
        args=(
            arg(Kind.TEXT, "key", help="as in rates.csv, such as splice_lap_in"),
            table("own_rates", "two columns: key and value of each rate that is not the default", optional=True),
        ),
        gives=one_value("value in the unit of its key"),
        core=_rate,
        engine="job.rates.rate_field",
        example=("splice_lap_in",),
    ),
)
