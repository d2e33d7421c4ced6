"""The workbook as declarations, where each cell lands, and the one walk over all cells.

A formula is a template. In a table ``[x]`` is column x in the same row, ``[x-]`` and ``[x+]`` the rows above and below,
``[x!]`` the opening row, ``[x^]`` column x from the first row down to this one, ``[x]:[y]`` the cells between two
columns of the same row, and ``[x@]`` column x of another table in the row of the same number. Any other word is a
defined name: a scalar, a whole column of any table, or a list.

Every sheet begins with its title, the state of the checks and its purpose; the parts follow from row 5, stacked, with
one blank row between. The Lists sheet is added last and holds one column for each validation list.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from functools import lru_cache
from typing import TYPE_CHECKING, Any, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

__all__ = [
    "MASTER",
    "Block",
    "BookSpec",
    "Cell",
    "Column",
    "Layout",
    "Part",
    "Place",
    "Scalar",
    "Sheet",
    "Table",
    "Text",
    "column_letter",
    "layout",
]

ROLES = ("input", "work", "result", "money", "check", "label")
STYLES = ("body", "title", "caution")
FIRST_PART_ROW = 5
_REFERENCE = re.compile(r'("(?:[^"]|"")*")|\[(\w+)([-+!^@]?)\]')
_CELL_LIKE = re.compile(r"[A-Za-z]{1,3}\d+|[RrCc](\d*[Cc]?\d*)?|(?i:true|false)")
_BAD_TITLE = re.compile(r"[\[\]:*?/\\']")  # the apostrophe: Gnumeric loses names on such a sheet


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """One column of a table: either a formula or values, never both.

    Parameters
    ----------
    key : str
        Unique in the workbook; also the defined name of the whole column.
    header : str
        Heading a person reads.
    unit : str
        Unit, shown in a row of its own.
    role : str
        input, work, result, money, check or label.
    rule : str
        Id of the rule it follows.
    formula : str or tuple of str, optional
        Template for all rows, or one template a row.
    values : tuple, optional
        Inputs or constants a row; missing rows are blank.
    opening : Any
        Value in the opening row above the first row, written only if a formula reads it.
    fmt : str
        Number format.
    choices : str
        Name of the validation list.
    help : str
        Prompt shown at an input.
    width : float
        Column width [characters]; 0 takes it from the values shown.
    origin : str
        Of values no person gives: "plan" where the engine worked them out, so that no formula follows an input and a
        refresh renews them; "kept" where a refresh leaves them as they stand; empty where the program always says so.
    """

    key: str
    header: str
    unit: str = ""
    role: str = "work"
    rule: str = ""
    formula: str | tuple[str, ...] | None = None
    values: tuple[Any, ...] | None = None
    opening: Any = 0
    fmt: str = ""
    choices: str = ""
    help: str = ""
    width: float = 0
    origin: str = ""

    def __post_init__(self) -> None:
        if (self.formula is None) == (self.values is None):
            raise ValueError(f"Column {self.key}: give either a formula or values, exactly one of the two.")
        _check_declared(self.key, self.role, self.formula)

    def template(self, row: int) -> str | None:
        """Return the formula template of a row counted from 0, None for values."""
        return self.formula if self.formula is None or isinstance(self.formula, str) else self.formula[row]


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """Rows of one kind under headed columns; `rows` is the capacity."""

    key: str
    title: str
    rows: int
    columns: tuple[Column, ...]
    note: str = ""

    def __post_init__(self) -> None:
        if self.rows < 1 or not self.columns:
            raise ValueError(f"Table {self.key}: a table needs at least one row and one column.")
        for column in self.columns:
            if isinstance(column.formula, tuple) and len(column.formula) != self.rows:
                raise ValueError(
                    f"Column {column.key}: {len(column.formula)} formulas for {self.rows} rows; give one for each row."
                )
            if column.values is not None and len(column.values) > self.rows:
                raise ValueError(
                    f"Column {column.key}: {len(column.values)} values, the table has room for {self.rows} rows."
                )


@dataclass(frozen=True, slots=True, kw_only=True)
class Scalar:
    """One named cell; with neither formula nor value it is blank."""

    key: str
    label: str
    unit: str = ""
    role: str = "work"
    rule: str = ""
    formula: str | None = None
    value: Any = None
    fmt: str = ""
    choices: str = ""
    help: str = ""
    note: str = ""
    origin: str = ""

    def __post_init__(self) -> None:
        if self.formula is not None and self.value is not None:
            raise ValueError(f"Scalar {self.key}: give a formula or a value, not both.")
        _check_declared(self.key, self.role, self.formula)


@dataclass(frozen=True, slots=True, kw_only=True)
class Block:
    """A list of named cells, one a row: label, value, unit, note."""

    title: str
    scalars: tuple[Scalar, ...]
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Text:
    """Lines of our own words; a line that begins with = is a template.

    Words from outside belong in the values of a column or scalar, where they can never become a formula.
    """

    lines: tuple[str, ...]
    style: str = "body"

    def __post_init__(self) -> None:
        if self.style not in STYLES:
            raise ValueError(f"Text: style {self.style!r} is unknown; use one of {', '.join(STYLES)}.")


Part = Block | Table | Text
MASTER = Text(lines=("=master_text",))


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """One sheet: its parts stacked downwards, charts drawn after all cells are written; on one page if asked.

    A paper of its own prints the rows of its one table and nothing else, as large as they stand: ``points`` is the size
    of its type, ``pages`` the rows of each page, ``row_heights`` that of each row [points]; ``tight``: in a file of its
    own rows that say nothing go, and the others are as high as their words need. ``printed_from``: the first row that
    is printed, where what stands above is not for the reader.
    """

    title: str
    purpose: str
    parts: tuple[Part, ...]
    landscape: bool = True
    charts: tuple[Callable[[Any, Layout], None], ...] = ()
    working: bool = False
    one_page: bool = False
    freeze: str = ""
    points: int = 11
    pages: tuple[int, ...] = ()
    row_heights: tuple[float, ...] = ()
    tight: bool = False
    printed_from: int = 1

    def __post_init__(self) -> None:
        if not 1 <= len(self.title) <= 31 or _BAD_TITLE.search(self.title):
            raise ValueError(f"Sheet {self.title!r}: a title has 1 to 31 characters, none of [ ] : * ? / \\ '.")


@dataclass(frozen=True, slots=True, kw_only=True)
class BookSpec:
    """A whole workbook: its sheets in order and its validation lists."""

    sheets: tuple[Sheet, ...]
    lists: dict[str, tuple[str, ...]]


class Cell(NamedTuple):
    """One declared cell as the walk yields it; rows and columns count from 1, `row_index` from 0 (opening row: -1)."""

    sheet: str
    row: int
    col: int
    declaration: Column | Scalar | Text
    formula: str | None
    key: str
    row_index: int

    @property
    def value(self) -> Any:
        """The declared value; None for a formula or a blank."""
        if self.formula is not None:
            return None
        if isinstance(self.declaration, Text):
            return self.declaration.lines[self.row_index]
        if isinstance(self.declaration, Scalar):
            return self.declaration.value
        if self.row_index < 0:
            return self.declaration.opening
        values = self.declaration.values or ()
        return values[self.row_index] if self.row_index < len(values) else None


@dataclass(frozen=True, slots=True)
class Place:
    """Where a part stands: `top` is its first row, `first` its first row of cells, `last` its last row."""

    part: Part
    sheet: str
    top: int
    first: int
    last: int
    opened: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class _Home:
    """Where a key lives: its place, its column, and how many rows its defined name covers."""

    place: Place
    declaration: Column | Scalar
    row: int
    col: int
    count: int


@dataclass(slots=True)
class Layout:
    """The address of everything in a workbook. Made by `layout`."""

    spec: BookSpec
    sheets: tuple[Sheet, ...]
    places: list[Place] = field(default_factory=list)
    names: dict[str, str] = field(default_factory=dict)
    _homes: dict[str, _Home] = field(default_factory=dict)
    _taken: set[str] = field(default_factory=set)

    def address(self, key: str, row: int = 0) -> tuple[str, int, int]:
        """Return (sheet, row, column) of a scalar, or of a column's row counted from 0 (-1: the opening row)."""
        home = self._homes[key]
        return home.place.sheet, home.row + row, home.col

    def declaration(self, key: str) -> Column | Scalar:
        """Return what was declared under a key."""
        return self._homes[key].declaration

    def count(self, key: str) -> int:
        """Return how many cells the defined name of a key covers."""
        return self._homes[key].count

    def place(self, key: str) -> Place:
        """Return the place of the part that holds a key."""
        return self._homes[key].place

    def between(self, first: str, last: str) -> tuple[str, ...]:
        """Return the keys of a table's columns from one to another, both included."""
        table = self._homes[first].place.part
        keys = [column.key for column in table.columns] if isinstance(table, Table) else []
        return tuple(keys[keys.index(first) : keys.index(last) + 1])

    def cells(self) -> Iterator[Cell]:
        """Yield every declared cell, sheet by sheet, part by part, column by column."""
        at, masters = 0, set(self.masters())
        for sheet in self.sheets:
            if (sheet.title, 2, 1) in masters:
                yield Cell(sheet.title, 2, 1, MASTER, MASTER.lines[0], "", 0)
            while at < len(self.places) and self.places[at].sheet == sheet.title:
                yield from self._part_cells(self.places[at])
                at += 1

    def formulas(self) -> Iterator[Cell]:
        """Yield the cells that hold a formula."""
        return (cell for cell in self.cells() if cell.formula is not None)

    def masters(self) -> Iterator[tuple[str, int, int]]:
        """Yield the cells that repeat the state of the checks: A2 of every sheet but the one that works it out."""
        if "master_text" in self._homes:
            home = self._homes["master_text"].place.sheet
            yield from ((sheet.title, 2, 1) for sheet in self.sheets if sheet.title != home)

    def _part_cells(self, place: Place) -> Iterator[Cell]:
        part, sheet = place.part, place.sheet
        if isinstance(part, Text):
            for i, line in enumerate(part.lines):
                yield Cell(sheet, place.first + i, 1, part, line if line.startswith("=") else None, "", i)
        elif isinstance(part, Block):
            for i, scalar in enumerate(part.scalars):
                text = None if scalar.formula is None else _format(scalar.formula, None)[0].format()
                yield Cell(sheet, place.first + i, 2, scalar, text, scalar.key, 0)
        else:
            for number, column in enumerate(part.columns, start=1):
                yield from _column_cells(self, place, part, number, column)


