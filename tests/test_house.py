"""The house: what may import what, what may open a file, and what a start of the program must not load."""

from __future__ import annotations

import ast
import subprocess
import sys
from pathlib import Path

import pytest

import baybook

SOURCE = Path(baybook.__file__).parent
ORDER = (
    "problems",
    "numbers",
    "units",
    "outline",
    "data",
    "job",
    "water",
    "takeoff",
    "cutplan",
    "pricing",
    "watercheck",
    "offering",
    "estimate",
    "options",
    "decisions",
    "report",
    "buying",
    "changes",
    "files",
    "workbook",
    "addin",
    "batch",
    "papers",
    "reprice",
    "ledger",
    "remeasure",
    "commands",
    "cli",
    "__main__",
)
CORE = ORDER[: ORDER.index("files")]
HEAVY = ("pandas", "numpy", "openpyxl", "pint", "xlwings", "highspy", "shapely")
OPENS = {"open", "fdopen", "mkstemp", "NamedTemporaryFile", "TemporaryFile"}
OPENS_METHODS = {"read_text", "read_bytes", "write_text", "write_bytes"}


def modules():
    """Yield (module in dotted parts after baybook, its tree) of every module."""
    for path in sorted(SOURCE.rglob("*.py")):
        parts = path.relative_to(SOURCE).with_suffix("").parts
        yield parts[:-1] if parts[-1] == "__init__" else parts, ast.parse(path.read_text(encoding="utf-8"), str(path))


MODULES = dict(modules())


def imported(tree):
    """Yield the dotted name of everything a module imports, wherever in it."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from (one.name for one in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, "imports are written in full"
            if node.module == "baybook":
                yield from (f"baybook.{one.name}" for one in node.names)
            else:
                yield node.module


def own(tree):
    """Yield the packages of ours that a module imports."""
    for name in imported(tree):
        first, _, rest = name.partition(".")
        if first == "baybook" and rest and not rest.startswith("__"):
            yield rest.split(".")[0]


def label(parts):
    return ".".join(parts) or "baybook"


@pytest.mark.parametrize("parts", [parts for parts in MODULES if parts], ids=label)
def test_a_module_imports_only_what_stands_above_it(parts):
    assert parts[0] in ORDER, f"{parts[0]} has no place in the house: give it one in ORDER"
    above = ORDER[: ORDER.index(parts[0]) + 1]
    assert set(own(MODULES[parts])) <= set(above)


def test_the_package_itself_imports_nothing_of_its_own_at_once():
    top = [node for node in MODULES[()].body if isinstance(node, ast.Import | ast.ImportFrom)]
    assert [name for node in top for name in imported(node) if name.startswith("baybook")] == []


def outside_functions(node):
    """Yield the nodes that run on import: not those in functions, nor under TYPE_CHECKING."""
    for child in ast.iter_child_nodes(node):
        if isinstance(child, ast.FunctionDef | ast.AsyncFunctionDef | ast.Lambda):
            continue
        if isinstance(child, ast.If) and "TYPE_CHECKING" in ast.dump(child.test):
            continue
        yield child
        yield from outside_functions(child)


def imports_at_once(parts):
    """Return the names a module imports when it is itself imported."""
    nodes = outside_functions(MODULES[parts])
    return {name for node in nodes if isinstance(node, ast.Import | ast.ImportFrom) for name in imported(node)}


HEAVY_THEMSELVES = {
    "addin.udfs": "Excel imports it to find the functions that xlwings marks",
    "workbook.looks": "cells share styles by openpyxl's own classes",
    "workbook.package": "openpyxl's writer is extended by classes",
}


def test_heavy_libraries_are_imported_where_they_are_used():
    found = {label(parts) for parts in MODULES if {name.split(".")[0] for name in imports_at_once(parts)} & {*HEAVY}}
    assert found <= set(HEAVY_THEMSELVES)


def loaded_with(parts, seen):
    """Gather what importing a module of ours imports at once, through all others of ours."""
    for name in imports_at_once(parts):
        if name not in seen:
            seen.add(name)
            inner = tuple(name.split(".")[1:]) if name.startswith("baybook.") else ()
            for end in range(1, len(inner) + 1):
                if inner[:end] in MODULES:
                    loaded_with(inner[:end], seen)
    return seen


@pytest.mark.parametrize("parts", [one for one in MODULES if one[:1] not in {("workbook",), ("addin",)}], ids=label)
def test_outside_workbook_and_addin_no_module_loads_a_heavy_library_by_way_of_another(parts):
    assert {name.split(".")[0] for name in loaded_with(parts, set())}.isdisjoint(HEAVY)


def test_only_units_imports_pint():
    users = {label(parts) for parts, tree in MODULES.items() if any(n.split(".")[0] == "pint" for n in imported(tree))}
    assert users == {"units"}


@pytest.mark.parametrize("library", ["openpyxl", "xlwings", "defusedxml", "xlsxwriter"])
def test_the_core_knows_no_spreadsheet(library):
    users = {
        parts[0] for parts, tree in MODULES.items() if parts and any(n.split(".")[0] == library for n in imported(tree))
    }
    assert users.isdisjoint(CORE)


def calls(tree):
    """Yield (line, how it is called, name) of every call."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Call):
            if isinstance(node.func, ast.Name):
                yield node.lineno, "plain", node.func.id
            elif isinstance(node.func, ast.Attribute):
                yield node.lineno, "method", node.func.attr


@pytest.mark.parametrize("parts", [parts for parts in MODULES if parts[:1] not in {("files",), ("data",)}], ids=label)
def test_only_files_opens_a_file(parts):
    # data/ reads the tables that come with the program, through importlib.resources
    found = [
        f"line {line}: {name}()"
        for line, how, name in calls(MODULES[parts])
        if name in (OPENS if how == "plain" else OPENS_METHODS)
    ]
    assert found == []


@pytest.mark.parametrize("parts", [parts for parts in MODULES if parts and parts[0] in CORE], ids=label)
def test_the_core_has_no_business_with_paths(parts):
    names = {name.split(".")[0] for name in imported(MODULES[parts])}
    allowed = {"importlib"} if parts[0] == "data" else set()
    assert names.isdisjoint({"os", "pathlib", "shutil", "tempfile", "glob", "sqlite3", "importlib"} - allowed)


@pytest.mark.parametrize("parts", [parts for parts in MODULES if parts and parts[0] in CORE], ids=label)
def test_the_core_prints_nothing_and_knows_no_clock(parts):
    names = {(how, name) for _, how, name in calls(MODULES[parts])}
    assert ("plain", "print") not in names
    assert {("method", "today"), ("method", "now"), ("method", "utcnow")}.isdisjoint(names)


def loaded(code):
    """Return the heavy libraries that a fresh Python has loaded after running a piece of code."""
    ending = f"\nimport sys; print('loaded:', *[name for name in {HEAVY!r} if name in sys.modules])"
    run = subprocess.run([sys.executable, "-c", code + ending], capture_output=True, text=True, check=True)
    return run.stdout.splitlines()[-1].split()[1:]


RUN = "import click.testing as t, baybook.cli as c; assert not t.CliRunner().invoke(c.main, {}).exit_code"


@pytest.mark.parametrize(
    "code",
    [
        "import baybook",
        RUN.format(["--help"]),
        RUN.format(["takeoff", "--help"]),
        "import baybook.estimate, baybook.report",
    ],
    ids=["import", "help", "help of a command", "the core"],
)
def test_a_start_loads_no_heavy_library(code):
    assert loaded(code) == []


def test_the_check_sees_a_heavy_library():
    assert loaded("import numpy") == ["numpy"]
