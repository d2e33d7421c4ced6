"""SUMPRODUCT: sums of products taken cell by cell, the one place where a formula works on whole columns at once."""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right
from itertools import repeat
from typing import TYPE_CHECKING, Any

from baybook.workbook import formula as tree
from baybook.workbook.runs import Down, Range, Run, Work
from baybook.workbook.semantics import SIGNS, SNAP, ErrorValue, Fault, equality_key, number

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence

    from baybook.workbook.compiled import Compiler

    Vector = Callable[[int, Sequence[int]], Iterable[Any]]

__all__ = ["product_factors", "sumproduct"]

COMPARISONS = ("=", "<>", "<", ">", "<=", ">=")
PLAIN = {float, bool, type(None)}


def sumproduct(made: Compiler, _: str, arguments: tuple[tree.Node, ...]) -> Work:
    """Compile ``SUMPRODUCT((column=value)*column*...)``.

    Where a factor asks for equality, only the rows that have it are looked at, provided no other row could be an error.
    """
    factors = product_factors(arguments[0])
    ranges = [made.range(node) for factor in factors for node in _ranges(made, factor)]
    if not ranges or made.is_range(arguments[0]):
        raise ValueError("SUMPRODUCT is for products of columns; use SUM or a plain formula here.")
    vectors = [_vector(made, factor) for factor in factors]
    tests = [vector for factor, vector in zip(factors, vectors, strict=True) if _is_comparison(factor)]
    amounts = [vector for factor, vector in zip(factors, vectors, strict=True) if not _is_comparison(factor)]
    narrow = _narrowing(made, factors)

    def work(row: int) -> float:
        size = ranges[0].size(row)
        if any(each.size(row) != size for each in ranges):
            raise Fault("#VALUE!")
        places = narrow(row) if narrow else None
        if places is None:
            return _total([vector(row, range(size)) for vector in vectors], size)
        for test in tests:
            places = [place for place, holds in zip(places, test(row, places), strict=False) if holds]
        return _total([vector(row, places) for vector in amounts], len(places))

    return work


def _total(factors: list[Iterable[Any]], count: int) -> float:
    cells = zip(*factors, repeat(1.0, count), strict=False)
    return math.fsum([math.prod(map(number, cell)) for cell in cells])


def product_factors(node: tree.Node) -> list[tree.Node]:
    """Return what is multiplied in a product."""
    if isinstance(node, tree.Operation) and node.sign == "*":
        return [*product_factors(node.left), *product_factors(node.right)]
    return [node]


def _is_comparison(node: tree.Node) -> bool:
    return isinstance(node, tree.Operation) and node.sign in COMPARISONS


def _ranges(made: Compiler, node: tree.Node) -> list[tree.Node]:
    """Return the ranges a factor works on cell by cell; those inside a function are that function's own."""
    if isinstance(node, tree.Operation):
        return [*_ranges(made, node.left), *_ranges(made, node.right)]
    if isinstance(node, tree.Minus):
        return _ranges(made, node.value)
    return [node] if made.is_range(node) else []


def _vector(made: Compiler, node: tree.Node) -> Vector:
    if made.is_range(node):
        cells = made.range(node)
        return lambda row, places: [_sound(cells.raw(place, row)) for place in places]
    if not _ranges(made, node):
        value = made.value(node)
        return lambda row, places: repeat(value(row), len(places))
    if isinstance(node, tree.Minus):
        inner = _vector(made, node.value)
        return lambda row, places: [-number(value) for value in inner(row, places)]
    if not isinstance(node, tree.Operation):
        raise TypeError("only signs work cell by cell")  # _ranges looks into nothing else
    left, right, apply = _vector(made, node.left), _vector(made, node.right), SIGNS[node.sign]
    return lambda row, places: list(map(apply, left(row, places), right(row, places)))


def _sound(value: Any) -> Any:
    if type(value) is ErrorValue:
        raise Fault(value)
    return value


def _narrowing(made: Compiler, factors: list[tree.Node]) -> Callable[[int], list[int] | None] | None:
    """Return what names the rows worth looking at, or None if every row must be."""
    signs = {node.sign for factor in factors for node in tree.walk(factor) if isinstance(node, tree.Operation)}
    found = next((pair for factor in factors if (pair := _equality(made, factor))), None)
    if found is None or signs & {"/", "^", "&"}:
        return None
    run, asked = found
    compared = [node for factor in factors if _is_comparison(factor) for node in _ranges(made, factor)]
    reckoned = [node for factor in factors if not _is_comparison(factor) for node in _ranges(made, factor)]
    any_kind, plain = [made.range(node) for node in compared], [made.range(node) for node in reckoned]

    def narrow(row: int) -> list[int] | None:
        if any(ErrorValue in _kinds(each) for each in any_kind) or any(_kinds(each) - PLAIN for each in plain):
            return None
        return _equal_places(run, asked(row))

    return narrow


def _kinds(cells: Range) -> set[type]:
    return cells.run.kinds() if isinstance(cells, Down) and not cells.prefix else {ErrorValue}


def _equality(made: Compiler, factor: tree.Node) -> tuple[Run, Work] | None:
    """Return the column and the value of ``column=value``."""
    if not isinstance(factor, tree.Operation) or factor.sign != "=":
        return None
    for column, value in ((factor.left, factor.right), (factor.right, factor.left)):
        if isinstance(column, tree.Name) and made.is_range(column) and not _ranges(made, value):
            return made.run(column.key), made.value(value)
    return None


def _equal_places(run: Run, value: Any) -> list[int]:
    """Return at least the rows whose cell equals a value; each is compared again afterwards."""
    places: list[int] = []
    if type(value) is float:
        pairs = run.remember("pairs", lambda: _pairs(run))
        near = 2 * SNAP * abs(value)
        low, high = bisect_left(pairs, (value - near,)), bisect_right(pairs, (value + near, math.inf))
        places = [place for _, place in pairs[low:high]]
    else:
        places = list(run.rows_of(equality_key(value), run.count))
    if value is None:
        places += [*run.rows_of(0.0, run.count), *run.rows_of((False,), run.count)]
    elif not value:
        places += run.rows_of("", run.count)
    return sorted(set(places))


def _pairs(run: Run) -> list[tuple[float, int]]:
    return sorted((value, place) for place, value in enumerate(run.raws(run.count)) if type(value) is float)
