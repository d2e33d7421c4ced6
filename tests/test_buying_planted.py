"""200 random sets with differences of every kind planted in them, and none: all found, no false one."""

from __future__ import annotations

from collections import Counter

from planted import PLANTS, planted_set

from baybook.buying.compare import CHECKS, price
from baybook.buying.compare import compare as full
from baybook.buying.match import match

SETS = 200


def found_in(planted, comparator=full):
    """Return kind and place of all findings but what is merely not billed yet."""
    result = match(planted.ledger, comparator)
    return Counter(
        (one.kind, one.order, one.line, one.invoice.upper() if one.kind == "duplicate" else one.invoice)
        for one in result.findings
        if one.kind != "not_yet_billed"
    )


def rates(comparator=full):
    """Return precision, recall, and the sets in which anything differs."""
    right = said = due = 0
    off = []
    for seed in range(SETS):
        planted = planted_set(seed)
        found = found_in(planted, comparator)
        hits = set(found) & planted.expected
        right, said, due = right + len(hits), said + sum(found.values()), due + len(planted.expected)
        if found != Counter(planted.expected):
            off.append(
                (
                    seed,
                    planted.planted,
                    sorted(found.keys() - planted.expected),
                    sorted(planted.expected - found.keys()),
                )
            )
    return right / said, right / due, off


def test_all_found_and_no_false_one(capsys):
    precision, recall, off = rates()
    with capsys.disabled():
        print(f"\n  {SETS} sets: precision {precision:.2f}, recall {recall:.2f}")  # noqa: T201 - the figures are wanted
    assert off == []
    assert (precision, recall) == (1.0, 1.0)


def test_every_kind_is_planted_often_and_some_sets_have_none():
    sets = [planted_set(seed) for seed in range(SETS)]
    counts = Counter(what for one in sets for what in one.planted)
    assert set(counts) == set(PLANTS)
    assert min(counts.values()) >= 10, counts
    assert sum(not one.expected for one in sets) >= SETS // 5


def test_a_comparator_that_looks_away_is_told():
    """The measure can fail: without the check of prices recall is under 1, with one that sees ghosts precision is."""

    def no_prices(fact, context):
        for check in CHECKS[type(fact)]:
            if check is not price:
                yield from check(fact, context)

    def ghosts(fact, context):
        for finding in full(fact, context):
            yield finding
            if finding.kind == "price_over":
                yield finding

    assert rates(no_prices)[1] < 1
    assert rates(ghosts)[0] < 1
