"""Formula trees turned into Python functions of the row that asks."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from baybook.workbook import formula as tree
from baybook.workbook.functions import FUNCTIONS
from baybook.workbook.runs import Across, Down, Range, Run, Work
from baybook.workbook.semantics import SIGNS, number

if TYPE_CHECKING:
    from baybook.workbook.declare import Layout

__all__ = ["Compiler"]

SHIFTS = {"": 0, "@": 0, "-": -1, "+": 1}


class Compiler:
    """Turns templates into functions; each template once, when it is first needed."""

    def __init__(self, layout: Layout, runs: dict[str, Run]) -> None:
        self.layout, self.runs = layout, runs
        self._made: dict[str, Work] = {}
        self._later: dict[str, Work] = {}

    def later(self, template: str) -> Work:
        """Return a function that compiles its template on the first call: the runs it reads may not be there yet."""
        if template not in self._later:
            made = self._made

            def first_call(row: int) -> Any:
                if template not in made:
                    made[template] = self.value(tree.parse(template))
                return made[template](row)

            self._later[template] = first_call
        return self._later[template]

    def run(self, key: str) -> Run:
        """Return the run of a key."""
        if key not in self.runs:
            raise ValueError(f"The name {key!r} is not declared.")
        return self.runs[key]

    def value(self, node: tree.Node) -> Work:
        """Compile a tree that gives one value."""
        match node:
            case tree.Literal(value=value):
                return lambda _: value
            case tree.Ref(mark="^") | tree.Across():
                raise ValueError("A range stands where one value is due.")
            case tree.Ref(key=key, mark=mark):
                return _read(self.run(key), mark)
            case tree.Name(key=key):
                run = self.run(key)
                if run.count != 1:
                    raise ValueError(f"The whole column {key!r} stands where one value is due.")
                return lambda _: run.at(0)
            case tree.Minus(value=inner):
                each = self.value(inner)
                return lambda row: -number(each(row))
            case tree.Operation(sign=sign, left=left, right=right):
                return _operation(sign, self.value(left), self.value(right))
            case tree.Call():
                return self.call(node)

    def call(self, node: tree.Call) -> Work:
        """Compile a function call."""
        name, arguments = node
        if name not in FUNCTIONS:
            raise ValueError(f"The function {name} is not in use here.")
        least, most = FUNCTIONS[name][:2]
        if not least <= len(arguments) <= most:
            raise ValueError(f"The function {name} takes {least} to {most} arguments, read {len(arguments)}.")
        return FUNCTIONS[name][2](self, name, arguments)

    def range(self, node: tree.Node) -> Range:
        """Compile a tree that must be a range."""
        match node:
            case tree.Ref(key=key, mark="^"):
                return Down(self.run(key), prefix=True)
            case tree.Name(key=key):
                return Down(self.run(key), prefix=False)
            case tree.Across(first=first, last=last):
                return Across(tuple(map(self.run, self.layout.between(first, last))))
        raise ValueError("A whole column, [x^] or [x]:[y] is due where a range is read.")

    def is_range(self, node: tree.Node) -> bool:
        """Say whether a tree is a range of cells."""
        if isinstance(node, tree.Name):
            return self.run(node.key).count != 1
        return isinstance(node, tree.Across) or (isinstance(node, tree.Ref) and node.mark == "^")


def _read(run: Run, mark: str) -> Work:
    if mark == "!":
        return lambda _: run.at(-1)
    if not mark:
        return run.at
    shift = SHIFTS[mark]
    return lambda row: run.at(row + shift)


def _operation(sign: str, left: Work, right: Work) -> Work:
    apply = SIGNS[sign]
    return lambda row: apply(left(row), right(row))
