"""A random job with random new prices, estimated again and afresh."""

from __future__ import annotations

import dataclasses
import random

from books import csv_text, inputs_of, random_tables, table_of
from fleet import moved

from baybook.estimate import build_estimate, estimate_again
from baybook.problems import BookError
from baybook.report import as_data


def random_change(seed: int) -> tuple[dict[str, str], dict[str, str]]:
    """Return a random book, and the same with other prices: all moved, and some ended or of other lengths."""
    chance = random.Random(seed)
    tables = random_tables(seed % 40)
    table = table_of("prices", tables["prices"])
    old = [dict(zip(table.header, row.cells, strict=True)) for row in table.rows]
    new = moved(old, chance, chance.choice((0.02, 0.3, 0.7)))
    if chance.random() < 0.3:
        new.pop(chance.randrange(len(new)))
    if chance.random() < 0.2:
        row = chance.choice([row for row in new if row["item"] in {"liner", "gutter", "leader"}])
        row["length"] = chance.choice(("11 ft", "15 ft 6 in", "24 ft"))
    return tables, tables | {"prices": csv_text(new)}


def compared_with_a_fresh_one(seed: int) -> bool | None:
    """Hold a job estimated again to one estimated afresh, every figure of it.

    Return whether its take-off was taken over; None if the new prices cannot serve it, in which case both say the same.
    """
    old, new = random_change(seed)
    made, inputs = build_estimate(inputs_of(old)), inputs_of(new)
    again = dataclasses.replace(made.inputs, prices=inputs.prices)
    fresh, problems = _estimated(lambda: build_estimate(inputs))
    found, others = _estimated(lambda: estimate_again(made, again))
    assert others == problems, seed
    if fresh is None:
        return None
    assert as_data(found) == as_data(fresh), seed
    assert found.findings == fresh.findings
    assert found.totals == fresh.totals
    assert found.takeoff == fresh.takeoff
    assert [_taken(line) for line in found.lines] == [_taken(line) for line in fresh.lines]
    return found.takeoff.areas is made.takeoff.areas


def _estimated(make):
    try:
        return make(), ()
    except BookError as refused:
        return None, refused.problems


def _taken(line):
    return line.taken and (line.taken.offer, line.packs)
