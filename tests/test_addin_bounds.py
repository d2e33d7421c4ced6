"""What the add-in may lean on: no paid part of xlwings, no xlwings at all elsewhere, and in Calc nothing but Python."""

from __future__ import annotations

import ast
import io
import json
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest
from addin_cases import CASES, REFUSED

import baybook
from baybook.addin.calc import BUNDLED, SERVICE, extension, interface_idl, qualified
from baybook.addin.declare import Span
from baybook.addin.registry import FUNCTIONS, answer

SOURCE = Path(baybook.__file__).parent
PAID = ("pro", "server", "reports", "rest", "ext")  # need a key in a business, or load what does
FREE = {"func", "arg", "Book"}  # all that our source asks of xlwings
HEAVY = ("pandas", "numpy", "openpyxl", "pint", "highspy", "xlwings", "shapely", "click", "rich", "defusedxml")


def trees():
    for path in sorted(SOURCE.rglob("*.py")):
        yield path.relative_to(SOURCE).as_posix(), ast.parse(path.read_text(encoding="utf-8"))


def uses_of_xlwings(tree: ast.AST) -> set[str]:
    """What a module takes from xlwings: names imported, and attributes of the module under whatever name."""
    found, names = set(), set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            for one in node.names:
                if one.name.split(".")[0] == "xlwings":
                    names.add(one.asname or one.name.split(".")[0])
                    found |= set(one.name.split(".")[1:])
        elif isinstance(node, ast.ImportFrom) and (node.module or "").split(".")[0] == "xlwings":
            found |= {*node.module.split(".")[1:], *(one.name for one in node.names)}
    for node in ast.walk(tree):
        if isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name) and node.value.id in names:
            found.add(node.attr)
    return found


def test_no_paid_part_of_xlwings_is_used():
    for path, tree in trees():
        used = uses_of_xlwings(tree)
        assert used.isdisjoint(PAID), path
        assert used <= FREE, path
        for node in ast.walk(tree):
            if isinstance(node, ast.Constant) and isinstance(node.value, str):
                assert not any(f"xlwings.{one}" in node.value for one in PAID), path


@pytest.mark.parametrize(
    "line", ["import xlwings.pro", "from xlwings.server import func", "import xlwings as x; x.pro"]
)
def test_that_test_sees_a_paid_part(line):
    assert uses_of_xlwings(ast.parse(line)) & set(PAID)


WITHOUT = """
import sys
class Nothing:
    def find_spec(self, name, *_):
        if name.split(".")[0] in {missing}:
            raise ModuleNotFoundError(f"No module named {{name!r}}", name=name)
sys.meta_path.insert(0, Nothing())
"""


def run_without(missing: set[str], code: str) -> subprocess.CompletedProcess[str]:
    program = WITHOUT.format(missing=missing) + code
    return subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=False)


@pytest.mark.parametrize("arguments", [["example", "{0}/new"], ["addin", "calc", "--out", "{0}"]])
def test_the_tool_works_whole_without_xlwings(tmp_path, arguments):
    given = [one.format(tmp_path) for one in arguments]
    ran = run_without(
        {"xlwings"}, f"import sys; sys.argv = ['baybook', *{given}]\nfrom baybook.cli import main; main()"
    )
    assert ran.returncode == 0, ran.stderr
    assert any(tmp_path.iterdir())


def test_without_xlwings_the_workbook_is_refused_in_a_sentence(tmp_path):
    code = f"import sys; sys.argv = ['baybook', 'addin', 'excel', '--out', {str(tmp_path / 'x')!r}]"
    ran = run_without({"xlwings"}, f"{code}\nfrom baybook.cli import main; main()")
    assert ran.returncode == 1
    assert ran.stderr.startswith("xlwings: the workbook is built on xlwings' own template (No module named 'xlwings')")
    assert "Traceback" not in ran.stderr
    assert not (tmp_path / "x").exists()


def test_the_functions_load_nothing_heavy():
    code = f"import sys, baybook.addin.registry; print([name for name in {HEAVY} if name in sys.modules])"
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert ran.stdout.strip() == "[]"


