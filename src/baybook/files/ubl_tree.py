"""XML read into small trees whose elements know their line, and written with the names of OASIS UBL 2."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from xml.parsers.expat import ParserCreate

from baybook.files.guard import check_xml
from baybook.files.limits import Limits
from baybook.problems import FileRefused, Problem

__all__ = ["AGGREGATE", "BASIC", "DOCUMENT", "Node", "read_tree"]

_UBL = "urn:oasis:names:specification:ubl:schema:xsd:"
AGGREGATE = f"{_UBL}CommonAggregateComponents-2"
BASIC = f"{_UBL}CommonBasicComponents-2"
DOCUMENT = _UBL + "{}-2"
_SEPARATOR = "\x1f"  # stands in no namespace


@dataclass(slots=True)
class Node:
    """An element: its local name, text, attributes, children, and the line it begins on."""

    name: str
    space: str
    line: int
    attributes: dict[str, str] = field(default_factory=dict)
    text: str = ""
    children: list[Node] = field(default_factory=list)

    def all(self, path: str) -> Iterator[Node]:
        """Yield the elements at a path of local names, ``OrderLine/LineItem``; other vocabularies are left out."""
        name, _, rest = path.partition("/")
        for child in self.children:
            if child.name == name and child.space in {AGGREGATE, BASIC}:
                if rest:
                    yield from child.all(rest)
                else:
                    yield child

    def first(self, path: str) -> Node | None:
        """Return the first element at a path."""
        return next(self.all(path), None)

    def get(self, path: str) -> str:
        """Return the trimmed text at a path; empty if there is none."""
        found = self.first(path)
        return found.text.strip() if found else ""


def read_tree(data: bytes, source: str, limits: Limits | None = None) -> Node:
    """Read an XML file that passed the guard.

    Parameters
    ----------
    data : bytes
        The whole file.
    source : str
        Its name, for messages.
    limits : Limits, optional
        Those in force if not given.

    Returns
    -------
    Node
        Its root.

    Raises
    ------
    FileRefused
        If the guard refuses it.
    """
    check_xml(data, source, limits)
    top = Node("", "", 0)
    open_nodes = [top]
    parser = ParserCreate(namespace_separator=_SEPARATOR)
    parser.buffer_text = True

    def start(name: str, attributes: dict[str, str]) -> None:
        space, _, local = name.rpartition(_SEPARATOR)
        node = Node(local, space, parser.CurrentLineNumber, attributes)
        open_nodes[-1].children.append(node)
        open_nodes.append(node)

    def end(_: str) -> None:
        open_nodes.pop()

    def text(words: str) -> None:
        open_nodes[-1].text += words

    parser.StartElementHandler, parser.EndElementHandler, parser.CharacterDataHandler = start, end, text
    parser.Parse(data, True)  # noqa: FBT003  expat's own flag: this is all of it
    if not top.children:
        raise FileRefused(Problem(source, 0, "", "holds no element; get it again"))
    return top.children[0]