def layout(spec: BookSpec) -> Layout:
    """Give every declared cell its address.

    Parameters
    ----------
    spec : BookSpec
        The declared workbook.

    Returns
    -------
    Layout
        Addresses, defined names and the walk over all cells.

    Raises
    ------
    ValueError
        If a key, title or list is declared twice, a key cannot be a defined name, a choice list is unknown, or a
        template reads a column its table does not have.
    """
    sheets = spec.sheets + ((_lists_sheet(spec.lists),) if spec.lists else ())
    titles = [sheet.title.lower() for sheet in sheets]
    for title in titles:
        if titles.count(title) > 1:
            raise ValueError(f"Sheet {title!r} is declared twice; every sheet needs a title of its own.")
    made = Layout(spec, sheets)
    for sheet in sheets:
        row = FIRST_PART_ROW
        for part in sheet.parts:
            place = _place(part, sheet.title, row)
            made.places.append(place)
            _register(made, place)
            row = place.last + 2
    return made


@lru_cache(maxsize=20_000)
def column_letter(number: int) -> str:
    """Return the letters of a column counted from 1."""
    letters = ""
    while number:
        number, rest = divmod(number - 1, 26)
        letters = chr(65 + rest) + letters
    return letters


@lru_cache(maxsize=20_000)
def _check_declared(key: str, role: str, formula: str | tuple[str, ...] | None) -> None:
    if not re.fullmatch(r"[A-Za-z_]\w*", key, re.ASCII) or _CELL_LIKE.fullmatch(key) or len(key) > 255:
        raise ValueError(
            f"{key!r} cannot be a defined name: use letters, digits and _, and nothing like a cell (A1, R1C1)."
        )
    if role not in ROLES:
        raise ValueError(f"{key}: role {role!r} is unknown; use one of {', '.join(ROLES)}.")
    for template in (formula,) if isinstance(formula, str) else formula or ():
        if not template.startswith("="):
            raise ValueError(f"{key}: a formula begins with '=', read {template!r}.")