def test_without_pandas_prices_are_the_same():
    (case, *_) = [case for case in CASES if case.name == "BAY_PRICE_TABLE"]
    call = f"answer({case.name!r}, {case.given!r})"
    code = f"import json\nfrom baybook.addin.registry import answer\nprint(json.dumps({call}))"
    ran = run_without({"pandas", "numpy"}, code)
    assert ran.returncode == 0, ran.stderr
    assert json.loads(ran.stdout) == case.expected == answer(case.name, case.given)


# ---------------------------------------------------------------------------------------------- the Calc bundle

PROGRAM = """
import json, sys
sys.path = [one for one in sys.path if "site-packages" not in one and "dist-packages" not in one]
sys.path.insert(0, {place!r})
from baybook.addin.reading import Refusal
from baybook.addin.registry import answer
import baybook
assert baybook.__file__.startswith({place!r})
said = []
for name, given in json.load(sys.stdin):
    try:
        said.append(answer(name, given))
    except Refusal as refused:
        said.append([str(refused), refused.missing])
json.dump(said, sys.stdout)
"""


@pytest.fixture(scope="module")
def bundle(tmp_path_factory) -> Path:
    place = tmp_path_factory.mktemp("oxt")
    with zipfile.ZipFile(io.BytesIO(extension())) as archive:
        archive.extractall(place)
    return place


def asked_of(bundle: Path, calls) -> list:
    """Ask the bundle in a Python that has nothing else."""
    ran = subprocess.run(
        [sys.executable, "-I", "-S", "-c", PROGRAM.format(place=str(bundle / "pythonpath"))],
        input=json.dumps(calls),
        capture_output=True,
        text=True,
        check=False,
    )
    assert ran.returncode == 0, ran.stderr[-2000:]
    return json.loads(ran.stdout)


def test_bare_python_answers_everything_but_plans_that_need_a_solver(bundle):
    calls = [[case.name, case.given] for case in CASES if not case.solver]
    said = asked_of(bundle, calls)
    due = [json.loads(json.dumps(answer(case.name, case.given))) for case in CASES if not case.solver]
    assert said == due
    assert {name for name, _ in calls} == set(FUNCTIONS)


def test_bare_python_refuses_in_the_same_words(bundle):
    said = asked_of(bundle, [[name, given] for name, given, _ in REFUSED])
    for (_, _, sentence), (told, missing) in zip(REFUSED, said, strict=True):
        assert sentence in told
        assert missing == ""


def test_a_plan_that_needs_the_solver_says_what_to_install(bundle):
    calls = [[case.name, case.given] for case in CASES if case.solver]
    for (name, _), (told, missing) in zip(calls, asked_of(bundle, calls), strict=True):
        assert told == f"{name}: this plan needs the Python package numpy, which is not installed"
        assert missing == "numpy highspy"


def test_the_bundle_holds_only_text_of_ours():
    with zipfile.ZipFile(io.BytesIO(extension())) as archive:
        names = archive.namelist()
    assert names[:4] == ["META-INF/manifest.xml", "description.xml", "bayfunctions.idl", "bay_component.py"]
    assert all(name.startswith("pythonpath/baybook/") and name.endswith((".py", ".csv")) for name in names[4:])
    assert not any("workbook" in name or "files/" in name or "udfs" in name for name in names)
    assert {path.split("/")[0] for path in BUNDLED} <= {path.name for path in SOURCE.iterdir()}


def test_the_same_extension_twice():
    assert extension() == extension()


def test_the_interface_declares_every_function():
    lines = interface_idl().splitlines()[1:-1]
    for function, line in zip(FUNCTIONS.values(), lines, strict=True):
        kind = "sequence< sequence< any > >" if function.gives.array else "any"
        assert line.strip().startswith(f"{kind} {function.method}(")
        assert line.count("[in]") == len(function.args)
        assert ("sequence< any > arguments" in line) == (function.args[-1].span is Span.REST)
        assert "_" not in line
        assert qualified(function) == f"{SERVICE}.{function.method}".upper()
