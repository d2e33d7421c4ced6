"""Formulas held to good practice: short, few functions, no stray number, nothing on which the programs disagree.

The rules are those of the Twenty Principles for Good Spreadsheet Practice (ICAEW) and the FAST Standard as far as a
program can check them, and what was measured to differ between spreadsheet programs.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from baybook.workbook import formula as tree
from baybook.workbook.circles import circles
from baybook.workbook.compiled import Compiler
from baybook.workbook.declare import Text, column_letter
from baybook.workbook.runs import Run, Worker

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from baybook.workbook.declare import BookSpec, Cell, Layout

__all__ = ["LITERALS", "PLACES", "lint"]

LITERALS = {0.0, 1.0, 2.0, 12.0, 24.0, 60.0, 100.0, 144.0, 1000.0}
PLACES = {0.0, 2.0, 6.0, 8.0}
LONGEST = 255
ROUNDING = {"ROUND", "ROUNDUP", "ROUNDDOWN", "TRUNC"}
STEPPING = {"ROUNDUP", "ROUNDDOWN", "TRUNC", "INT", "CEILING", "FLOOR"}
BRANCHING = {"IF": 1, "CHOOSE": 1, "IFERROR": 0}
_CRITERION_NUMBER = re.compile(r"(?:<=|>=|<>|<|>|=)\s*(-?[\d.]+)")


def lint(spec: BookSpec, layout: Layout) -> list[str]:
    """Return what is wrong with a workbook's formulas.

    Parameters
    ----------
    spec : BookSpec
        The declared workbook.
    layout : Layout
        Its layout.

    Returns
    -------
    list of str
        One sentence a finding, naming sheet, cell and formula; a template is reported once, where it first stands.
    """
    del spec  # the layout was made from it and holds all that is needed
    compiler = Compiler(layout, {key: Run(key, [None] * layout.count(key), [], Worker()) for key in layout.names})
    found: dict[tuple[str, str], str] = {}
    for cell in layout.formulas():
        template = _template(cell)
        if len(str(cell.formula)) > LONGEST:
            found.setdefault(("length", template), _sentence(cell, f"it is longer than {LONGEST} characters"))
        if (cell.key, template) not in found:
            faults = sorted(set(_faults(cell, template, layout, compiler)))
            found[cell.key, template] = "\n".join(_sentence(cell, fault) for fault in faults)
    sentences = [line for lines in found.values() for line in lines.splitlines()]
    return sentences or circles(layout)


def _template(cell: Cell) -> str:
    declared = cell.declaration
    if isinstance(declared, Text):
        return declared.lines[cell.row_index]
    return str(declared.formula if not isinstance(declared.formula, tuple) else declared.formula[cell.row_index])


def _sentence(cell: Cell, fault: str) -> str:
    key = f" ({cell.key})" if cell.key else ""
    return f"{cell.sheet}!{column_letter(cell.col)}{cell.row}{key}: {cell.formula}: {fault}."


def _faults(cell: Cell, template: str, layout: Layout, compiler: Compiler) -> Iterator[str]:
    try:
        root = tree.parse(template)
        compiler.value(root)
    except ValueError as error:
        yield str(error).rstrip(".")
        return
    for node in tree.walk(root):
        if isinstance(node, tree.Call):
            yield from _call_faults(node)
        elif isinstance(node, tree.Operation):
            yield from _operation_faults(node)
    yield from _literal_faults(root)
    if isinstance(cell.declaration, Text) or cell.declaration.role != "money":
        return
    if not _is_cents(root, layout):
        yield "money is rounded as ROUND(ROUND(amount,8),2)"


def _call_faults(node: tree.Call) -> Iterator[str]:
    inside = [each for argument in node.arguments for each in tree.walk(argument)]
    if node.function == "IF" and any(isinstance(each, tree.Call) and each.function == "IF" for each in inside):
        yield "one IF stands inside another; give the inner one a column of its own"
    if node.function in STEPPING and not _is_call(node.arguments[0], "ROUND"):
        yield f"what {node.function} takes must first be rounded, as {node.function}(ROUND(value,6)...)"
    if node.function == "INDEX" and isinstance(node.arguments[0], tree.Across) and len(node.arguments) == 2:
        yield "a cell of a row range is INDEX(range,1,n)"


def _operation_faults(node: tree.Operation) -> Iterator[str]:
    if node.sign == "^" and isinstance(node.left, tree.Operation) and node.left.sign == "^":
        yield "a power of a power is grouped differently by different programs"
    if node.sign == "&" and any(_has_decimals(each) for each in (node.left, node.right)):
        yield "a number with decimals is another text in every program; join whole numbers only"
    texts = [each for each in (node.left, node.right) if isinstance(each, tree.Literal) and isinstance(each.value, str)]
    if node.sign in {"<", ">", "<=", ">="} and texts:
        yield "the order of texts differs between programs; compare texts with = or <> only"


def _literal_faults(node: tree.Node, allowed: set[float] = LITERALS) -> Iterator[str]:
    """Yield the numbers that should be named, also those inside criteria."""
    if isinstance(node, tree.Literal):
        number = node.value
        if isinstance(number, str):
            match = _CRITERION_NUMBER.fullmatch(number)
            number = float(match[1]) if match else 0.0
        if number not in allowed:
            yield f"the number {node.source} needs a name of its own"
    elif isinstance(node, tree.Call):
        for place, argument in enumerate(node.arguments):
            yield from _literal_faults(argument, PLACES if node.function in ROUNDING and place == 1 else LITERALS)
    elif isinstance(node, tree.Operation):
        yield from _literal_faults(node.left)
        yield from _literal_faults(node.right)
    elif isinstance(node, tree.Minus):
        yield from _literal_faults(node.value)


def _has_decimals(node: tree.Node) -> bool:
    """Say whether a part of a text is plainly a number with decimals: a quotient, or rounded to some places."""
    if isinstance(node, tree.Operation):
        return node.sign == "/"
    if not isinstance(node, tree.Call) or node.function not in ROUNDING:
        return False
    digits = node.arguments[1] if len(node.arguments) > 1 else None
    return isinstance(digits, tree.Literal) and digits.value != 0


def _is_call(node: tree.Node, function: str) -> bool:
    return isinstance(node, tree.Call) and node.function == function


def _is_cents(node: tree.Node, layout: Layout) -> bool:
    """Say whether a formula gives whole cents: rounded, or a copy of money, or a choice between such."""
    if isinstance(node, tree.Literal):
        return isinstance(node.value, str) or node.value == 0
    if isinstance(node, (tree.Ref, tree.Name)):
        return layout.declaration(node.key).role in {"money", "input"}
    if not isinstance(node, tree.Call):
        return False
    if node.function == "INDEX":
        return _is_cents(node.arguments[0], layout)
    if node.function in BRANCHING:
        return all(_is_cents(each, layout) for each in node.arguments[BRANCHING[node.function] :])
    return _rounded_to(node, 2.0, lambda inner: _rounded_to(inner, 8.0, lambda _: True))


def _rounded_to(node: tree.Node, places: float, inner: Callable[[tree.Node], bool]) -> bool:
    if not isinstance(node, tree.Call) or node.function != "ROUND":
        return False
    value, digits = node.arguments
    return isinstance(digits, tree.Literal) and digits.value == places and inner(value)
