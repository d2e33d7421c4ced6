"""Every generated workbook: its formulas pass the lint, agree with the engine and keep the modelling standard."""

from __future__ import annotations

import dataclasses
import datetime as dt
import importlib
from collections import Counter
from decimal import Decimal
from functools import lru_cache

import pytest
import standard
from books import estimate, prices_with, random_estimate
from limit_books import hits, limit_estimate
from openpyxl.cell import Cell
from openpyxl.styles import Protection
from openpyxl.worksheet.cell_range import CellRange

from baybook.estimate import Estimate, build_estimate
from baybook.files.book import read_book
from baybook.files.example import write_example
from baybook.workbook.build import Made, make_workbook, spec_of
from baybook.workbook.declare import BookSpec, Table, layout
from baybook.workbook.evaluate import evaluate
from baybook.workbook.lint import lint
from baybook.workbook.prove import Disagreement, differences

WHEN = dt.datetime(2026, 6, 15, 9, 30)  # noqa: DTZ001  a workbook's clock has no zone
RANDOM, LIMITS = (1, 3, 5, 6, 9, 54), (2, 8, 15, 22, 25, 29, 42, 52)
BOOKS = [
    *(("example", at) for at in range(2)),
    ("deck", 0),
    *(("random", seed) for seed in RANDOM),
    *(("limit", seed) for seed in LIMITS),
]


@lru_cache(maxsize=1)
def examples(folder) -> tuple[Estimate, ...]:
    return tuple(build_estimate(one) for one in read_book(write_example(folder), WHEN.date()))


def estimate_of(kind: str, at: int, folder) -> Estimate:
    if kind == "example":
        return examples(folder)[at]
    return {"deck": lambda _: estimate(), "random": random_estimate, "limit": limit_estimate}[kind](at)


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return tmp_path_factory.mktemp("workbooks")


@pytest.mark.parametrize(("kind", "at"), BOOKS)
def test_a_workbook_is_sound(kind, at, folder):
    one = estimate_of(kind, at, folder)
    made = make_workbook(one, WHEN)
    assert differences(one, made.layout, made.values) == []
    assert lint(made.spec, made.layout) == []
    assert standard.findings(standard.Book.of(made)) == []
    assert checks_say_what_the_engine_finds(one, made) == []


@pytest.mark.parametrize(("kind", "at"), [("example", 1), ("deck", 0), ("limit", LIMITS[-1])])
def test_the_same_inputs_give_the_same_bytes(kind, at, folder):
    one = estimate_of(kind, at, folder)
    data = make_workbook(one, WHEN).data
    assert make_workbook(one, WHEN).data == data
    assert make_workbook(one, WHEN + dt.timedelta(minutes=1)).data != data


RULES = {
    "every bay has fall enough": ("P3", "parts"),
    "no panel is spliced": ("P6", "parts"),
    "blocking is as high as usual": ("O2", "rows"),
    "no dropped beam stands where the gutter goes": ("G9", "rows"),
}


def checks_say_what_the_engine_finds(one: Estimate, made: Made) -> list[str]:
    """The checks count what the engine reports; those of several things at once say whether there is any."""
    texts = made.layout.declaration("chk_text").values
    counted = {text: made.values[made.layout.address("chk_count", at)] for at, text in enumerate(texts)}
    found = Counter(finding.rule for finding in one.findings)
    said = [
        f"{text}: the workbook counts {counted[text]:g}, the engine {found[rule]}"
        for text, (rule, _) in RULES.items()
        if counted[text] != found[rule]
    ]
    failed = sum(finding.failed for finding in one.findings)
    if bool(made.values[made.layout.address("failed_found")]) != bool(failed):
        said.append(f"the engine reports {failed} failed checks")
    narrow = sum(bay.narrow_outlet for take in one.takeoff.areas for part in take.parts for bay in part.bays)
    if counted["no outlet is cut narrower"] != narrow:
        said.append(f"{narrow} outlets are cut narrower")
    return said


