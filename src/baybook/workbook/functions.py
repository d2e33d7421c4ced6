"""The functions a formula may use: each takes the compiler, its name and arguments, and gives a function of the row."""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right
from typing import TYPE_CHECKING, Any

from baybook.workbook import formula as tree
from baybook.workbook.products import sumproduct
from baybook.workbook.runs import Across, Down, Range, Work, count_matching, numbers, sum_matching
from baybook.workbook.semantics import SCALAR_FUNCTIONS, ErrorValue, Fault, number, truth, wildcard

if TYPE_CHECKING:
    from collections.abc import Callable

    from baybook.workbook.compiled import Compiler

__all__ = ["FUNCTIONS"]

MANY = 255

Arguments = tuple[tree.Node, ...]


def _scalar_function(made: Compiler, name: str, arguments: Arguments) -> Work:
    kinds, _, function = SCALAR_FUNCTIONS[name]
    read = [made.value(each) for each in arguments]
    if len(read) == 2 and kinds == (number, number):
        first, second = read
        return lambda row: function(number(first(row)), number(second(row)))
    pairs = list(zip(kinds, read, strict=False))
    return lambda row: function(*[kind(each(row)) for kind, each in pairs])


def _if(made: Compiler, _: str, arguments: Arguments) -> Work:
    condition, yes, *rest = map(made.value, arguments)
    no = rest[0] if rest else lambda _: False
    return lambda row: yes(row) if truth(condition(row)) else no(row)


def _iferror(made: Compiler, _: str, arguments: Arguments) -> Work:
    wanted, instead = map(made.value, arguments)

    def work(row: int) -> Any:
        try:
            return wanted(row)
        except Fault:
            return instead(row)

    return work


def _choose(made: Compiler, _: str, arguments: Arguments) -> Work:
    which, *choices = map(made.value, arguments)

    def work(row: int) -> Any:
        index = int(number(which(row)))
        if not 1 <= index <= len(choices):
            raise Fault("#VALUE!")
        return choices[index - 1](row)

    return work


def _is_reference(node: tree.Node) -> bool:
    return isinstance(node, (tree.Ref, tree.Name)) or (isinstance(node, tree.Call) and node.function == "INDEX")


def _and_or(made: Compiler, name: str, arguments: Arguments) -> Work:
    """AND and OR work out every argument; blanks and texts in cells do not count."""
    every = all if name == "AND" else any
    ranges = [made.range(each) for each in arguments if made.is_range(each)]
    cells = [made.value(each) for each in arguments if _is_reference(each) and not made.is_range(each)]
    given = [made.value(each) for each in arguments if not _is_reference(each) and not made.is_range(each)]

    def work(row: int) -> bool:
        found = [truth(each(row)) for each in given]
        seen = [value for each in ranges for value in each.raws(row)] + [each(row) for each in cells]
        for value in seen:
            if type(value) is ErrorValue:
                raise Fault(value)
            if isinstance(value, (bool, float)):
                found.append(bool(value))
        if not found:
            raise Fault("#VALUE!")
        return every(found)

    return work


def _kind(made: Compiler, name: str, arguments: Arguments) -> Work:
    wanted = float if name == "ISNUMBER" else str
    read = made.value(arguments[0])

    def work(row: int) -> bool:
        try:
            return type(read(row)) is wanted
        except Fault:
            return False

    return work


def _aggregate(made: Compiler, name: str, arguments: Arguments) -> Work:
    """SUM, COUNT, MIN, MAX: numbers in cells count, texts, blanks and truth values in cells do not."""
    parts = [_aggregate_part(made, name, each) for each in arguments]

    def work(row: int) -> float:
        found = [value for each in parts if (value := each(row)) is not None]
        if name in {"SUM", "COUNT"}:
            return math.fsum(found)
        return (min if name == "MIN" else max)(found, default=0.0)

    return work


def _aggregate_part(made: Compiler, name: str, node: tree.Node) -> Work:
    if made.is_range(node):
        cells = made.range(node)
        if isinstance(cells, Down):
            run, prefix, count = cells.run, cells.prefix, cells.run.count
            return lambda row: run.fold(name, row + 1 if prefix else count)
        return lambda row: _fold_values(name, cells.raws(row))
    read = made.value(node)
    if name == "COUNT":
        return lambda row: _counted(read, row)
    if _is_reference(node):
        return lambda row: value if type(value := read(row)) is float else None
    return lambda row: number(read(row))


def _fold_values(name: str, values: list[Any]) -> float | None:
    found = list(numbers(values))
    if name == "COUNT":
        return float(len(found))
    for value in values:
        if type(value) is ErrorValue:
            raise Fault(value)
    if name == "SUM":
        return math.fsum(found)
    return (min if name == "MIN" else max)(found, default=None)


def _counted(read: Work, row: int) -> float:
    try:
        return float(type(read(row)) is float)
    except Fault:
        return 0.0


def _counta(made: Compiler, _: str, arguments: Arguments) -> Work:
    ranges = [made.range(each) for each in arguments]
    return lambda row: float(sum(value is not None for each in ranges for value in each.raws(row)))


def _conditions(made: Compiler, arguments: Arguments) -> list[tuple[Range, Work]]:
    if len(arguments) % 2:
        raise ValueError("Ranges and criteria come in pairs.")
    pairs = zip(arguments[::2], arguments[1::2], strict=True)
    return [(made.range(cells), made.value(asked)) for cells, asked in pairs]


def _countif(made: Compiler, _: str, arguments: Arguments) -> Work:
    conditions = _conditions(made, arguments)
    return lambda row: float(count_matching(conditions, row))


