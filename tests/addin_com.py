"""Run by test_addin_com.py in a process of its own: calls the functions through xlwings' own COM code under stand-ins.

Reads a pickled list of requests on standard input and writes a pickled dict to standard output.
"""

from __future__ import annotations

import io
import pickle
import sys
import typing
from types import SimpleNamespace

import excel_standins as excel

REQUESTS = pickle.load(sys.stdin.buffer)  # noqa: S301 - from the test that started this process
xlwings, udfs, com_server = excel.install()

import baybook.addin.udfs as module  # noqa: E402 - the decorators must be those of Windows

SERVER = com_server.XLPython()
CALLER = excel.Cells(None)


def call(name, given):
    """Call as the VBA wrapper does; what VBA's error handler would show comes back as an exception's text."""
    try:
        return "answer", SERVER.CallUDF("baybook.addin.udfs", name, given, None, CALLER)
    except Exception as error:
        return "error", f"{type(error).__name__}: {error}"


def sent(value, how):
    """An argument as Excel sends it: a range, the value itself, or a mark."""
    if value is None:
        return excel.MISSING if how == "missing" else excel.Cells(None)
    if value in ("error cell", "error value"):
        return excel.Cells(excel.ERROR_CELL) if value == "error cell" else excel.ERROR_CELL
    if not isinstance(value, list):
        return excel.Cells(value) if how == "range" else value
    rows = [tuple(excel.ERROR_CELL if cell == "error cell" else cell for cell in row) for row in value]
    if how == "array":
        return rows[0] if len(rows) == 1 else tuple(rows)  # VBA's array of one row has one dimension
    return excel.Cells(rows if len(rows) * len(rows[0]) > 1 else rows[0][0])


def wrappers():
    text = io.StringIO()
    udfs.generate_vba_wrapper("baybook.addin.udfs", module, text, excel.Workbook())
    return text.getvalue()


def imported():
    book = excel.Workbook()
    original, udfs.Book = udfs.Book, lambda **_: SimpleNamespace(sheets=[])
    try:
        said, sys.stdout = sys.stdout, io.StringIO()
        udfs.import_udfs("baybook.addin.udfs", book)
    finally:
        udfs.Book, sys.stdout = original, said
    return book.imported, book.wizard


FUNCTIONS = {name: one for name, one in vars(module).items() if hasattr(one, "__xlfunc__")}
ANSWER = {
    "calls": [call(name, tuple(sent(value, how) for value in given)) for name, given, how in REQUESTS],
    "wrappers": wrappers(),
    "imported": imported(),
    "hints": {name: typing.get_type_hints(one, include_extras=True) for name, one in FUNCTIONS.items()},
    "options": {name: one.__xlfunc__ for name, one in FUNCTIONS.items()},
}
sys.stdout.buffer.write(pickle.dumps(ANSWER))