def test_the_books_stand_on_every_limit_and_are_of_both_kinds():
    found = set().union(*(hits(limit_estimate(seed)) for seed in LIMITS))
    everywhere = set().union(*(hits(limit_estimate(seed)) for seed in range(60)))
    assert everywhere == found
    assert len(found) == 19
    units = Counter(limit_estimate(seed).inputs.rates.units for seed in LIMITS)
    assert units["metric"] >= 5
    assert units["us"] >= 2


# ---------------------------------------------------------------------------------------------- the proof can fail


def more(value):
    """Return a wrong answer of the same kind."""
    return value + Decimal("0.01") if isinstance(value, Decimal) else 2 * value + 1


FAULTS = {
    "takeoff.members.field_centres_in": lambda centres: (*centres, centres[0] + 4),
    "takeoff.members.merge_strips": lambda members: (
        members[0],
        dataclasses.replace(members[1], right_in=members[1].right_in + 1),
        *members[2:],
    ),
    "takeoff.parts.clear_run_in": lambda run: run - 1,
    "takeoff.parts.cut_length_in": lambda length: length - 0.5,
    "takeoff.parts.fall_in_per_ft": more,
    "takeoff.parts.width_needed_in": lambda width: width + 0.25,
    "takeoff.parts.flow_gpm": more,
    "takeoff.take.outlet_trim_in": more,
    "takeoff.take.pieces_of_line": lambda pieces: pieces[:-1] or (16,),
    "takeoff.take.bead_of_cartridge_ft": more,
    "takeoff.gutters.leaders_needed": more,
    "takeoff.gutters.longest_run_ft": more,
    "takeoff.gutters.leader_length_in": more,
    "takeoff.gutters.hanger_step_in": more,
    "takeoff.gutters.straps_per_leader": more,
    "pricing.price.cents": more,
    "pricing.price.hundredths": more,
}


# an apron, so that every rule has something to do; liner wide enough for a wrong width
LEDGER = {
    "area": {"gutter_side": "ledger"},
    "prices": prices_with({"liner-12": {"width": "24 in"}, "liner-16": {"width": "24 in"}}),
}


@pytest.fixture(scope="module")
def right():
    one = estimate(**LEDGER)
    placed, values = worked(spec_of(one, WHEN))
    assert differences(one, placed, values) == []
    return placed, values


def with_fault(rule, monkeypatch):
    """Return the estimate of an engine with one rule wrong."""
    name, _, function = f"baybook.{rule}".rpartition(".")
    sound = getattr(importlib.import_module(name), function)
    monkeypatch.setattr(importlib.import_module(name), function, lambda *args: FAULTS[rule](sound(*args)))
    faulty = estimate(**LEDGER)
    monkeypatch.undo()
    return faulty


@pytest.mark.parametrize("rule", FAULTS)
def test_formulas_and_a_faulty_engine_disagree(rule, right, monkeypatch):
    assert differences(with_fault(rule, monkeypatch), *right)


def test_a_workbook_is_refused_when_the_engine_has_a_fault(monkeypatch):
    with pytest.raises(Disagreement, match="job D8: "):
        make_workbook(with_fault("takeoff.parts.cut_length_in", monkeypatch), WHEN)


def worked(spec: BookSpec):
    """Return where everything of a declared workbook stands, and its values."""
    placed = layout(spec)
    return placed, evaluate(spec, placed)


