"""Single cells of a workbook changed behind its back, as a file that came by mail might have been."""

from __future__ import annotations

import random
from collections.abc import Iterator
from typing import Any

from baybook.workbook.build import Made
from baybook.workbook.declare import Cell, Text, column_letter
from baybook.workbook.evaluate import evaluate
from baybook.workbook.layouts import declared_keys
from baybook.workbook.semantics import cell_value

KINDS = ("total", "value", "formula", "price", "input", "plan", "constant", "text")


def _kinds(cell: Cell, made: Made, origin: str) -> tuple[str, ...]:
    """Return what tampering with a declared cell would be."""
    if cell.formula is not None:
        if not isinstance(made.values[cell.sheet, cell.row, cell.col], float):
            return ()
        is_total = cell.key.startswith("total_") or cell.key in {"i_cost", "quote_price"}
        return ("formula", "value", "total") if is_total else ("formula", "value")
    if cell.row_index < 0 or cell.value in {None, ""} or cell.key in {"layout_id", "inputs_id"}:
        return ()
    if isinstance(cell.declaration, Text):
        return ("text",)
    if cell.declaration.role == "input":
        is_number = isinstance(cell_value(cell.value), float) and not cell.key.startswith("log_")
        return ("price",) if cell.key == "v_pack_price" else ("input",) * is_number
    return {"": ("constant",), "plan": ("plan",)}.get(origin, ())


def _cells(made: Made) -> dict[str, list[Cell]]:
    """Sort the declared cells by what tampering with them would be."""
    origins = {one.key: one.origin for one in declared_keys(made.spec)}
    found: dict[str, list[Cell]] = {kind: [] for kind in KINDS}
    for cell in made.layout.cells():
        for kind in _kinds(cell, made, origins.get(cell.key, "")):
            found[kind].append(cell)
    return found


def _other(value: Any, chance: random.Random) -> Any:
    if isinstance(value, str):
        return value + " or so"
    return value * chance.choice((0.5, 0.9, 1.01, 2.0)) if value else 1.0


def _is_idle(made: Made, cell: Cell, value: Any) -> bool:
    """Return whether no value changes with an input: then the file still holds what its inputs give."""
    return evaluate(made.spec, made.layout, {(cell.key, cell.row_index): value}) == made.values


def tampered(made: Made, seed: int) -> Iterator[tuple[str, str, dict[tuple[str, str], Any]]]:
    """Yield kind, cell such as ``Estimate!B25`` and the change of that one cell; kinds take turns, without end."""
    chance, cells = random.Random(seed), _cells(made)
    while True:
        for kind in KINDS:
            cell = chance.choice(cells[kind])
            name = f"{column_letter(cell.col)}{cell.row}"
            value = made.values.get((cell.sheet, cell.row, cell.col), cell_value(cell.value))
            content: Any = _other(value, chance)
            while kind == "input" and _is_idle(made, cell, content):
                cell = chance.choice(cells[kind])
                name, content = f"{column_letter(cell.col)}{cell.row}", _other(cell_value(cell.value), chance)
            if kind in {"total", "value"}:
                content = (cell.formula, content)
            elif kind == "formula" and chance.random() < 0.5:
                content = value  # the same number, and it no longer follows its inputs
            yield kind, f"{cell.sheet}!{name}", {(cell.sheet, name): content}


def named(cell: str, line: str) -> bool:
    """Return whether a sentence names a cell, and not just one whose name begins alike."""
    return (
        line.startswith((f"{cell}:", f"{cell} "))
        or any(f"{cell}{mark}" in line for mark in (" =", ","))
        or f": {cell} " in line
    )
