"""Runs of cells, each worked out once when it is first read, and the indexes that make look-ups over them quick."""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right
from collections.abc import Callable
from typing import TYPE_CHECKING, Any, NamedTuple

from baybook.workbook.semantics import ErrorValue, Fault, criterion, equality_key

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

__all__ = ["Across", "Down", "Range", "Run", "Worker", "count_matching", "matching", "numbers", "sum_matching"]

DEPTH = 20  # cells worked out inside one another before the rest is put off: far from Python's own limit
Work = Callable[[int], Any]


class _Unsettled:
    __slots__ = ()


PENDING, RUNNING = _Unsettled(), _Unsettled()
FOLDS: dict[str, tuple[Any, Callable[[Any, float], Any]]] = {
    "SUM": ((0.0, 0.0), lambda total, value: _add_exactly(total[0], total[1], value)),
    "COUNT": (0.0, lambda total, _: total + 1.0),
    "MIN": (None, lambda least, value: value if least is None or value < least else least),
    "MAX": (None, lambda most, value: value if most is None or value > most else most),
}


def _add_exactly(total: float, lost: float, value: float) -> tuple[float, float]:
    """Add to a sum and to what rounding has lost from it, as the programs do (Neumaier's summation)."""
    new = total + value
    lost += (total - new) + value if abs(total) >= abs(value) else (value - new) + total
    return new, lost


class _PutOff(Exception):  # noqa: N818  not an error: the cell that must be worked out first
    def __init__(self, run: Run, row: int) -> None:
        self.cell = (run, row)
        super().__init__()


class Worker:
    """Works out cells that depend on one another, however long the chain, and refuses a circle."""

    def __init__(self) -> None:
        self._path: list[tuple[Run, int]] = []

    def settle(self, run: Run, row: int) -> None:
        """Work out one cell and all it needs."""
        waiting = [(run, row)]
        while waiting:
            try:
                Run.raw(*waiting[-1])
                waiting.pop()
            except _PutOff as first:
                if first.cell in waiting:
                    raise _circle([*waiting[waiting.index(first.cell) :], first.cell]) from None
                waiting.append(first.cell)

    def work_out(self, run: Run, row: int) -> Any:
        """Return a cell's value, worked out inside the cell that reads it."""
        path = self._path
        if run.cells[row + 1] is RUNNING:
            raise _circle([*path[path.index((run, row)) :], (run, row)])
        if len(path) >= DEPTH:
            raise _PutOff(run, row)
        path.append((run, row))
        run.cells[row + 1] = RUNNING
        value: Any = PENDING
        try:
            value = run.work[row](row)
            if value is None:
                value = 0.0  # a formula that reads a blank shows 0
            elif type(value) is float and not math.isfinite(value):
                value = ErrorValue("#NUM!")
        except Fault as fault:
            value = fault.value
        except OverflowError:
            value = ErrorValue("#NUM!")
        finally:
            run.cells[row + 1] = value
            path.pop()
        return value


def _circle(cells: list[tuple[Run, int]]) -> ValueError:
    steps = " reads ".join(f"{run.key or 'a text'} in row {row + 1}" for run, row in cells)
    return ValueError(f"Circular formulas: {steps}.")


class Run:
    """The cells of one column (or one scalar), with the opening cell before them and the blank cell after them."""

    __slots__ = ("_filled", "_memo", "_rows", "_sorted_in", "cells", "count", "key", "work", "worker")

    def __init__(self, key: str, constants: list[Any], work: list[Work], worker: Worker, opening: Any = None) -> None:
        self.key, self.work, self.worker = key, work, worker
        self.count = len(work or constants)
        self.cells: list[Any] = [opening, *(constants or [PENDING] * self.count), None]
        self._filled = 0 if work else self.count
        self._rows: dict[Any, list[int]] = {}
        self._sorted_in = 0
        self._memo: dict[Any, Any] = {}

    def raw(self, row: int) -> Any:
        """Return a row's value, an error as it stands."""
        value = self.cells[row + 1]
        return self.worker.work_out(self, row) if type(value) is _Unsettled else value

    def at(self, row: int) -> Any:
        """Return a row's value; an error is raised."""
        value = self.cells[row + 1]
        if type(value) is _Unsettled:
            value = self.worker.work_out(self, row)
        if type(value) is ErrorValue:
            raise Fault(value)
        return value

    def raws(self, stop: int) -> list[Any]:
        """Return the values before `stop`."""
        for row in range(self._filled, stop):
            self.raw(row)
            self._filled = row + 1
        return self.cells[1 : stop + 1]

    def fold(self, name: str, stop: int) -> Any:
        """Return the SUM, COUNT, MIN or MAX of the numbers before `stop` (MIN and MAX of none: None)."""
        start, step = FOLDS[name]
        known = self._memo.setdefault(name, [start])
        for row in range(len(known) - 1, stop):
            value = self.raw(row)
            if type(value) is float:
                known.append(step(known[-1], value))
            elif type(value) is ErrorValue and name != "COUNT":
                raise Fault(value)
            else:
                known.append(known[-1])
        return sum(known[stop]) if name == "SUM" else known[stop]

    def rows_of(self, key: Any, stop: int) -> list[int]:
        """Return the rows before `stop` with an equality key."""
        if self._sorted_in < stop:
            values = self.raws(stop)
            for row in range(self._sorted_in, stop):
                self._rows.setdefault(equality_key(values[row]), []).append(row)
            self._sorted_in = stop
        rows = self._rows.get(key, [])
        return rows if self._sorted_in == stop else rows[: bisect_left(rows, stop)]

    def ordered(self) -> list[float]:
        """Return all numbers in order, errors left out."""
        return self.remember("ordered", lambda: sorted(numbers(self.raws(self.count))))  # type: ignore[no-any-return]

    def sum_where(self, key: Any, amounts: Run) -> float:
        """Return the sum of another run's numbers in all rows where this run has an equality key."""
        rows = self.rows_of(key, self.count)
        return self.remember((key, amounts), lambda: math.fsum(numbers(map(amounts.at, rows))))  # type: ignore[no-any-return]

    def kinds(self) -> set[type]:
        """Return the kinds of value among all rows."""
        return self.remember("kinds", lambda: set(map(type, self.raws(self.count))))  # type: ignore[no-any-return]

    def first_fault(self) -> None:
        """Raise the first error among all rows, if there is one."""
        if ErrorValue in self.kinds():
            raise Fault(next(value for value in self.raws(self.count) if type(value) is ErrorValue))

    def remember(self, key: Any, make: Callable[[], Any]) -> Any:
        """Return what was made under a key, making it the first time."""
        if key not in self._memo:
            self._memo[key] = make()
        return self._memo[key]