# A rounding left out of a formula. Ordinary random books notice none of these; each needs a book on its limit.
UNROUNDED = [
    ("p_steps", "ROUND(([p_clear]+[p_lap]-INDEX(l_low_setback_in,[p_lix])+trim_allowance_in)/cut_step_in,6)", 8),
    ("w_by_spacing", "ROUND(([w_width]-[w_thick]*half)/[w_spacing],6)", 42),
    ("w_spaces", "ROUND(([w_width]-[w_thick])/[w_spacing],6)", 26),
    ("o_joins", "ROUND(pack_gap_in,6)", 15),
    ("o_gap", "ROUND([o_left]-[o_reach-],6)", 22),
    ("o_strips", "ROUND(([o_reach]-[o_start])/INDEX(l_tape_width_in,INDEX(w_lix,MAX(1,[o_area]))),6)", 15),
    ("b_drains", "ROUND(narrow_bay_in,6)", 42),
    ("b_tight", "ROUND(outlet_min_bay_in,6)", 22),
    ("g_halves", "ROUND([g_feet]/([g_reach]+[g_reach]),6)", 8),
    ("g_by_length", "ROUND([g_feet]/leader_spacing_ft,6)", 42),
    ("w_hanger", "ROUND(hanger_spacing_in/[w_spacing],6)", 8),
    ("y_packs", "ROUND(INDEX(i_order,[y_lix])/INDEX(x_pack,[y_offer]),6)", 15),
]


def with_formula(spec: BookSpec, key: str, old: str, new: str) -> BookSpec:
    """Return a workbook whose column has other formulas."""
    found = 0
    sheets = []
    for sheet in spec.sheets:
        parts = []
        for part in sheet.parts:
            columns = list(part.columns) if isinstance(part, Table) else []
            for at, column in enumerate(columns):
                if column.key == key:
                    found += str(column.formula).count(old)
                    columns[at] = dataclasses.replace(column, formula=str(column.formula).replace(old, new))
            parts.append(dataclasses.replace(part, columns=tuple(columns)) if columns else part)
        sheets.append(dataclasses.replace(sheet, parts=tuple(parts)))
    assert found == 1, f"{key} does not hold {old} once"
    return BookSpec(sheets=tuple(sheets), lists=spec.lists)


@pytest.mark.parametrize(("key", "rounded", "seed"), UNROUNDED, ids=[key for key, *_ in UNROUNDED])
def test_a_rounding_left_out_is_noticed_on_its_limit(key, rounded, seed):
    one = limit_estimate(seed)
    bare = f"({rounded.removeprefix('ROUND(').removesuffix(',6)')})"
    assert differences(one, *worked(with_formula(spec_of(one, WHEN), key, rounded, bare)))


# ---------------------------------------------------------------------------------------------- the standard can fail


@pytest.fixture(scope="module")
def book() -> standard.Book:
    return standard.Book.of(make_workbook(estimate(), WHEN))


class Spoil:
    """What a workbook may have wrong, each undone by the test's monkeypatch."""

    def __init__(self, book, patch):
        self.book, self.patch = book, patch

    def cell(self, key, attribute, value, row=0):
        sheet, top, col = self.book.made.layout.address(key)
        self.patch.setattr(self.book.read[sheet].cell(top + row, col), attribute, value)

    def style(self, key, **protection):
        sheet, row, col = self.book.made.layout.address(key)
        other = Cell(self.book.read[sheet], row=1, column=1)
        other.protection = Protection(**protection)
        self.patch.setattr(self.book.read[sheet].cell(row, col), "_style", other._style)

    def open(self, key):
        self.style(key, locked=False)

    def lock(self, key):
        self.style(key, locked=True)

    def veil(self, key):
        self.style(key, hidden=True)

    def master(self, title):
        self.patch.setattr(self.book.read[title]["A2"], "value", None)

    def sheet(self, title, attribute, value):
        owner = self.book.read[title]
        *path, last = attribute.split(".")
        for name in path:
            owner = getattr(owner, name)
        self.patch.setattr(owner, last, value)

    def hide(self, kind, at):
        self.patch.setattr(getattr(self.book.read["Rates"], f"{kind}_dimensions")[at], "hidden", True)

    def name(self):
        self.patch.setattr(self.book.read.defined_names["w_width"], "hidden", True)

    def part(self, name, data=b""):
        self.patch.setitem(self.book.parts, name, data)

    def value(self, key, value):
        self.patch.setitem(self.book.values, self.book.made.layout.address(key), value)

    def order(self):
        self.patch.setattr(self.book.made.layout, "sheets", self.book.made.layout.sheets[::-1])


