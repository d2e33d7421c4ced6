"""How a spreadsheet function is declared: its arguments, what it gives, and the core function behind it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from enum import Enum
from typing import Any

from baybook.job.fields import Field, Kind, fields_of, show
from baybook.units import IN_PER_FT, L_S_PER_GPM, M_PER_FT, MM_PER_IN

__all__ = [
    "METRIC_UNITS",
    "PREFIX",
    "UNITS",
    "Argument",
    "Function",
    "Gives",
    "Head",
    "Pieces",
    "Span",
    "arg",
    "camel",
    "cells",
    "many_values",
    "one_value",
    "rest",
    "rows_of",
    "table",
    "unit_of",
]

PREFIX = "BAY_"
METRIC_UNITS = {
    "in": ("mm", MM_PER_IN),
    "ft": ("m", M_PER_FT),
    "gpm": ("L/s", L_S_PER_GPM),
    "in/ft": ("mm/m", 1000 / IN_PER_FT),
}
"""US unit of a result to its metric unit and the factor between them."""


def camel(name: str) -> str:
    """Return a name without underscores, for where none may stand: ``cut_plan`` is ``cutPlan``."""
    first, *others = name.split("_")
    return first + "".join(word.capitalize() for word in others)


class Span(Enum):
    """How many cells an argument takes."""

    ONE = "one cell"
    CELLS = "one cell or a range; the result has the same shape"
    TABLE = "a range"
    REST = "any number of arguments"


@dataclass(frozen=True, slots=True, kw_only=True)
class Argument:
    """One argument of a function.

    Parameters
    ----------
    field : Field
        What one cell of it holds: kind, unit of a bare number, default, limits, help.
    span : Span
        How many cells it takes.
    optional : bool
        It may be left out; the field's default then counts.
    """

    field: Field
    span: Span = Span.ONE
    optional: bool = False

    @property
    def name(self) -> str:
        """Name in every face."""
        return self.field.name

    @property
    def unit(self) -> str:
        """Unit of a bare number; empty where there is none."""
        return unit_of(self.field)

    @property
    def default(self) -> str:
        """What counts if it is left out, as text; empty if it must be given."""
        value = self.field.default
        if not self.optional:
            return ""
        if value in {None, ""}:
            return "none"
        if self.field.kind is Kind.PERCENT:
            return show(self.field, value)
        if self.field.kind is Kind.LENGTH and self.field.bare_unit == "ft" and self.field.unit == "in":
            value /= IN_PER_FT
        return f"{value:g}" if isinstance(value, float) else str(value)

    @property
    def help(self) -> str:
        """The line that a function wizard shows."""
        one = self.field
        words = f": {', '.join(one.choices)}" if one.choices else ""
        unit = (
            f" [{self.unit}, or text with a unit]" if self.unit in _LENGTHLIKE else f" [{self.unit}]" * bool(self.unit)
        )
        default = f"; left out: {self.default}" if self.optional else ""
        return f"{one.help}{words}{unit}{default}"


_BARE = {Kind.FALL: "in/ft", Kind.RAIN: "in/h", Kind.JOIST: "in"}


def unit_of(one: Field) -> str:
    """Return the unit of a bare number in a cell; empty where there is none."""
    return _BARE.get(one.kind, one.bare_unit)


_LENGTHLIKE = {"in", "ft", "in/ft", "in/h", "sq ft"}


@dataclass(frozen=True, slots=True)
class Head:
    """A column of a result: what stands above it and its unit."""

    text: str
    unit: str = ""

    def shown(self, metric: bool) -> str:
        """Return the heading with the unit."""
        unit = METRIC_UNITS[self.unit][0] if metric and self.unit in METRIC_UNITS else self.unit
        return f"{self.text} [{unit}]" if unit else self.text


@dataclass(frozen=True, slots=True)
class Gives:
    """What a function gives: one value, or an array of them.

    Parameters
    ----------
    text : str
        What it is.
    heads : tuple of Head
        Its columns with their units; one for values of one kind.
    heading : bool
        The first row says what the columns are.
    array : bool
        It fills a range.
    """

    text: str
    heads: tuple[Head, ...]
    heading: bool = False
    array: bool = False

    @property
    def unit(self) -> str:
        """US units of the result, as the reference shows them."""
        return ", ".join(dict.fromkeys(head.unit for head in self.heads if head.unit))

    @property
    def metric(self) -> str:
        """Its metric units."""
        return ", ".join(METRIC_UNITS[unit][0] if unit in METRIC_UNITS else unit for unit in self.unit.split(", "))


@dataclass(frozen=True, slots=True)
class Pieces:
    """Lengths in one cell: shown as text, in inches or in millimetres."""

    counts: tuple[tuple[float, int], ...]  # length [in] and how many

    def shown(self, metric: bool) -> str:
        """Return ``3 x 142.5, 1 x 12``."""
        factor = MM_PER_IN if metric else 1.0
        return ", ".join(f"{count} x {round(length * factor, 4):.10g}" for length, count in self.counts)


@dataclass(frozen=True, slots=True, kw_only=True)
class Function:
    """A function for spreadsheets.

    Parameters
    ----------
    name : str
        Its name in Excel and in Calc, with the common prefix.
    help : str
        What it is for, in a line.
    rule : str
        Id of the rule it applies; empty if it only converts.
    args : tuple of Argument
        In order; those that may be left out last.
    gives : Gives
        What it gives.
    core : callable
        Called with the values read, in order, without `units`.
    engine : str
        The engine's function that does the work, for the reference.
    example : tuple
        Arguments of a worked example, as a cell would hold them; None is left out.
    """

    name: str
    help: str
    args: tuple[Argument, ...]
    gives: Gives
    core: Callable[..., Any]
    engine: str
    rule: str = ""
    example: tuple[Any, ...] = field(default=())

    @property
    def method(self) -> str:
        """Its name where no underscore may stand: ``BAY_CUT_PLAN`` is ``bayCutPlan``."""
        return camel(self.name.lower())

    @property
    def takes_units(self) -> bool:
        """Whether the last argument picks metric results."""
        return bool(self.args) and self.args[-1] is UNITS

    @property
    def signature(self) -> str:
        """Return the call as the reference shows it: ``BAY_COUNT(width, spacing, [layout])``."""
        names = (f"[{one.name}]" if one.optional else one.name + "…" * (one.span is Span.REST) for one in self.args)
        return f"{self.name}({', '.join(names)})"


def _declared(record: type, attribute: str) -> Field:
    return next(one for one in fields_of(record) if one.attribute == attribute)


def arg(source: type | Kind, name: str, attribute: str = "", *, optional: bool | None = None, **more: Any) -> Argument:
    """Declare an argument of one cell: from an input of the book, or from its kind.

    Parameters
    ----------
    source : type or Kind
        The record that declares the input, or the kind of a new one.
    name : str
        Name of the argument.
    attribute : str
        Attribute of the record.
    optional : bool, optional
        May it be left out; if not said, what has a default may.
    more : Any
        Other values for the field's own.

    Returns
    -------
    Argument
        The argument.
    """
    base = Field(name=name, kind=source) if isinstance(source, Kind) else _declared(source, attribute)
    one = replace(base, name=name, attribute=name, **more)
    may = one.default is not None if optional is None else optional
    return Argument(field=replace(one, required=not may), optional=may)


def cells(one: Argument) -> Argument:
    """Return the argument, for a whole range at once."""
    return replace(one, span=Span.CELLS)


def table(name: str, text: str, *, optional: bool = False) -> Argument:
    """Declare an argument that takes a range; its columns are told in the text."""
    return Argument(field=Field(name=name, kind=Kind.TEXT, help=text), span=Span.TABLE, optional=optional)


def rest(name: str, text: str) -> Argument:
    """Declare the last argument of a function that takes any number of them."""
    return Argument(field=Field(name=name, kind=Kind.TEXT, help=text), span=Span.REST)


def one_value(text: str, unit: str = "") -> Gives:
    """Declare a result of one value."""
    return Gives(text, (Head(text, unit),))


def many_values(text: str, unit: str = "") -> Gives:
    """Declare a result of several values of one kind, without a heading."""
    return Gives(text, (Head(text, unit),), array=True)


def rows_of(text: str, *heads: Head, heading: bool = True) -> Gives:
    """Declare a result of rows, with a heading over them or without."""
    return Gives(text, heads, heading=heading, array=True)


UNITS = arg(Kind.WORD, "units", choices=("us", "metric"), default="us", help="of the result")
"""The last argument of every function whose result has a unit with a metric twin."""
