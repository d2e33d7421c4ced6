"""The formulas of many workbooks of one layout, worked out column by column instead of cell by cell.

`evaluate` works out a cell when it is first read; it serves any workbook, once. Here the order of the columns is found
once for a layout, each formula becomes a loop of its own, and every further workbook of that layout is cheap.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from functools import lru_cache
from math import isfinite
from typing import Any

from baybook.workbook import formula as tree
from baybook.workbook.coded import ANY, ERRORS, NUMBERS, code_of, kind_of, loop_of
from baybook.workbook.compiled import Compiler
from baybook.workbook.declare import MASTER, Block, Column, Layout, Scalar, Table, Text
from baybook.workbook.runs import Run, Worker
from baybook.workbook.semantics import cell_value

__all__ = ["Columnwise", "Irregular"]


class Irregular(Exception):  # noqa: N818  no failure: it asks for the other way
    """A number too great for a cell came up; `evaluate` says what each formula gives then."""


class _Cells(Run):
    """A run whose cells are given column by column."""

    __slots__ = ()

    def hold(self, cells: list[Any]) -> None:
        """Take cells: the opening one, the rows (as far as they are known), nothing."""
        self.cells = cells
        self._filled = self.count
        self._rows, self._sorted_in, self._memo = {}, 0, {}

    def forget(self) -> None:
        """Let go what was worked out of these cells: some of it of other cells too."""
        if self._memo:
            self._memo = {}


@dataclass(frozen=True, slots=True)
class _Reads:
    """What a template reads: columns and scalars; those also read from the row above or from the opening, or below."""

    keys: tuple[str, ...]
    opened: frozenset[str]
    below: frozenset[str]


@dataclass(slots=True)
class _Stretch:
    """Rows of one column that share a template, from `first` to before `last`."""

    template: str
    first: int
    last: int
    reads: _Reads
    loops: dict[tuple[str, ...], Any] = field(default_factory=dict)


@dataclass(slots=True)
class _Step:
    """Columns to work out next: one, or several of one table that read one another's rows above."""

    keys: tuple[str, ...]
    rows: int
    stretches: dict[str, list[_Stretch]]
    reads: frozenset[str]