OUTSIDE = b'<Relationships><Relationship Target="https://example.com" TargetMode="External"/></Relationships>'
BROKEN = {
    "an open formula": ("inputs_are_open_and_nothing_else_is", "open", "w_width"),
    "a locked input": ("inputs_are_open_and_nothing_else_is", "lock", "a_width"),
    "no protection": ("sheets_are_protected_without_a_password", "sheet", "Bays", "protection.sheet", False),
    "a password": ("sheets_are_protected_without_a_password", "sheet", "Bays", "protection._password", "CC1A"),
    "workings first": ("input_sheets_hold_no_workings", "order"),
    "a hidden sheet": ("nothing_is_hidden", "sheet", "Work areas", "sheet_state", "hidden"),
    "a hidden row": ("nothing_is_hidden", "hide", "row", 7),
    "a hidden column": ("nothing_is_hidden", "hide", "column", "C"),
    "a hidden formula": ("nothing_is_hidden", "veil", "w_width"),
    "an invisible number": ("nothing_is_hidden", "cell", "w_width", "number_format", ";;;"),
    "a hidden name": ("nothing_is_hidden", "name"),
    "merged cells": (
        "no_cells_are_merged_in_tables",
        "sheet",
        "Work areas",
        "merged_cells.ranges",
        {CellRange("B9:C9")},
    ),
    "a link": ("nothing_leads_outside", "sheet", "Work areas", "_hyperlinks", ["https://example.com"]),
    "another workbook": ("nothing_leads_outside", "cell", "w_width", "value", "=[1]Sheet1!A1"),
    "a web service": ("nothing_leads_outside", "cell", "w_width", "value", '=WEBSERVICE("x")'),
    "a part that links": ("nothing_leads_outside", "part", "xl/externalLinks/externalLink1.xml"),
    "a relation that links": ("nothing_leads_outside", "part", "xl/_rels/workbook.xml.rels", OUTSIDE),
    "a list that is missing": ("every_list_is_offered", "sheet", "Areas", "data_validations.dataValidation", []),
    "other words": ("every_list_is_offered", "cell", "list_layout", "value", "l"),
    "a number in place of a formula": ("one_formula_down_a_block", "cell", "w_width", "value", 7, 2),
    "a formula of its own": ("one_formula_down_a_block", "cell", "w_no", "value", "=A8+1", 2),
    "a unit that is missing": ("units_stand_beside_numbers", "cell", "w_width", "value", None, -2),
    "no checks on a sheet": ("the_master_check_stands_on_every_sheet", "master", "Quote"),
    "a check that is refused": ("the_master_check_stands_on_every_sheet", "value", "master_text", "Checks: 1 refused"),
    "a value that is stale": ("every_formula_has_its_value", "value", "p_clear", 140.0),
    "a value that is missing": ("every_formula_has_its_value", "value", "p_clear", None),
    "an error": ("words_are_words", "value", "quote_site", "#N/A"),
    "a None": ("words_are_words", "value", "quote_site", "None"),
    "a nan": ("words_are_words", "value", "quote_site", "price nan"),
    "a truth": ("words_are_words", "value", "quote_site", True),
}


@pytest.mark.parametrize("name", BROKEN)
def test_the_standard_sees(name, book, monkeypatch):
    check, spoil, *what = BROKEN[name]
    getattr(Spoil(book, monkeypatch), spoil)(*what)
    assert list(getattr(standard, check)(book))


def test_every_check_is_seen_to_fail():
    assert {check for check, *_ in BROKEN.values()} == {check.__name__ for check in standard.CHECKS}
