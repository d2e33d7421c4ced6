"""VBA text for those who may not let programs write VBA: the functions as a module to import by hand.

The wrappers are what xlwings writes itself when it imports functions (a test holds them to that); the macro after them
gives the function wizard its texts, which xlwings would set at the import.
"""

from __future__ import annotations

from collections.abc import Iterator

from baybook.addin.declare import Function, Span
from baybook.addin.registry import FUNCTIONS

__all__ = ["HELP_MACRO", "UDF_MODULE", "functions_bas"]

UDF_MODULE = "baybook.addin.udfs"
HELP_MACRO = "BaybookHelpTexts"
_HEAD = (
    'Attribute VB_Name = "xlwings_udfs"',
    "'Made by baybook; what xlwings imports itself takes the place of this module.",
    """#Const App = "Microsoft Excel" 'Adjust when using outside of Excel""",
)


def _parameters(function: Function) -> str:
    words = {Span.REST: "ParamArray {}()"}
    return ", ".join(
        words.get(one.span, "Optional {}" if one.optional else "{}").format(one.name) for one in function.args
    )


def _array_of_rest(function: Function) -> Iterator[str]:
    """Fixed arguments and a ParamArray in one array."""
    *fixed, rest = (one.name for one in function.args)
    yield "Dim argsArray() As Variant"
    yield f"argsArray = Array({', '.join(fixed)})"
    yield f"ReDim Preserve argsArray(0 to UBound({rest}) - LBound({rest}) + {len(fixed)})"
    yield f"For k = LBound({rest}) To UBound({rest})"
    yield f"argsArray({len(fixed)} + k - LBound({rest})) = {rest}(k)"
    yield "Next k"


def _wrapper(function: Function) -> Iterator[str]:
    name = function.name
    yield f"Function {name}({_parameters(function)})"
    gathered = f"Array({', '.join(one.name for one in function.args)})"
    if function.args[-1].span is Span.REST:
        for line in _array_of_rest(function):
            yield f"    {line}"
        gathered = "argsArray"
    call = f'{name} = XLPy.CallUDF("{UDF_MODULE}", "{name}", {gathered}'
    yield '    #If App = "Microsoft Excel" Then'
    yield "        If TypeOf Application.Caller Is Range Then On Error GoTo failed"
    yield f"        {call}, ThisWorkbook, Application.Caller)"
    yield "        Exit Function"
    yield "    #Else"
    yield f"        {call})"
    yield "        Exit Function"
    yield "    #End If"
    yield "failed:"
    yield f"    {name} = Err.Description"
    yield "End Function"
    yield ""


def _quoted(text: str) -> str:
    return '"' + text[:255].replace('"', '""') + '"'


def _help_macro() -> Iterator[str]:
    yield f"Sub {HELP_MACRO}()"
    yield "    'Run once after importing this module: the function wizard then shows what each argument is."
    for function in sorted(FUNCTIONS.values(), key=lambda one: one.name):
        yield (f'    Application.MacroOptions Macro:="\'" & ThisWorkbook.Name & "\'!{function.name}", _')
        yield f"        Description:={_quoted(function.help)}, _"
        yield '        Category:="baybook", _'
        yield "        ArgumentDescriptions:=Array( _"
        *first, last = (_quoted(one.help) for one in function.args)
        for text in first:
            yield f"        {text}, _"
        yield f"        {last})"
    yield "End Sub"


def functions_bas() -> str:
    """Return the VBA module of all functions, lines ended as VBA's own export does."""
    lines = list(_HEAD)
    for function in sorted(FUNCTIONS.values(), key=lambda one: one.name):
        lines += _wrapper(function)
    return "\r\n".join([*lines, *_help_macro(), ""])