def _lists_sheet(lists: dict[str, tuple[str, ...]]) -> Sheet:
    columns = tuple(
        Column(key=name, header=name.replace("_", " "), role="label", values=words) for name, words in lists.items()
    )
    rows = max(len(words) for words in lists.values())
    table = Table(key="lists", title="Words the inputs accept", rows=rows, columns=columns)
    return Sheet(title="Lists", purpose="The words each input with a list accepts.", parts=(table,), working=True)


def _place(part: Part, sheet: str, row: int) -> Place:
    if isinstance(part, Text):
        return Place(part, sheet, row, row, row + len(part.lines) - 1)
    if isinstance(part, Block):
        return Place(part, sheet, row, row + 1, row + len(part.scalars))
    opened = _opened(part)
    first = row + 3 + bool(opened)
    return Place(part, sheet, row, first, first + part.rows - 1, opened)


def _opened(table: Table) -> frozenset[str]:
    """Return the columns whose opening row is read."""
    templates: set[str] = set()
    for column in table.columns:
        templates.update((column.formula,) if isinstance(column.formula, str) else column.formula or ())
    found = (match for template in templates for match in _REFERENCE.finditer(template))
    return frozenset(match[2] for match in found if match[3] in {"-", "!"} and match[2])


def _register(made: Layout, place: Place) -> None:
    part = place.part
    if isinstance(part, Block):
        for i, scalar in enumerate(part.scalars):
            _name(made, scalar, _Home(place, scalar, place.first + i, 2, 1))
    elif isinstance(part, Table):
        whole = place.sheet != "Lists"
        for number, column in enumerate(part.columns, start=1):
            count = part.rows if whole else max(1, len(column.values or ()))
            _name(made, column, _Home(place, column, place.first, number, count))