class Columnwise:
    """The formulas of a layout, ready to be worked out again and again.

    Parameters
    ----------
    layout : Layout
        Any workbook of the layout: its values do not matter.
    """

    def __init__(self, layout: Layout) -> None:
        self._formulas = {one.key: one for one in _declared(layout) if one.formula is not None}
        worker = Worker()
        self._runs: dict[str, _Cells] = {}
        self._openings: dict[str, Any] = {}
        for one in _declared(layout):
            self._openings[one.key] = cell_value(one.opening) if isinstance(one, Column) else None
            self._runs[one.key] = _Cells(one.key, [None] * layout.count(one.key), [], worker)
        self._single = frozenset(key for key, run in self._runs.items() if run.count == 1)
        self._compiler = Compiler(layout, dict(self._runs))
        self._layout = layout
        self._kinds: dict[str, str] = {}
        self._rows: dict[str, list[Any]] = {}
        self._said: dict[tuple[str, int, int], Any] = {}
        self._whole = False
        self._steps = [self._step(keys) for keys in self._in_order()]
        self._lines = {
            at: _Stretch(line, 0, 1, self._reads(line)) for at, line in (*_text_lines(layout), *_master_lines(layout))
        }

    def work_out(
        self, given: Mapping[str, Sequence[Any]]
    ) -> tuple[dict[str, list[Any]], dict[tuple[str, int, int], Any]]:
        """Work out every formula.

        Parameters
        ----------
        given : mapping of str to sequence
            The values of all columns and scalars without a formula, as cells hold them; missing rows are blank.

        Returns
        -------
        tuple of dict and dict
            Key to the values of its rows, those given too; and (sheet, row, column) to the value of each line of text
            that is a formula. Both are taken again by the next call; of what has not changed they hold the same list.

        Raises
        ------
        Irregular
            If a number is too great for a cell.
        """
        again, self._whole = self._whole, False  # what an error leaves half done is worked out from the start
        for run in self._runs.values():
            run.forget()
        changed = {key for key in self._runs if key not in self._formulas and self._keep(key, given, again)}
        for step in self._steps:
            if not (again and changed.isdisjoint(step.reads)):
                changed.update(self._work(step, again))
        for at, stretch in self._lines.items():
            if not (again and changed.isdisjoint(stretch.reads.keys)):
                out: list[Any] = []
                self._loop(stretch)(0, 1, out)
                self._said[at] = out[0]
        self._whole = True
        return self._rows, self._said

    # --------------------------------------------------------------------------------------------------------- values

    def _keep(self, key: str, given: Mapping[str, Sequence[Any]], again: bool) -> bool:
        """Take given values; return whether they are others than before."""
        values = list(given.get(key, ()))
        values += [None] * (self._runs[key].count - len(values))
        kind = kind_of(values)
        if again and _same(kind, values, self._kinds[key], self._rows[key]):
            return False
        self._runs[key].hold([self._openings[key], *values, None])
        self._kinds[key], self._rows[key] = kind, values
        return True

    def _work(self, step: _Step, again: bool) -> Iterator[str]:
        """Work out the columns of a step; yield those whose values are others than before."""
        before = {key: (self._kinds[key], self._rows[key]) for key in step.keys} if again else {}
        if len(step.keys) > 1:
            found = self._together(step)
        elif step.keys[0] in step.reads:
            found = self._running(step.keys[0], step)
        else:
            found = {step.keys[0]: self._column(step.keys[0], step)}
        for key, cells in found.items():
            rows = cells[1:]
            kind = kind_of(rows)
            numbers = rows if kind == NUMBERS else [value for value in rows if type(value) is float]
            if not isfinite(sum(numbers)):
                raise Irregular(key)
            cells.append(None)
            self._kinds[key] = kind
            if not (again and _same(kind, rows, *before[key])):
                self._rows[key] = rows
                yield key

    def _column(self, key: str, step: _Step) -> list[Any]:
        """Work out one column."""
        cells = [self._openings[key]]
        self._runs[key].hold(cells)
        for stretch in step.stretches[key]:
            self._loop(stretch)(stretch.first, stretch.last, cells)
        return cells

    def _running(self, key: str, step: _Step) -> dict[str, list[Any]]:
        """Work out a column that reads its own rows above: its kind is guessed, and the guess is tried."""
        self._kinds[key] = NUMBERS
        with suppress(TypeError, ValueError):  # numbers they were not
            cells = self._column(key, step)
            if kind_of(cells[1:]) == NUMBERS:
                return {key: cells}
        self._kinds[key] = ERRORS
        return {key: self._column(key, step)}

    def _together(self, step: _Step) -> dict[str, list[Any]]:
        """Work out columns that read one another, row by row."""
        cells: dict[str, list[Any]] = {key: [self._openings[key]] for key in step.keys}
        for key in step.keys:
            self._runs[key].hold(cells[key])
            self._kinds[key] = ERRORS
        for row in range(step.rows):
            for key in step.keys:
                stretch = next(one for one in step.stretches[key] if one.first <= row < one.last)
                self._loop(stretch)(row, row + 1, cells[key])
        return cells

    def _loop(self, stretch: _Stretch) -> Any:
        """Return the loop of a stretch for the kinds that it reads now."""
        reads, kinds = stretch.reads, self._kinds
        seen = tuple([kinds[key] for key in reads.keys])
        if seen not in stretch.loops:
            edge = {key: kind_of((self._openings[key],)) for key in reads.opened} | dict.fromkeys(reads.below, ANY)
            joined = tuple(
                (key, _joined(kind, edge.get(key, kind))) for key, kind in zip(reads.keys, seen, strict=True)
            )
            coded = code_of(stretch.template, joined, self._single.intersection(reads.keys))
            works = [self._compiler.value(node) for node in coded.works]
            stretch.loops[seen] = loop_of(coded.source)([self._runs[key] for key in coded.keys], works)
        return stretch.loops[seen]

    # ---------------------------------------------------------------------------------------------------------- order

    def _reads(self, template: str) -> _Reads:
        refs, names, across = _leaves(template)
        keys = [key for key, _ in refs] + list(names)
        for first, last in across:
            keys += self._layout.between(first, last)
        opened = frozenset(key for key, mark in refs if mark in {"-", "!"})
        return _Reads(tuple(dict.fromkeys(keys)), opened, frozenset(key for key, mark in refs if mark == "+"))

    def _step(self, keys: tuple[str, ...]) -> _Step:
        stretches = {key: list(self._stretches(self._formulas[key])) for key in keys}
        reads = frozenset(key for of in stretches.values() for one in of for key in one.reads.keys)
        return _Step(keys, self._runs[keys[0]].count, stretches, reads)

    def _stretches(self, one: Column | Scalar) -> Iterator[_Stretch]:
        count = self._runs[one.key].count
        templates = [one.formula] * count if isinstance(one.formula, str) else list(one.formula or ())
        first = 0
        for row in range(1, count + 1):
            if row == count or templates[row] != templates[first]:
                yield _Stretch(str(templates[first]), first, row, self._reads(str(templates[first])))
                first = row

    def _in_order(self) -> list[tuple[str, ...]]:
        """Return the columns so that each follows all it reads; those that read one another's rows above together."""
        needs = {}
        for key, one in self._formulas.items():
            templates = (one.formula,) if isinstance(one.formula, str) else dict.fromkeys(one.formula or ())
            read = dict.fromkeys(key for template in templates for key in self._reads(str(template)).keys)
            needs[key] = [each for each in read if each in self._formulas]
        return [self._row_order(group) for group in _groups(needs)]

    def _row_order(self, keys: tuple[str, ...]) -> tuple[str, ...]:
        """Return columns that read one another in the order in which a row of them is worked out."""
        if len(keys) == 1:
            return keys
        needs: dict[str, list[str]] = {}
        for key in keys:
            one = self._formulas[key]
            templates = (one.formula,) if isinstance(one.formula, str) else one.formula or ()
            refs = {ref for template in templates for ref in _leaves(str(template))[0]}
            needs[key] = [each for each, mark in refs if each in keys and mark not in {"-", "!"}]
        order = [key for group in _groups(needs) for key in group]
        if any(len(group) > 1 for group in _groups(needs)):
            raise ValueError(f"Formulas go in a circle: {', '.join(keys)}.")
        return tuple(order)


