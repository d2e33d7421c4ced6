"""What may change in a declared workbook without moving a cell: its values; and a mark of all that may not."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Any

from baybook.workbook.declare import Block, BookSpec, Column, Part, Scalar, Sheet, Table, Text
from baybook.workbook.semantics import cell_value

__all__ = ["declared_keys", "inputs_id", "layout_id", "marked", "with_values"]


def layout_id(spec: BookSpec) -> str:
    """Return a mark of what stands where, whatever the number of rows: two workbooks of one mark are made alike.

    It follows from the sheets, their parts and the keys in them, so that no one has to think of changing it.
    """
    words = []
    for sheet in spec.sheets:
        words.append(sheet.title)
        words += [word for part in sheet.parts for word in _keys(part)]
    words += sorted(spec.lists)
    return hashlib.sha256("\n".join(words).encode()).hexdigest()[:8]


def _keys(part: Part) -> list[str]:
    if isinstance(part, Text):
        return [f"{len(part.lines)} lines"]
    if isinstance(part, Block):
        return ["block", *(scalar.key for scalar in part.scalars)]
    counted = {
        column.key.rstrip("0123456789"): column.key for column in part.columns
    }  # numbered alike: as many as needed
    return ["table", *counted]


def inputs_id(spec: BookSpec) -> str:
    """Return a mark of all inputs but the notes in the log: the same as long as no input changes."""
    words = []
    for one in declared_keys(spec):
        if one.role == "input" and not one.key.startswith("log_"):
            values = [one.value] if isinstance(one, Scalar) else one.values or ()
            words += [f"{one.key} {row} {_word(value)}" for row, value in enumerate(values) if value not in {None, ""}]
    return hashlib.sha256("\n".join(words).encode()).hexdigest()[:16]


def _word(value: Any) -> str:
    held = cell_value(value)
    return f"{held:.10g}" if isinstance(held, float) else str(held)  # programs keep 15 digits or more


def marked(spec: BookSpec) -> BookSpec:
    """Return a workbook that says what it is: its layout, and the inputs it was made from."""
    return with_values(spec, {"layout_id": (layout_id(spec),), "inputs_id": (inputs_id(spec),)})


def declared_keys(spec: BookSpec) -> Iterator[Column | Scalar]:
    """Yield every declared column and scalar."""
    for sheet in spec.sheets:
        for part in sheet.parts:
            if isinstance(part, Block):
                yield from part.scalars
            elif isinstance(part, Table):
                yield from part.columns


def with_values(spec: BookSpec, values: Mapping[str, Sequence[Any]]) -> BookSpec:
    """Return a declared workbook with other values in some columns and scalars that hold values.

    Parameters
    ----------
    spec : BookSpec
        The declared workbook.
    values : mapping of str to sequence
        Key to the values of its rows; a scalar has one row.

    Returns
    -------
    BookSpec
        The same sheets, made anew where something changed.
    """

    def of_part(part: Part) -> Part:
        if isinstance(part, Block) and any(one.key in values for one in part.scalars):
            return replace(part, scalars=tuple(_scalar(one, values) for one in part.scalars))
        if isinstance(part, Table) and any(one.key in values for one in part.columns):
            return replace(part, columns=tuple(_column(one, values) for one in part.columns))
        return part

    def of_sheet(sheet: Sheet) -> Sheet:
        parts = tuple(of_part(part) for part in sheet.parts)
        changed = any(new is not old for new, old in zip(parts, sheet.parts, strict=True))
        return replace(sheet, parts=parts) if changed else sheet

    return replace(spec, sheets=tuple(of_sheet(sheet) for sheet in spec.sheets))


def _scalar(one: Scalar, values: Mapping[str, Sequence[Any]]) -> Scalar:
    return replace(one, value=values[one.key][0]) if one.key in values else one


def _column(one: Column, values: Mapping[str, Sequence[Any]]) -> Column:
    return replace(one, values=tuple(values[one.key])) if one.key in values else one