def _name(made: Layout, declared: Column | Scalar, home: _Home) -> None:
    if declared.key.lower() in made._taken:  # noqa: SLF001  the builder of this very class
        raise ValueError(f"{declared.key!r} is declared twice; every column, scalar and list needs a name of its own.")
    if declared.choices and declared.choices not in made.spec.lists:
        raise ValueError(f"{declared.key}: no list is called {declared.choices!r}.")
    made._homes[declared.key] = home  # noqa: SLF001  the same
    made._taken.add(declared.key.lower())  # noqa: SLF001  the same
    letters = column_letter(home.col)
    last = f":${letters}${home.row + home.count - 1}" if home.count > 1 else ""
    made.names[declared.key] = f"'{home.place.sheet}'!${letters}${home.row}{last}"


def _column_cells(made: Layout, place: Place, table: Table, number: int, column: Column) -> Iterator[Cell]:
    if column.key in place.opened:
        yield Cell(place.sheet, place.first - 1, number, column, None, column.key, -1)
    letters = {each.key: column_letter(i) for i, each in enumerate(table.columns, start=1)}
    shapes: dict[str, tuple[Callable[..., str], tuple[int, ...]]] = {}
    for i in range(table.rows):
        row, template, text = place.first + i, column.template(i), None
        if template is not None:
            if template not in shapes:
                shape, offsets = _format(template, letters, place.first, made, table.rows)
                shapes[template] = shape.format, offsets
            written, offsets = shapes[template]
            text = written(row, row - 1, row + 1, *[row + offset for offset in offsets])
        yield Cell(place.sheet, row, number, column, text, column.key, i)


def _format(
    template: str, letters: dict[str, str] | None, first: int = 0, made: Layout | None = None, rows: int = 0
) -> tuple[str, tuple[int, ...]]:
    """Turn a template into a format string of (row, row above, row below, rows of other tables) and their offsets."""
    out, at = [], 0
    offsets: list[int] = []
    for match in _REFERENCE.finditer(template):
        out.append(template[at : match.start()].replace("{", "{{").replace("}", "}}"))
        at = match.end()
        if match[1]:
            out.append(match[1].replace("{", "{{").replace("}", "}}"))
            continue
        if match[3] == "@" and made is not None:
            sheet, other, col = made.address(match[2])
            if made.count(match[2]) < rows:
                raise ValueError(f"{template!r} reads [{match[2]}@], whose table has fewer rows.")
            offsets.append(other - first)
            out.append(f"'{sheet}'!{column_letter(col)}{{{2 + len(offsets)}}}")
            continue
        if letters is None or match[2] not in letters:
            raise ValueError(f"{template!r} reads [{match[2]}], which is no column of its own table.")
        letter = letters[match[2]]
        out.append(
            {
                "": f"{letter}{{0}}",
                "-": f"{letter}{{1}}",
                "+": f"{letter}{{2}}",
                "!": f"{letter}${first - 1}",
                "^": f"{letter}${first}:{letter}{{0}}",
            }[match[3]]
        )
    out.append(template[at:].replace("{", "{{").replace("}", "}}"))
    return "".join(out), tuple(offsets)