def _sumif(made: Compiler, name: str, arguments: Arguments) -> Work:
    summed, rest = (arguments[0], arguments[1:]) if name == "SUMIFS" else (arguments[-1], arguments[:2])
    if len(arguments) == 2:
        summed = arguments[0]
    amounts, conditions = made.range(summed), _conditions(made, rest)

    def work(row: int) -> float:
        if amounts.size(row) != conditions[0][0].size(row):
            raise Fault("#VALUE!")
        return sum_matching(conditions, amounts, row)

    return work


def _index(made: Compiler, _: str, arguments: Arguments) -> Work:
    cells, at = made.range(arguments[0]), made.value(arguments[-1])
    across = isinstance(cells, Across)
    other = made.value(arguments[1]) if len(arguments) == 3 else None
    if len(arguments) == 3 and not across:
        at, other = made.value(arguments[1]), made.value(arguments[2])

    def work(row: int) -> Any:
        index = int(number(at(row)))
        if not 1 <= index <= cells.size(row) or (other is not None and int(number(other(row))) != 1):
            raise Fault("#REF!")
        value = cells.raw(index - 1, row)
        if type(value) is ErrorValue:
            raise Fault(value)
        return value

    return work


def _match(made: Compiler, _: str, arguments: Arguments) -> Work:
    asked, cells = made.value(arguments[0]), made.range(arguments[1])
    kind = made.value(arguments[2]) if len(arguments) == 3 else lambda _: 1.0

    def work(row: int) -> float:
        value = asked(row)
        if value is None:
            raise Fault("#N/A")  # a blank is looked up in vain
        found = _first_place(cells, value, row) if number(kind(row)) == 0 else _last_place(cells, value, row)
        if not found:
            raise Fault("#N/A")
        return float(found)

    return work


def _first_place(cells: Range, value: Any, row: int) -> int:
    if isinstance(cells, Down) and not cells.prefix:
        firsts = cells.run.remember("firsts", lambda: _firsts(cells.raws(row)))
    else:
        firsts = _firsts(cells.raws(row))
    if isinstance(value, str) and any(sign in value for sign in "*?~"):
        pattern = wildcard(value)
        words = (i for i, cell in enumerate(cells.raws(row), start=1) if type(cell) is str and pattern.fullmatch(cell))
        return next(words, 0)
    return firsts.get(_match_key(value), 0)  # type: ignore[no-any-return]  # an int


def _firsts(values: list[Any]) -> dict[Any, int]:
    firsts: dict[Any, int] = {}
    for place, value in enumerate(values, start=1):
        firsts.setdefault(_match_key(value), place)
    firsts.pop(None, None)
    return firsts


def _match_key(value: Any) -> Any:
    if type(value) is str:
        return value.lower()
    return None if type(value) is ErrorValue else (value,) if type(value) is bool else value


def _last_place(cells: Range, value: Any, row: int) -> int:
    """MATCH with 1: the last of the sorted cells of the same kind that is no greater."""
    kind = type(value)
    values = [
        (cell.lower() if kind is str else cell, i)
        for i, cell in enumerate(cells.raws(row), start=1)
        if type(cell) is kind
    ]
    at = bisect_right([cell for cell, _ in values], value.lower() if kind is str else value)
    return values[at - 1][1] if at else 0


def _ordered(made: Compiler, name: str, arguments: Arguments) -> Work:
    """SMALL and LARGE."""
    cells, place = made.range(arguments[0]), made.value(arguments[1])

    def work(row: int) -> float:
        ordered, at = _in_order(cells, row), int(number(place(row)))
        if not 1 <= at <= len(ordered):
            raise Fault("#NUM!")
        return ordered[at - 1 if name == "SMALL" else -at]

    return work


def _rank(made: Compiler, _: str, arguments: Arguments) -> Work:
    read, cells = made.value(arguments[0]), made.range(arguments[1])
    upward = made.value(arguments[2]) if len(arguments) == 3 else lambda _: 0.0

    def work(row: int) -> float:
        value, ordered = number(read(row)), _in_order(cells, row)
        below, above = bisect_left(ordered, value), bisect_right(ordered, value)
        if below == above:
            raise Fault("#N/A")
        return float(below + 1 if number(upward(row)) else len(ordered) - above + 1)

    return work


def _in_order(cells: Range, row: int) -> list[float]:
    if isinstance(cells, Down) and not cells.prefix:
        cells.run.first_fault()
        return cells.run.ordered()
    values = cells.raws(row)
    for value in values:
        if type(value) is ErrorValue:
            raise Fault(value)
    return sorted(numbers(values))


# name: (fewest arguments, most arguments, what compiles it)
FUNCTIONS: dict[str, tuple[int, int, Callable[[Compiler, str, Arguments], Work]]] = {
    **{name: (least, len(kinds), _scalar_function) for name, (kinds, least, _) in SCALAR_FUNCTIONS.items()},
    **dict.fromkeys(("SUM", "COUNT", "MIN", "MAX"), (1, MANY, _aggregate)),
    **dict.fromkeys(("AND", "OR"), (1, MANY, _and_or)),
    **dict.fromkeys(("ISNUMBER", "ISTEXT"), (1, 1, _kind)),
    **dict.fromkeys(("SMALL", "LARGE"), (2, 2, _ordered)),
    "IF": (2, 3, _if),
    "IFERROR": (2, 2, _iferror),
    "CHOOSE": (2, MANY, _choose),
    "COUNTA": (1, MANY, _counta),
    "COUNTIF": (2, 2, _countif),
    "COUNTIFS": (2, MANY, _countif),
    "SUMIF": (2, 3, _sumif),
    "SUMIFS": (3, MANY, _sumif),
    "INDEX": (2, 3, _index),
    "MATCH": (2, 3, _match),
    "RANK": (2, 3, _rank),
    "SUMPRODUCT": (1, 1, sumproduct),
}
