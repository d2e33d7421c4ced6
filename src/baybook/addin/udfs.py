"""The Excel face: what xlwings imports as functions. It converts, calls, and words the error in one line.

Only the open part of xlwings is used. Off Windows its decorators do nothing, so this module can be imported anywhere
xlwings is installed; functions are made from the registry and have no text of their own.
"""

from __future__ import annotations

import inspect
from collections.abc import Callable
from typing import Any

import xlwings as xw

from baybook.addin.declare import Argument, Function, Span
from baybook.addin.reading import Refusal
from baybook.addin.registry import FUNCTIONS, answer

CATEGORY = "baybook"


def _in_cell(name: str, given: tuple[Any, ...]) -> Any:
    """Answer a call; what refuses it becomes the text of the cell."""
    try:
        found = answer(name, given)
    except Refusal as refused:
        missing = f": pip install {refused.missing}" if refused.missing else ""
        return f"{refused}{missing}"
    except Exception as fault:
        return f"{name}: a fault of the program ({type(fault).__name__}); please report the arguments"
    return [list(row) for row in found] if isinstance(found, list) else found


def _parameter(argument: Argument) -> inspect.Parameter:
    if argument.span is Span.REST:
        return inspect.Parameter(argument.name, inspect.Parameter.VAR_POSITIONAL)
    default = None if argument.optional else inspect.Parameter.empty
    return inspect.Parameter(argument.name, inspect.Parameter.POSITIONAL_OR_KEYWORD, default=default)


def _udf(function: Function) -> Callable[..., Any]:
    """Make the function that xlwings sees: its name, its arguments, and a help text for each."""

    def call(*given: Any) -> Any:
        return _in_cell(function.name, given)

    call.__name__ = call.__qualname__ = function.name
    call.__doc__ = function.help
    call.__annotations__ = {}  # xlwings would take hints for converters
    call.__signature__ = inspect.Signature([_parameter(one) for one in function.args])  # type: ignore[attr-defined]  # set on purpose
    made: Callable[..., Any] = call
    for argument in function.args:
        options: dict[str, Any] = {} if argument.span is Span.ONE else {"ndim": 2}
        made = xw.arg(argument.name, doc=argument.help, err_to_str=True, **options)(made)
    return xw.func(category=CATEGORY)(made)  # last: every other decorator sets the category back


globals().update({name: _udf(function) for name, function in FUNCTIONS.items()})
