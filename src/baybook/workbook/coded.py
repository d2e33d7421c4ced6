"""Formula templates as Python source: a column's formula as one loop, quick where all values are of one kind.

What is quick here is a plain rendering of what `semantics` and `functions` say; whatever is not listed is left to the
closures that `Compiler` makes. A test holds both ways of working a formula out to equal values.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from functools import lru_cache
from typing import Any, NamedTuple, NoReturn

from baybook.workbook import formula as tree
from baybook.workbook.products import product_factors
from baybook.workbook.semantics import (
    SCALAR_FUNCTIONS,
    SNAP,
    ErrorValue,
    Fault,
    compare,
    number,
    number_text,
    power,
    text,
    truth,
)

__all__ = ["ANY", "ERRORS", "NUMBERS", "TEXTS", "TRUTHS", "Coded", "code_of", "kind_of", "loop_of"]

NUMBERS, TEXTS, TRUTHS, ANY, ERRORS = "fsbxe"  # kinds: all numbers, all texts, all truth values, anything, errors too
_OF_TYPE = {float: NUMBERS, str: TEXTS, bool: TRUTHS}
_SHIFTS = {"": "i", "@": "i", "-": "i-1", "+": "i+1", "!": "0"}
_RESULTS = {"LEFT": TEXTS, "MID": TEXTS, "SUBSTITUTE": TEXTS, "NOT": TRUTHS, "AND": TRUTHS, "OR": TRUTHS} | {
    "ISNUMBER": TRUTHS, "ISTEXT": TRUTHS, "INDEX": ANY, "IFERROR": ANY,
}  # fmt: skip  # every other function gives a number


class Coded(NamedTuple):
    """A template as source.

    Parameters
    ----------
    source : str
        A function ``make(runs, works)`` that gives ``column(first, last, out)``.
    keys : tuple of str
        The columns and scalars that its `runs` must be, in order.
    works : tuple of Node
        The parts of the formula that its `works` must work out, in order.
    """

    source: str
    keys: tuple[str, ...]
    works: tuple[tree.Node, ...]


class _Part(NamedTuple):
    """A piece of source and the kind of its value; an error is raised, never a value."""

    text: str
    kind: str


def kind_of(values: Sequence[Any]) -> str:
    """Return the kind of a column's values."""
    types = set(map(type, values))
    if len(types) == 1:
        return _OF_TYPE.get(next(iter(types)), ERRORS if ErrorValue in types else ANY)
    return ERRORS if ErrorValue in types else ANY


@lru_cache(maxsize=8192)
def code_of(template: str, kinds: tuple[tuple[str, str], ...], single: frozenset[str]) -> Coded:
    """Return the source of a template.

    Parameters
    ----------
    template : str
        The formula.
    kinds : tuple of (str, str)
        Key and kind of every column and scalar it reads; of a column read from its opening row or past its end the
        kind with that cell.
    single : frozenset of str
        Those of them that are single cells.

    Returns
    -------
    Coded
        Its source, shared by all workbooks in which the kinds are the same.
    """
    return _Coder(dict(kinds), single).coded(tree.parse(template))


@lru_cache(maxsize=8192)
def loop_of(source: str) -> Callable[[Sequence[Any], Sequence[Any]], Callable[[int, int, list[Any]], None]]:
    """Return the function that a source makes; each source is compiled once."""
    scope: dict[str, Any] = dict(_SCOPE)
    exec(compile(source, "<formula>", "exec"), scope)  # noqa: S102  made here of our own templates, nothing from outside
    return scope["make"]  # type: ignore[no-any-return]  # as the source says


def _fault(value: str) -> NoReturn:
    raise Fault(value)