def _joined(kind: str, other: str) -> str:
    if kind in {other, ERRORS}:
        return kind
    return ERRORS if other == ERRORS else ANY


def _same(kind: str, values: list[Any], other_kind: str, others: list[Any]) -> bool:
    """Return whether values are the same, of the same types too: 1 equals TRUE, an error equals its letters."""
    if kind != other_kind or values != others:
        return False
    return kind not in {ANY, ERRORS} or list(map(type, values)) == list(map(type, others))


def _declared(layout: Layout) -> Iterator[Column | Scalar]:
    for place in layout.places:
        if isinstance(place.part, Block):
            yield from place.part.scalars
        elif isinstance(place.part, Table):
            yield from place.part.columns


def _text_lines(layout: Layout) -> Iterator[tuple[tuple[str, int, int], str]]:
    for place in layout.places:
        if isinstance(place.part, Text):
            for row, line in enumerate(place.part.lines, start=place.first):
                if line.startswith("="):
                    yield (place.sheet, row, 1), line


def _master_lines(layout: Layout) -> Iterator[tuple[tuple[str, int, int], str]]:
    return ((at, MASTER.lines[0]) for at in layout.masters())


Leaves = tuple[tuple[tuple[str, str], ...], tuple[str, ...], tuple[tuple[str, str], ...]]


@lru_cache(maxsize=8192)
def _leaves(template: str) -> Leaves:
    """Return the references (key and mark), the names, and the first and last key of ranges along a row."""
    nodes = list(tree.walk(tree.parse(template)))
    return (
        tuple(dict.fromkeys((node.key, node.mark) for node in nodes if isinstance(node, tree.Ref))),
        tuple(dict.fromkeys(node.key for node in nodes if isinstance(node, tree.Name))),
        tuple(dict.fromkeys((node.first, node.last) for node in nodes if isinstance(node, tree.Across))),
    )


def _groups(needs: Mapping[str, Iterable[str]]) -> list[tuple[str, ...]]:
    """Return keys in the order of their needs; those that need one another stand together (Tarjan's components)."""
    number: dict[str, int] = {}
    low: dict[str, int] = {}
    open_keys: list[str] = []
    found: list[tuple[str, ...]] = []
    for start in needs:
        if start in number:
            continue
        path = [(start, iter(needs[start]))]
        number[start] = low[start] = len(number)
        open_keys.append(start)
        while path:
            key, rest = path[-1]
            following = next(rest, None)
            if following is None:
                path.pop()
                if path:
                    low[path[-1][0]] = min(low[path[-1][0]], low[key])
                if low[key] == number[key]:
                    at = open_keys.index(key)
                    found.append(tuple(open_keys[at:]))
                    del open_keys[at:]
            elif following not in number:
                number[following] = low[following] = len(number)
                open_keys.append(following)
                path.append((following, iter(needs[following])))
            elif following in open_keys:
                low[key] = min(low[key], number[following])
    return found
