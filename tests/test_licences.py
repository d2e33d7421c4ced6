"""What the program stands on: free for business use, named in the README, and bounded in its versions."""

from __future__ import annotations

import re
import tomllib
from importlib import metadata
from pathlib import Path

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

ROOT = Path(__file__).parents[1]
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
DIRECT = [Requirement(line) for line in PROJECT["dependencies"]]
EXTRAS = [Requirement(line) for lines in PROJECT["optional-dependencies"].values() for line in lines]

# All of these let a business use and pass on the program, open or closed, for no more than keeping the notices.
ALLOWED = {"0BSD", "Apache-2.0", "BSD-2-Clause", "BSD-3-Clause", "CC0-1.0", "MIT", "PSF-2.0", "Zlib"}
SPELLED = {  # as packages without a licence expression write them
    "bsd": "BSD-3-Clause",
    "bsd license": "BSD-3-Clause",
    "bsd 3-clause": "BSD-3-Clause",
    "mit license": "MIT",
    "psfl": "PSF-2.0",
    "python software foundation license": "PSF-2.0",
    "apache software license": "Apache-2.0",
}
README_WORDS = {"BSD-3-Clause": "BSD-3-Clause", "MIT": "MIT", "PSF-2.0": "Python Software Foundation"}


def installed(roots) -> dict[str, metadata.Distribution]:
    """Return the distributions that these need here, and all that those need."""
    found: dict[str, metadata.Distribution] = {}
    waiting = [one.name for one in roots if one.marker is None or one.marker.evaluate({"extra": ""})]
    while waiting:
        name = canonicalize_name(waiting.pop())
        if name in found:
            continue
        found[name] = metadata.distribution(name)
        needs = [Requirement(line) for line in found[name].requires or []]
        waiting += [one.name for one in needs if one.marker is None or one.marker.evaluate({"extra": ""})]
    return found


def licences(distribution: metadata.Distribution) -> set[str]:
    """Return the licences all of which hold for a distribution, by their SPDX names."""
    said = distribution.metadata
    if said.get("License-Expression"):
        return {one.strip("() ") for one in said["License-Expression"].split(" AND ")}
    words = [line.rsplit(" :: ", 1)[1] for line in said.get_all("Classifier") or [] if line.startswith("License :: ")]
    words = words or [said.get("License") or "none"]
    return {SPELLED.get(one.casefold(), one) for one in words}


STANDS_ON = installed(DIRECT)


@pytest.mark.parametrize("name", sorted(STANDS_ON))
def test_every_dependency_is_free_for_business_use(name):
    assert licences(STANDS_ON[name]) <= ALLOWED


def test_the_check_would_see_another_licence():
    assert not licences(metadata.distribution("hypothesis")) <= ALLOWED  # MPL-2.0: of the tests alone


def test_the_readme_names_each_direct_dependency_with_its_licence():
    text = (ROOT / "README.md").read_text(encoding="utf-8").split("Licences of what it stands on:")[1]
    stated = {}
    for part in re.sub(r"\(.*?\)", "", text, flags=re.DOTALL).split(";"):
        words = " ".join(part.split()).rstrip(".")
        licence = next(spdx for spdx, said in README_WORDS.items() if words.endswith(said))
        stated |= dict.fromkeys(re.findall(r"[\w-]+", words.removesuffix(README_WORDS[licence])), licence)
    stated.pop("and", None)
    named = {canonicalize_name(one.name) for one in DIRECT}
    assert set(stated) == named
    for name in named:
        assert stated[name] in licences(STANDS_ON[name])


@pytest.mark.parametrize("needed", [*DIRECT, *EXTRAS], ids=str)
def test_versions_are_bounded_from_below_and_above(needed):
    assert {one.operator for one in needed.specifier} == {">=", "<"}


def test_what_is_installed_is_within_the_bounds():
    for needed in DIRECT:
        assert needed.specifier.contains(STANDS_ON[canonicalize_name(needed.name)].version)


def test_tools_of_the_tests_are_no_dependency_of_the_program():
    tools = {canonicalize_name(one.name) for one in EXTRAS}
    assert tools.isdisjoint(STANDS_ON)
