"""Formula templates read into small trees, for the evaluation and the lint alike."""

from __future__ import annotations

import re
from functools import lru_cache
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Iterator

__all__ = ["Across", "Call", "Literal", "Minus", "Name", "Node", "Operation", "Ref", "parse", "walk"]

_TOKEN = re.compile(
    r'\s*(?:(?P<text>"(?:[^"]|"")*")|(?P<ref>\[\w+[-+!^@]?\])|(?P<number>(?:\d+\.?\d*|\.\d+)(?:[Ee][-+]?\d+)?)'
    r"|(?P<word>[A-Za-z_]\w*)|(?P<sign><=|>=|<>|[-+*/^&=<>(),:]))",
    re.ASCII,
)
_LEVELS = (("=", "<>", "<", ">", "<=", ">="), ("&",), ("+", "-"), ("*", "/"), ("^",))


class Literal(NamedTuple):
    """A number, text or truth value written in the formula; `source` as it was written."""

    value: float | str | bool
    source: str


class Ref(NamedTuple):
    """``[key]`` and its mark: "" same row, "-" above, "+" below, "!" opening row, "^" first to here, "@" elsewhere."""

    key: str
    mark: str


class Across(NamedTuple):
    """``[first]:[last]``, the cells of one row between two columns."""

    first: str
    last: str


class Name(NamedTuple):
    """A defined name."""

    key: str


class Minus(NamedTuple):
    """A value with its sign turned."""

    value: Node


class Operation(NamedTuple):
    """Two values and the sign between them."""

    sign: str
    left: Node
    right: Node


class Call(NamedTuple):
    """A function and its arguments."""

    function: str
    arguments: tuple[Node, ...]


Node = Literal | Ref | Across | Name | Minus | Operation | Call


@lru_cache(maxsize=4096)
def parse(template: str) -> Node:
    """Read a formula template into a tree.

    Parameters
    ----------
    template : str
        A formula that begins with ``=``.

    Returns
    -------
    Node
        The tree; a sign of minus binds tighter than ``^``, and ``^`` groups from the left, as in Excel.

    Raises
    ------
    ValueError
        If it is not a formula: the sentence quotes it and says where reading stopped.
    """
    return _Reader(template).read()


def walk(node: Node) -> Iterator[Node]:
    """Yield a tree's nodes, the outer before the inner."""
    yield node
    for child in _children(node):
        yield from walk(child)


def _children(node: Node) -> tuple[Node, ...]:
    if isinstance(node, Call):
        return node.arguments
    if isinstance(node, Operation):
        return node.left, node.right
    return (node.value,) if isinstance(node, Minus) else ()


class _Reader:
    """Reads one template from left to right."""

    def __init__(self, template: str) -> None:
        self.template = template
        self.tokens: list[tuple[str, str]] = []
        at = 1
        while template[at:].strip():
            match = _TOKEN.match(template, at)
            if match is None:
                raise ValueError(f"{template!r} cannot be read at {template[at : at + 10]!r}.")
            kind = str(match.lastgroup)
            self.tokens.append((kind, match[kind]))
            at = match.end()
        self.at = 0

    def read(self) -> Node:
        node = self.level(0)
        if self.at < len(self.tokens):
            raise ValueError(f"{self.template!r} goes on after its end, at {self.tokens[self.at][1]!r}.")
        return node

    def next_is(self, *signs: str) -> bool:
        return self.at < len(self.tokens) and self.tokens[self.at][0] == "sign" and self.tokens[self.at][1] in signs

    def take(self) -> tuple[str, str]:
        if self.at >= len(self.tokens):
            raise ValueError(f"{self.template!r} ends too early.")
        self.at += 1
        return self.tokens[self.at - 1]

    def expect(self, sign: str) -> None:
        kind, found = self.take()
        if (kind, found) != ("sign", sign):
            raise ValueError(f"{self.template!r} has {found!r} where {sign!r} is due.")

    def level(self, number: int) -> Node:
        if number == len(_LEVELS):
            return self.signed()
        node = self.level(number + 1)
        while self.next_is(*_LEVELS[number]):
            sign = self.take()[1]
            node = Operation(sign, node, self.level(number + 1))
        return node

    def signed(self) -> Node:
        if self.next_is("-"):
            self.take()
            return Minus(self.signed())
        if self.next_is("+"):
            self.take()
            return self.signed()
        return self.atom()

    def atom(self) -> Node:
        kind, found = self.take()
        if kind == "text":
            return Literal(found[1:-1].replace('""', '"'), found)
        if kind == "number":
            return Literal(float(found), found)
        if kind == "ref":
            return self.reference(found)
        if kind == "word":
            return self.word(found)
        if found != "(":
            raise ValueError(f"{self.template!r} has {found!r} where a value is due.")
        node = self.level(0)
        self.expect(")")
        return node

    def reference(self, found: str) -> Node:
        key, mark = (found[1:-1], "") if found[-2] not in "-+!^@" else (found[1:-2], found[-2])
        if not self.next_is(":"):
            return Ref(key, mark)
        self.take()
        kind, last = self.take()
        if kind != "ref" or mark or last[-2] in "-+!^@":
            raise ValueError(f"{self.template!r}: only [x]:[y] of one row makes a range.")
        return Across(key, last[1:-1])

    def word(self, found: str) -> Node:
        if not self.next_is("("):
            return Literal(found.upper() == "TRUE", found) if found.upper() in {"TRUE", "FALSE"} else Name(found)
        self.take()
        arguments: list[Node] = []
        while not self.next_is(")"):
            if arguments:
                self.expect(",")
            arguments.append(self.level(0))
        self.take()
        return Call(found.upper(), tuple(arguments))