def _round(places: int) -> Callable[[float], float]:
    """Return ROUND to so many places: the decimals decide near a half, as `round_half_away` says."""
    power_of_ten, whole = 10.0**places, SCALAR_FUNCTIONS["ROUND"][2]

    def rounded(value: float) -> float:
        scaled = abs(value) * power_of_ten + 0.5
        if 1.0 <= scaled < 1e9:
            units = int(scaled)
            if 1e-6 < scaled - units < 1 - 1e-6:
                return units / power_of_ten if value > 0 else -units / power_of_ten
        return whole(value, places)  # type: ignore[no-any-return]  # a float

    return rounded


def _whole_up(value: float) -> float:
    """ROUNDUP to whole numbers: away from zero."""
    return float(math.ceil(value) if value > 0 else math.floor(value))


def _iferror(wanted: Callable[[], Any], instead: Callable[[], Any]) -> Any:
    try:
        return wanted()
    except Fault:
        return instead()


_PLACES = (0, 2, 6, 8)
_SCOPE: dict[str, Any] = {
    "EV": ErrorValue, "Fault": Fault, "NUM": ErrorValue("#NUM!"), "fault": _fault, "number": number, "truth": truth,
    "text": text, "number_text": number_text, "compare": compare, "power": power, "fsum": math.fsum,
    "floor": math.floor, "whole_up": _whole_up, "iferror": _iferror,
    **{f"F_{name}": function for name, (_, _, function) in SCALAR_FUNCTIONS.items()},
    **{f"round{places}": _round(places) for places in _PLACES},
}  # fmt: skip


