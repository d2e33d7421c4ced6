"""Where a workbook differs from what it should hold, cell by cell, whatever program wrote it."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from baybook.workbook import formula as tree
from baybook.workbook.declare import Cell, Layout, Text, column_letter
from baybook.workbook.due import Held
from baybook.workbook.read import Address, ReadBook
from baybook.workbook.semantics import ErrorValue, number_text

__all__ = ["Difference", "cell_name", "compare", "same_formula", "same_value"]

_TITLE = re.compile(r"""("(?:[^"]|"")*")|'([A-Za-z_][A-Za-z0-9_.]*)'!|(\s+)""")
_DIGITS = 1e15  # programs write fifteen


@dataclass(frozen=True, slots=True)
class Difference:
    """A cell that does not hold what it should.

    Parameters
    ----------
    address : tuple of str, int and int
        Sheet, row and column.
    what : str
        "formula", "value" or "text".
    held, due : Any
        What the file holds and what it should; formulas as text.
    name : str
        What the cell is called: its heading.
    reads : tuple of str
        Input cells it reads directly, each with its value.
    """

    address: Address
    what: str
    held: Any
    due: Any
    name: str = ""
    reads: tuple[str, ...] = ()

    def __str__(self) -> str:
        name = f" ({self.name})" if self.name else ""
        reads = f"; it reads {', '.join(self.reads)}" if self.reads else ""
        due = f"its formula is {self.due}" if self.what == "formula" else f"it should be {shown(self.due)}"
        held = self.held if self.what == "formula" and isinstance(self.held, str) else shown(self.held)
        return f"{cell_name(self.address)}{name}: the file has {held}, {due}{reads}"


def cell_name(at: Address) -> str:
    """Return a cell as people write it: Areas!C9."""
    return f"{at[0]}!{column_letter(at[2])}{at[1]}"


def shown(value: Any) -> str:
    """Return a value as a sentence shows it."""
    if value is None or value == "":
        return "nothing"
    if isinstance(value, bool):
        return str(value).upper()
    return number_text(float(value)) if isinstance(value, float | int) else f'"{value}"'


@lru_cache(maxsize=65536)
def _plain(formula: str) -> str:
    """Return a formula without the spaces and the quotes round a sheet's title that a program may leave out."""
    return _TITLE.sub(lambda found: found[1] or (f"{found[2]}!" if found[2] else ""), formula)


def same_formula(left: str | None, right: str | None) -> bool:
    """Return whether two formulas are the same but for what programs write differently."""
    return left == right or (left is not None and right is not None and _plain(left) == _plain(right))


def same_value(left: Any, right: Any) -> bool:
    """Return whether two values are equal as far as two programs work a number out alike."""
    if isinstance(left, ErrorValue) or isinstance(right, ErrorValue):
        return isinstance(left, ErrorValue) and isinstance(right, ErrorValue)  # programs name some errors otherwise
    left, right = (None if isinstance(value, str) and not value.strip() else value for value in (left, right))
    if isinstance(left, int | float) and isinstance(right, int | float):
        if max(abs(left), abs(right)) < _DIGITS and float(left).is_integer() and float(right).is_integer():
            return left == right  # keys to sort by are long, and differ in their last digits
        return math.isclose(left, right, rel_tol=1e-9, abs_tol=1e-9)
    if isinstance(left, str) and isinstance(right, str):
        return left.rstrip() == right.rstrip()  # some programs leave spaces at the end out
    return bool(left == right)


def compare(book: ReadBook, due: Mapping[Address, Held], placed: Layout) -> list[Difference]:
    """Return where a workbook differs from what it should hold.

    Cells beside ours, and what a person wrote into blank cells between headings, are none of our business.

    Parameters
    ----------
    book : ReadBook
        The workbook as read.
    due : mapping
        What its cells should hold, as `due_cells` gives it.
    placed : Layout
        Where everything is declared.

    Returns
    -------
    list of Difference
        Formulas and texts first, then the values that read an input directly, then the others.
    """
    declared = {(cell.sheet, cell.row, cell.col): cell for cell in placed.cells()}
    found = []
    for at, held in due.items():
        cell = declared.get(at)
        one = _difference(book, held, at, cell)
        if one is not None:
            name, reads = ("", ()) if cell is None else (_name(cell), tuple(_reads(cell, due, placed)))
            found.append(Difference(at, *one, name=name, reads=reads))
    return sorted(found, key=lambda one: (one.what == "value" and not one.reads, one.what == "value"))


def _difference(book: ReadBook, due: Held, at: Address, cell: Cell | None) -> tuple[str, Any, Any] | None:
    formula, value = book.formulas.get(at), book.values.get(at)
    if cell is not None and getattr(cell.declaration, "role", "") == "input":
        same = value == due.value if isinstance(value, str) else same_value(value, due.value)
        return None if same else ("text", value, due.value)  # a person may type a formula of his own there
    if not same_formula(formula, due.formula):
        if due.formula is None:
            return "text", formula, due.value
        return "formula", value if formula is None else formula, due.formula
    if same_value(value, due.value) or (cell is None and due.value is None):
        return None
    return ("text" if due.formula is None else "value"), value, due.value


def _name(cell: Cell) -> str:
    declaration = cell.declaration
    return (
        "" if isinstance(declaration, Text) else str(getattr(declaration, "header", getattr(declaration, "label", "")))
    )


def _template(cell: Cell) -> str | None:
    declaration = cell.declaration
    if isinstance(declaration, Text):
        return cell.formula
    formula = declaration.formula
    return formula[cell.row_index] if isinstance(formula, tuple) else formula


def _reads(cell: Cell, due: Mapping[Address, Held], placed: Layout) -> Iterator[str]:
    """Yield the input cells that a formula reads directly, each with its value."""
    template = _template(cell)
    if template is None or cell.formula is None:
        return
    seen = set()
    for key, row in _inputs(tree.parse(template), cell, due, placed):
        at = placed.address(key, row)
        value = due[at].value
        if value is not None and at not in seen:
            seen.add(at)
            yield f"{cell_name(at)} = {shown(value)}"


def _inputs(node: tree.Node, cell: Cell, due: Mapping[Address, Held], placed: Layout) -> Iterator[tuple[str, int]]:
    indexed = set()
    for one in tree.walk(node):
        if isinstance(one, tree.Call) and one.function == "INDEX" and isinstance(one.arguments[0], tree.Name):
            key, row = one.arguments[0].key, one.arguments[1]
            indexed.add(key)
            if _is_input(key, placed) and isinstance(row, tree.Ref):
                number = due[placed.address(row.key, cell.row_index)].value
                if isinstance(number, float) and 1 <= number <= placed.count(key):
                    yield key, int(number) - 1
        elif isinstance(one, tree.Ref) and one.mark in {"", "@"} and _is_input(one.key, placed):
            yield one.key, cell.row_index
        elif isinstance(one, tree.Name) and one.key not in indexed and _is_input(one.key, placed):
            yield from ((one.key, row) for row in range(placed.count(one.key)))


def _is_input(key: str, placed: Layout) -> bool:
    return key in placed.names and placed.declaration(key).role == "input"
