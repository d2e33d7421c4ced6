"""All functions, and the one way a face asks them."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Mapping, Sequence
from decimal import Decimal
from typing import Any

from baybook.addin import buying, deck, drainage, words
from baybook.addin.declare import METRIC_UNITS, Function, Pieces, Span, arg, one_value, rest
from baybook.addin.reading import Refusal, read_argument
from baybook.job.fields import Kind
from baybook.numbers import r6
from baybook.problems import BookError, Problem

__all__ = ["FUNCTIONS", "answer", "clear_cache"]

_KEPT = 512
_answers: OrderedDict[Any, Any] = OrderedDict()


def clear_cache() -> None:
    """Forget all answers."""
    _answers.clear()


def answer(name: str, given: Sequence[Any]) -> Any:
    """Answer one call.

    The engine is pure, so an answer is kept and given again for the same arguments.

    Parameters
    ----------
    name : str
        Name of the function.
    given : sequence
        What the spreadsheet handed over, in order; None and missing ends are arguments left out.

    Returns
    -------
    float, int, str or list of list
        One value; rows of equal length where the function fills a range.

    Raises
    ------
    Refusal
        If the call cannot be answered: one sentence that begins with the function's name.
    """
    function = FUNCTIONS[name]
    key = (name, _frozen(given))
    if key in _answers:
        _answers.move_to_end(key)
        return _answers[key]
    try:
        found = _worked_out(function, given)
    except Refusal as refused:
        raise Refusal(f"{name}: {refused}", refused.missing) from None
    except BookError as refused:
        raise Refusal(f"{name}: {'; '.join(_told(one) for one in refused.problems)}") from None
    except (ValueError, ArithmeticError) as refused:
        raise Refusal(f"{name}: {_plain(str(refused))}") from None
    _answers[key] = found
    if len(_answers) > _KEPT:
        _answers.popitem(last=False)
    return found


def _told(problem: Problem) -> str:
    place = f"line {problem.line}, {problem.field}: " if problem.line else ""
    return _plain(f"{place}{problem.message}")


def _plain(sentence: str) -> str:
    return " ".join(sentence.split())


def _frozen(value: Any) -> Any:
    """Return a key that tells apart what the reading tells apart: TRUE is not 1."""
    if isinstance(value, list | tuple):
        return tuple(_frozen(one) for one in value)
    return (bool, value) if isinstance(value, bool) else value


def _worked_out(function: Function, given: Sequence[Any]) -> Any:
    if len(given) > len(function.args) and function.args[-1].span is not Span.REST:
        raise Refusal(f"it takes {len(function.args)} arguments and was given {len(given)}")
    if function.args[-1].span is Span.REST:
        fixed = len(function.args) - 1
        values = [read_argument(one, value) for one, value in zip(function.args[:-1], given, strict=False)]
        return function.core(*values, *given[fixed:])
    padded = [*given, *[None] * (len(function.args) - len(given))]
    values = [read_argument(one, value) for one, value in zip(function.args, padded, strict=True)]
    metric = function.takes_units and values.pop() == "metric"
    return _finished(function, function.core(*values), metric)


def _finished(function: Function, found: Any, metric: bool) -> Any:
    """Put units and a heading to what the core gave."""
    heads = function.gives.heads
    if not function.gives.array:
        return _cell(found, heads[0].unit, metric)
    rows = [[_cell(cell, heads[min(at, len(heads) - 1)].unit, metric) for at, cell in enumerate(row)] for row in found]
    return [[head.shown(metric) for head in heads], *rows] if function.gives.heading else rows


def _cell(value: Any, unit: str, metric: bool) -> Any:
    if value is None:
        return ""
    if isinstance(value, Pieces):
        return value.shown(metric)
    if isinstance(value, Decimal):
        return float(value)
    if metric and unit in METRIC_UNITS and isinstance(value, int | float):
        return r6(value * METRIC_UNITS[unit][1])
    return value


def _why(function_name: str, *arguments: Any) -> str:
    """Return the sentence that another call refuses with; empty if it answers."""
    function = FUNCTIONS.get(function_name.strip().upper())
    if function is None or function.name == _WHY.name:
        raise Refusal(f"{function_name!r} is none of: {', '.join(name for name in FUNCTIONS if name != _WHY.name)}")
    try:
        answer(function.name, arguments)
    except Refusal as refused:
        return str(refused)
    return ""


_WHY = Function(
    name="BAY_WHY",
    help="Why another of these functions refuses its arguments, in words; empty if it answers.",
    args=(
        arg(Kind.TEXT, "function_name", help='in quotes, such as "BAY_COUNT"'),
        rest("arguments", "what that function is called with"),
    ),
    gives=one_value("text"),
    core=_why,
    engine="addin.registry.answer",
    example=("BAY_COUNT", "16 ft", 0),
)

FUNCTIONS: Mapping[str, Function] = {
    one.name: one for one in (*deck.FUNCTIONS, *drainage.FUNCTIONS, *buying.FUNCTIONS, *words.FUNCTIONS, _WHY)
}
"""Every function by its name, in the order of the reference."""