class _Coder:
    """One template on its way to source."""

    def __init__(self, kinds: Mapping[str, str], single: frozenset[str]) -> None:
        self.kinds, self.single = kinds, single
        self.keys: dict[str, int] = {}
        self.works: dict[tree.Node, int] = {}
        self.whole: set[int] = set()  # columns of which all rows are gone through
        self.names = 0

    def coded(self, root: tree.Node) -> Coded:
        made = self.value(root)
        head = [f"        c{at} = runs[{at}].cells" for at in self.keys.values()]
        head += [f"        s{at} = c{at}[1]" for key, at in self.keys.items() if key in self.single]
        head += [f"        d{at} = c{at}[1:-1]" for at in sorted(self.whole)]
        blank = ["                if v is None: v = 0.0"] if made.kind == ANY else []
        lines = [
            "def make(runs, works):",
            *(f"    w{at} = works[{at}]" for at in self.works.values()),
            "    def column(first, last, out):",
            *head,
            "        put = out.append",
            "        for i in range(first + 1, last + 1):",
            "            try:",
            f"                v = {made.text}",
            *blank,
            "            except Fault as found: v = found.value",
            "            except OverflowError: v = NUM",
            "            put(v)",
            "    return column",
        ]
        return Coded("\n".join(lines), tuple(self.keys), tuple(self.works))

    # -------------------------------------------------------------------------------------------------------- pieces

    def new(self) -> str:
        self.names += 1
        return f"t{self.names}"

    def run(self, key: str) -> int:
        return self.keys.setdefault(key, len(self.keys))

    def left(self, node: tree.Node, kind: str) -> _Part:
        """Leave a part to the closures."""
        return _Part(f"w{self.works.setdefault(node, len(self.works))}(i-1)", kind)

    def read(self, cell: str, kind: str) -> _Part:
        if kind != ERRORS:
            return _Part(cell, kind)
        t = self.new()
        return _Part(f"({t} if type({t} := {cell}) is not EV else fault({t}))", ANY)

    def number(self, part: _Part) -> str:
        if part.kind == NUMBERS:
            return part.text
        if part.kind == TRUTHS:
            return f"(1.0 if {part.text} else 0.0)"
        t = self.new()
        return f"({t} if type({t} := {part.text}) is float else number({t}))"

    def condition(self, part: _Part) -> str:
        return part.text if part.kind in {NUMBERS, TRUTHS} else f"truth({part.text})"

    def words(self, part: _Part) -> str:
        if part.kind == TEXTS:
            return part.text
        return f"{'number_text' if part.kind == NUMBERS else 'text'}({part.text})"

    # --------------------------------------------------------------------------------------------------------- nodes

    def value(self, node: tree.Node) -> _Part:
        match node:
            case tree.Literal(value=value):
                return _Part(repr(value), kind_of((value,)))
            case tree.Ref(mark="^") | tree.Across():
                raise ValueError("A range stands where one value is due.")
            case tree.Ref(key=key, mark=mark):
                return self.read(f"c{self.run(key)}[{_SHIFTS[mark]}]", self.kinds[key])
            case tree.Name(key=key):
                if key not in self.single:
                    raise ValueError(f"The whole column {key!r} stands where one value is due.")
                return self.read(f"s{self.run(key)}", self.kinds[key])
            case tree.Minus(value=inner):
                return _Part(f"(-{self.number(self.value(inner))})", NUMBERS)
            case tree.Operation():
                return self.operation(node)
            case tree.Call(function=name):
                special = getattr(self, f"call_{name.lower()}", None)
                made = special(node) if special else None
                return made or self.call(node)

    def operation(self, node: tree.Operation) -> _Part:
        sign, left, right = node.sign, self.value(node.left), self.value(node.right)
        if sign == "&":
            return _Part(f"({self.words(left)} + {self.words(right)})", TEXTS)
        if sign in _COMPARED:
            return self.comparison(sign, left, right)
        a, b = self.number(left), self.number(right)
        if sign == "*":
            return _Part(f"({a} * {b})", NUMBERS)
        if sign == "^":
            return _Part(f"power({a}, {b})", NUMBERS)
        s, t = self.new(), self.new()
        if sign == "/":
            return _Part(f"({s} / {t} if (({s} := {a}), ({t} := {b}))[1] else fault('#DIV/0!'))", NUMBERS)
        return _Part(f"({t} if abs({t} := ({s} := {a}) {sign} {b}) >= {SNAP!r} * abs({s}) else 0.0)", NUMBERS)

    def comparison(self, sign: str, left: _Part, right: _Part) -> _Part:
        if left.kind == right.kind == NUMBERS:
            a, b = self.new(), self.new()
            near = f"{SNAP!r} * abs({a})"
            test = _COMPARED[sign].format(x=f"({a} := {left.text})", y=f"({b} := {right.text})", a=a, b=b, near=near)
            return _Part(f"({test})", TRUTHS)
        if left.kind == right.kind == TEXTS and sign in {"=", "<>"}:
            return _Part(f"({left.text}.lower() {'==' if sign == '=' else '!='} {right.text}.lower())", TRUTHS)
        if right.text == "''" and sign in {"=", "<>"}:
            t = self.new()
            empty = f"(({t} := {left.text}) is None or {t} == '')"
            return _Part(empty if sign == "=" else f"(not {empty})", TRUTHS)
        return _Part(f"compare({sign!r}, {left.text}, {right.text})", TRUTHS)

    def call(self, node: tree.Call) -> _Part:
        """Return a function of single values, or leave it to the closures."""
        name, result = node.function, _RESULTS.get(node.function, NUMBERS)
        if name not in SCALAR_FUNCTIONS:
            return self.left(node, result)
        kinds = SCALAR_FUNCTIONS[name][0]
        read: dict[Any, Callable[[_Part], str]] = {number: self.number, truth: self.condition, text: self.words}
        given = [read[kind](self.value(each)) for kind, each in zip(kinds, node.arguments, strict=False)]
        return _Part(f"F_{name}({', '.join(given)})", result)

    def call_if(self, node: tree.Call) -> _Part:
        condition, yes, *rest = map(self.value, node.arguments)
        no = rest[0] if rest else _Part("False", TRUTHS)
        kind = yes.kind if yes.kind == no.kind else ANY
        return _Part(f"({yes.text} if {self.condition(condition)} else {no.text})", kind)

    def call_choose(self, node: tree.Call) -> _Part:
        which, *choices = map(self.value, node.arguments)
        t, kinds = self.new(), {each.kind for each in choices}
        first = f"({t} := int({self.number(which)})) == 1"
        tests = [first, *(f"{t} == {at}" for at in range(2, len(choices) + 1))]
        chain = " else ".join(f"{each.text} if {test}" for each, test in zip(choices, tests, strict=True))
        return _Part(f"({chain} else fault('#VALUE!'))", kinds.pop() if len(kinds) == 1 else ANY)

    def call_iferror(self, node: tree.Call) -> _Part:
        wanted, instead = map(self.value, node.arguments)
        kind = wanted.kind if wanted.kind == instead.kind else ANY
        return _Part(f"iferror(lambda: {wanted.text}, lambda: {instead.text})", kind)

    def call_index(self, node: tree.Call) -> _Part | None:
        cells = node.arguments[0]
        if len(node.arguments) != 2 or not isinstance(cells, tree.Name):
            return None
        t, at = self.new(), self.number(self.value(node.arguments[1]))
        run = self.run(cells.key)
        cell = f"(c{run}[{t}] if 0 < ({t} := int({at})) < len(c{run}) - 1 else fault('#REF!'))"
        return self.read(cell, self.kinds[cells.key])

    def call_round(self, node: tree.Call) -> _Part | None:
        value, places = node.arguments
        if isinstance(places, tree.Literal) and places.value in _PLACES:
            return _Part(f"round{int(places.value)}({self.number(self.value(value))})", NUMBERS)
        return None

    def call_roundup(self, node: tree.Call) -> _Part | None:
        value, places = node.arguments
        if isinstance(places, tree.Literal) and places.value == 0:
            return _Part(f"whole_up({self.number(self.value(value))})", NUMBERS)
        return None

    def call_int(self, node: tree.Call) -> _Part:
        return _Part(f"float(floor({self.number(self.value(node.arguments[0]))}))", NUMBERS)

    def call_mod(self, node: tree.Call) -> _Part:
        value, divisor = (self.number(self.value(each)) for each in node.arguments)
        return _Part(f"F_MOD({value}, {divisor})", NUMBERS)

    def call_and(self, node: tree.Call) -> _Part | None:
        return self.together(node, "all")

    def call_or(self, node: tree.Call) -> _Part | None:
        return self.together(node, "any")

    def together(self, node: tree.Call, name: str) -> _Part | None:
        """AND and OR of numbers and truth values: every one is worked out first."""
        if any(self.is_range(each) for each in node.arguments):
            return None
        keys, works, names = dict(self.keys), dict(self.works), self.names
        parts = [self.value(each) for each in node.arguments]
        if all(part.kind in {NUMBERS, TRUTHS} for part in parts):
            return _Part(f"{name}(({', '.join(part.text for part in parts)},))", TRUTHS)
        self.keys, self.works, self.names = keys, works, names
        return None

    def call_sum(self, node: tree.Call) -> _Part | None:
        return self.fold(node)

    def call_min(self, node: tree.Call) -> _Part | None:
        return self.fold(node)

    def call_max(self, node: tree.Call) -> _Part | None:
        return self.fold(node)

    def fold(self, node: tree.Call) -> _Part | None:
        """SUM, MIN and MAX of numbers, or of one whole column."""
        name, arguments = node
        if len(arguments) == 1 and isinstance(arguments[0], tree.Name) and arguments[0].key not in self.single:
            at = self.run(arguments[0].key)
            whole = f"runs[{at}].fold({name!r}, len(c{at}) - 2)"
            return _Part(whole if name == "SUM" else f"({whole} or 0.0)", NUMBERS)
        if any(self.is_range(each) for each in arguments):
            return None
        keys, works, names = dict(self.keys), dict(self.works), self.names
        parts = [self.value(each) for each in arguments]
        if all(part.kind == NUMBERS for part in parts):
            given = "".join(f"{part.text}, " for part in parts)
            return _Part(f"{'fsum' if name == 'SUM' else name.lower()}(({given}))", NUMBERS)
        self.keys, self.works, self.names = keys, works, names
        return None

    def call_sumproduct(self, node: tree.Call) -> _Part | None:
        """SUMPRODUCT of columns of numbers, and of comparisons of such columns with one number each."""
        keys, works, names = dict(self.keys), dict(self.works), self.names
        tests, amounts, asked, read = [], [], [], {}
        for factor in product_factors(node.arguments[0]):
            column, pattern, other = self.compared(factor)
            value = None if other is None else self.value(other)
            if column is None or self.kinds[column.key] != NUMBERS or (value and value.kind != NUMBERS):
                self.keys, self.works, self.names = keys, works, names
                return None
            at = self.run(column.key)
            read[at] = cell = f"v{at}"
            if value is None:
                amounts.append(cell)
            else:
                t = self.new()
                asked.append(f"({t} := {value.text}), ")
                tests.append(f"({pattern.format(v=cell, t=t)})")
        self.whole |= read.keys()
        each, cells = ", ".join(read.values()), ", ".join(f"d{at}" for at in read)
        rows = f"for {each}, in zip({cells}, strict=True) if {' and '.join(tests) or 'True'}"
        return _Part(f"(fsum([{' * '.join(amounts) or '1.0'} {rows}]) if ({''.join(asked)}1,) else 0.0)", NUMBERS)

    def compared(self, factor: tree.Node) -> tuple[tree.Name | None, str, tree.Node | None]:
        """Return the column of a factor; of ``column=value``, either way round, the test of cell v and value t too."""
        if isinstance(factor, tree.Name):
            return factor, "", None
        if isinstance(factor, tree.Operation) and factor.sign in _COMPARED:
            for column, other, x, y in (
                (factor.left, factor.right, "{v}", "{t}"),
                (factor.right, factor.left, "{t}", "{v}"),
            ):
                if isinstance(column, tree.Name) and self.is_range(column):
                    pattern = _COMPARED[factor.sign].format(x=x, y=y, a=x, b=y, near=f"{SNAP!r} * abs({x})")
                    return (None, "", None) if any(map(self.is_range, tree.walk(other))) else (column, pattern, other)
        return None, "", None

    def call_count(self, node: tree.Call) -> _Part | None:
        return self.is_number(node, "1.0", "0.0", NUMBERS)

    def call_isnumber(self, node: tree.Call) -> _Part | None:
        return self.is_number(node, "True", "False", TRUTHS)

    def is_number(self, node: tree.Call, yes: str, no: str, kind: str) -> _Part | None:
        """Tell a number in one cell; an error in it is none."""
        one = node.arguments[0]
        if len(node.arguments) > 1 or self.is_range(one) or not isinstance(one, (tree.Ref, tree.Name)):
            return None
        at = self.run(one.key)
        cell = f"s{at}" if isinstance(one, tree.Name) else f"c{at}[{_SHIFTS[one.mark]}]"
        return _Part(f"({yes} if type({cell}) is float else {no})", kind)

    def is_range(self, node: tree.Node) -> bool:
        if isinstance(node, tree.Name):
            return node.key not in self.single
        return isinstance(node, tree.Across) or (isinstance(node, tree.Ref) and node.mark == "^")


_COMPARED = {
    "=": "{x} == {y} or abs({a} - {b}) < {near}",
    "<>": "{x} != {y} and abs({a} - {b}) >= {near}",
    "<": "{x} < {y} and {b} - {a} >= {near}",
    ">": "{x} > {y} and {a} - {b} >= {near}",
    "<=": "{x} <= {y} or {a} - {b} < {near}",
    ">=": "{x} >= {y} or {b} - {a} < {near}",
}
