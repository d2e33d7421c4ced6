"""The Calc face: what LibreOffice loads. It converts, calls, and turns a refusal into an error of the cell.

Copied into the extension and run by LibreOffice's own Python; it is not imported from anywhere else. Functions are made
from the registry and have no text of their own.
"""

from __future__ import annotations

import sys

if sys.version_info < (3, 11):  # noqa: UP036 - LibreOffice brings the Python it likes
    raise ImportError("baybook's functions need Python 3.11 or later; this LibreOffice has " + sys.version.split()[0])

from typing import TYPE_CHECKING, Any

import unohelper  # type: ignore[import-not-found]  # comes with LibreOffice
from bayfunctions import XBayFunctions  # type: ignore[import-not-found]  # the extension's own interface
from com.sun.star.lang import (  # type: ignore[import-not-found]
    IllegalArgumentException,
    Locale,
    XServiceInfo,
    XServiceName,
)
from com.sun.star.sheet import LocalizedName, XAddIn, XCompatibilityNames  # type: ignore[import-not-found]

from baybook.addin.declare import Span
from baybook.addin.reading import Refusal
from baybook.addin.registry import FUNCTIONS, answer

if TYPE_CHECKING:
    from baybook.addin.declare import Function

SERVICE = "baybook.calc"
ADD_IN = "com.sun.star.sheet.AddIn"
BY_METHOD = {function.method: function for function in FUNCTIONS.values()}


def _cell(value: Any) -> Any:
    return float(value) if isinstance(value, int) else value


def _needs(refused: Refusal) -> str:
    """Say what to install and how: an error of the cell could not."""
    python = sys.executable if "python" in sys.executable else "python3"
    return f"{refused}; install it for LibreOffice's Python: {python} -m pip install --user {refused.missing}"


def _method(function: Function) -> Any:
    def call(self: Any, *given: Any) -> Any:
        if function.args[-1].span is Span.REST:
            given = (*given[:-1], *given[-1])
        try:
            found = answer(function.name, given)
        except Refusal as refused:
            if not refused.missing:
                raise IllegalArgumentException(str(refused), self, 0) from None
            found = [[_needs(refused)]] if function.gives.array else _needs(refused)
        return tuple(tuple(map(_cell, row)) for row in found) if function.gives.array else _cell(found)

    return call


class _Functions(unohelper.Base, XAddIn, XCompatibilityNames, XBayFunctions, XServiceName, XServiceInfo):  # type: ignore[misc]
    """The service; UNO sets the names of its methods."""

    def __init__(self, _: Any) -> None:
        self.locale = Locale("en", "US", "")

    def getServiceName(self) -> str:  # noqa: N802 - UNO's name, as those below
        return SERVICE

    def getImplementationName(self) -> str:  # noqa: N802
        return SERVICE

    def getSupportedServiceNames(self) -> tuple[str, str]:  # noqa: N802
        return ADD_IN, SERVICE

    def supportsService(self, name: str) -> bool:  # noqa: N802
        return name in {ADD_IN, SERVICE}

    def setLocale(self, locale: Any) -> None:  # noqa: N802
        self.locale = locale

    def getLocale(self) -> Any:  # noqa: N802
        return self.locale

    def getProgrammaticFuntionName(self, shown: str) -> str:  # noqa: N802 - the misspelling is UNO's
        function = FUNCTIONS.get(shown.upper())
        return function.method if function else ""

    def getDisplayFunctionName(self, method: str) -> str:  # noqa: N802
        return BY_METHOD[method].name if method in BY_METHOD else method

    def getCompatibilityNames(self, method: str) -> tuple[Any, ...]:  # noqa: N802
        return (LocalizedName(Locale("en", "US", ""), BY_METHOD[method].name),) if method in BY_METHOD else ()

    def getFunctionDescription(self, method: str) -> str:  # noqa: N802
        return BY_METHOD[method].help if method in BY_METHOD else ""

    def getDisplayArgumentName(self, method: str, number: int) -> str:  # noqa: N802
        return BY_METHOD[method].args[number].name if method in BY_METHOD else ""

    def getArgumentDescription(self, method: str, number: int) -> str:  # noqa: N802
        return BY_METHOD[method].args[number].help if method in BY_METHOD else ""

    def getProgrammaticCategoryName(self, _: str) -> str:  # noqa: N802
        return "Add-In"

    def getDisplayCategoryName(self, _: str) -> str:  # noqa: N802
        return "Add-In"


for _name, _function in BY_METHOD.items():
    setattr(_Functions, _name, _method(_function))

g_ImplementationHelper = unohelper.ImplementationHelper()  # noqa: N816 - LibreOffice looks for this name
g_ImplementationHelper.addImplementation(_Functions, SERVICE, (ADD_IN, SERVICE))
