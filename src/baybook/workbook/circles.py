"""Formulas that would read themselves, whatever the values: a whole column that is read counts cell by cell."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from baybook.workbook import formula as tree
from baybook.workbook.compiled import SHIFTS
from baybook.workbook.declare import Block, Column, Scalar, Table, column_letter

if TYPE_CHECKING:
    from collections.abc import Iterator

    from baybook.workbook.declare import Layout

__all__ = ["circles"]

# A node is (kind, key, row): "cell" one cell, "all" a whole column, "down" a column from its first row to this one.
_Node = tuple[str, str, int]


def circles(layout: Layout) -> list[str]:
    """Return a sentence for the first circle of formulas, or nothing.

    Spreadsheet programs differ in how much of a column INDEX or an IF that is not taken reads; a workbook that has no
    circle even when all of it counts is safe in all of them.

    Parameters
    ----------
    layout : Layout
        The layout of a workbook whose formulas can all be read.

    Returns
    -------
    list of str
        At most one sentence, naming the cells of the circle in order.
    """
    reads = {
        declared.key: declared
        for place in layout.places
        for declared in _declared(place.part)
        if declared.formula is not None
    }
    needs = _Needs(layout, reads)
    done: set[_Node] = set()
    for key in reads:
        for row in range(layout.count(key)):
            circle = _search(("cell", key, row), needs, done)
            if circle:
                return [_sentence(layout, circle)]
    return []


def _declared(part: Any) -> tuple[Column | Scalar, ...]:
    if isinstance(part, Block):
        return part.scalars
    return part.columns if isinstance(part, Table) else ()


def _search(start: _Node, needs: _Needs, done: set[_Node]) -> list[_Node]:
    """Walk down from a node; return the circle met, if any."""
    if start in done:
        return []
    path, on_path = [start], {start}
    waiting = [needs.of(start)]
    while path:
        following = next(waiting[-1], None)
        if following is None:
            done.add(path[-1])
            on_path.discard(path.pop())
            waiting.pop()
        elif following in on_path:
            return path[path.index(following) :]
        elif following not in done:
            path.append(following)
            on_path.add(following)
            waiting.append(needs.of(following))
    return []


class _Needs:
    """What each node reads."""

    def __init__(self, layout: Layout, formulas: dict[str, Column | Scalar]) -> None:
        self.layout, self.formulas = layout, formulas
        self._leaves: dict[str, tuple[tree.Node, ...]] = {}

    def of(self, node: _Node) -> Iterator[_Node]:
        """Yield the nodes a node reads."""
        kind, key, row = node
        if key not in self.formulas:
            return
        if kind == "all":
            yield from (("cell", key, each) for each in range(self.layout.count(key)))
        elif kind == "down":
            yield "cell", key, row
            if row:
                yield "down", key, row - 1
        else:
            declared = self.formulas[key]
            template = declared.template(row) if isinstance(declared, Column) else declared.formula
            for leaf in self._read(str(template)):
                yield from self._cells(leaf, row)

    def _read(self, template: str) -> tuple[tree.Node, ...]:
        if template not in self._leaves:
            wanted = (tree.Ref, tree.Across, tree.Name)
            self._leaves[template] = tuple(
                dict.fromkeys(node for node in tree.walk(tree.parse(template)) if isinstance(node, wanted))
            )
        return self._leaves[template]

    def _cells(self, leaf: tree.Node, row: int) -> Iterator[_Node]:
        if isinstance(leaf, tree.Name):
            yield ("all", leaf.key, 0) if self.layout.count(leaf.key) > 1 else ("cell", leaf.key, 0)
        elif isinstance(leaf, tree.Across):
            yield from (("cell", key, row) for key in self.layout.between(leaf.first, leaf.last))
        elif isinstance(leaf, tree.Ref) and leaf.mark == "^":
            yield "down", leaf.key, row
        elif isinstance(leaf, tree.Ref) and leaf.mark in SHIFTS:
            at = row + SHIFTS[leaf.mark]
            if 0 <= at < self.layout.count(leaf.key):
                yield "cell", leaf.key, at


def _sentence(layout: Layout, circle: list[_Node]) -> str:
    cells = [node for node in circle if node[0] == "cell"]
    cells.append(cells[0])
    places = []
    for _, key, row in cells:
        sheet, at, col = layout.address(key, row)
        places.append(f"{key} ({sheet}!{column_letter(col)}{at})")
    return f"{' reads '.join(places)}: formulas go in a circle."