class Down(NamedTuple):
    """A column: all rows, or from the first down to the row that asks."""

    run: Run
    prefix: bool

    def size(self, row: int) -> int:
        """Return how many cells there are."""
        return row + 1 if self.prefix else self.run.count

    def raw(self, index: int, _row: int) -> Any:
        """Return one value, an error as it stands."""
        return self.run.raw(index)

    def raws(self, row: int) -> list[Any]:
        """Return all values, errors as they stand."""
        return self.run.raws(self.size(row))

    def rows_of(self, key: Any, row: int) -> list[int]:
        """Return where an equality key stands."""
        return self.run.rows_of(key, self.size(row))


class Across(NamedTuple):
    """The cells of the row that asks, between two columns."""

    runs: tuple[Run, ...]

    def size(self, _row: int) -> int:
        """Return how many cells there are."""
        return len(self.runs)

    def raw(self, index: int, row: int) -> Any:
        """Return one value, an error as it stands."""
        return self.runs[index].raw(row)

    def raws(self, row: int) -> list[Any]:
        """Return all values, errors as they stand."""
        return [run.raw(row) for run in self.runs]

    def rows_of(self, key: Any, row: int) -> list[int]:
        """Return where an equality key stands."""
        return [index for index, value in enumerate(self.raws(row)) if equality_key(value) == key]


Range = Down | Across
Conditions = list[tuple[Range, Work]]


def numbers(values: Iterable[Any]) -> Iterator[float]:
    """Yield the numbers among values, as SUM sees a range."""
    return (value for value in values if type(value) is float)


def matching(conditions: Conditions, row: int) -> list[int]:
    """Return the places where all conditions hold, as SUMIFS and COUNTIFS see them."""
    size = conditions[0][0].size(row)
    if any(each.size(row) != size for each, _ in conditions):
        raise Fault("#VALUE!")
    tests = [(each, criterion(ask(row))) for each, ask in conditions]
    equal = [each.rows_of(test.equal, row) for each, test in tests if test.equal is not None]
    rows = min(equal, key=len) if equal else list(range(size))
    if len(tests) == 1 and equal:
        return rows
    for each, test in tests:
        rows = [index for index in rows if test.test(each.raw(index, row))]
    return rows


def count_matching(conditions: Conditions, row: int) -> int:
    """Return in how many places all conditions hold."""
    each, ask = conditions[0]
    if len(conditions) > 1 or not isinstance(each, Down) or each.prefix:
        return len(matching(conditions, row))
    test = criterion(ask(row))
    return len(matching(conditions, row)) if test.bound is None else _count_bounded(each.run.ordered(), test.bound)


def sum_matching(conditions: Conditions, amounts: Range, row: int) -> float:
    """Return the sum of the numbers where all conditions hold."""
    each, ask = conditions[0]
    if len(conditions) == 1 and isinstance(each, Down) and isinstance(amounts, Down) and not each.prefix:
        test = criterion(ask(row))
        if test.equal is not None:
            return each.run.sum_where(test.equal, amounts.run)
    values = []
    for index in matching(conditions, row):
        value = amounts.raw(index, row)
        if type(value) is ErrorValue:
            raise Fault(value)
        values.append(value)
    return math.fsum(numbers(values))


def _count_bounded(ordered: list[float], bound: tuple[str, float]) -> int:
    sign, limit = bound
    if sign == "<=":
        return bisect_right(ordered, limit)
    if sign == "<":
        return bisect_left(ordered, limit)
    return len(ordered) - (bisect_left(ordered, limit) if sign == ">=" else bisect_right(ordered, limit))
