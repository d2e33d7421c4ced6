"""What the tool needs at run time is free for business use, bounded in its versions and named in the README."""

from __future__ import annotations

import re
import tomllib
from importlib.metadata import distribution
from pathlib import Path

import pytest
from packaging.requirements import Requirement

ROOT = Path(__file__).parents[1]
# SPDX identifiers, https://spdx.org/licenses/: all allow use, change and sale in a business without a fee.
FREE = {"0BSD", "Apache-2.0", "BSD-2-Clause", "BSD-3-Clause", "CC0-1.0", "MIT", "PSF-2.0", "Zlib"}
# What older metadata says in place of an SPDX expression.
OLDER = {
    "License :: OSI Approved :: Apache Software License",
    "License :: OSI Approved :: BSD License",
    "License :: OSI Approved :: MIT License",
    "License :: OSI Approved :: Python Software Foundation License",
}


def direct() -> list[Requirement]:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    return [Requirement(line) for line in project["dependencies"]]


def needed() -> list[str]:
    found: dict[str, None] = {}
    waiting = [one.name for one in direct()]
    while waiting:
        name = re.sub(r"[-_.]+", "-", waiting.pop()).lower()
        if name in found:
            continue
        found[name] = None
        asked = map(Requirement, distribution(name).requires or ())
        waiting += [one.name for one in asked if one.marker is None or one.marker.evaluate({"extra": ""})]
    return sorted(found)


def is_free(expression: str, classifiers: list[str], plain: str) -> bool:
    stated = [one for one in classifiers if one.startswith("License ::")]
    if expression or not stated:
        names = re.split(r" AND | OR ", (expression or plain).strip("() "))
        return all(name in FREE for name in names)
    return all(one in OLDER for one in stated)


@pytest.mark.parametrize("name", needed())
def test_every_dependency_is_free_for_business_use(name):
    data = distribution(name).metadata
    said = data.get("License-Expression") or "", data.get_all("Classifier") or [], data.get("License") or ""
    assert is_free(*said), said


def test_other_licences_are_not_taken_for_free():
    assert not is_free("MIT AND GPL-3.0-only", [], "")
    assert not is_free("", ["License :: OSI Approved :: GNU General Public License (GPL)"], "MIT")
    assert not is_free("", [], "")


@pytest.mark.parametrize("one", direct(), ids=lambda one: one.name)
def test_every_direct_dependency_has_both_bounds_and_stands_in_the_readme(one):
    signs = {spec.operator for spec in one.specifier}
    assert signs == {">=", "<"}
    assert re.search(rf"\b{one.name}\b", (ROOT / "README.md").read_text(encoding="utf-8"), re.IGNORECASE)
