"""Whatever is wrong with what a person has: a status that is documented, and sentences."""

from __future__ import annotations

import random
from collections import Counter
from types import SimpleNamespace

import pytest
from broken import Ran, broken_book, broken_workbook


@pytest.mark.parametrize(("breaks", "runs"), [(broken_book, 40), (broken_workbook, 8)])
def test_no_command_falls_over_broken_inputs(tmp_path, breaks, runs):
    chance, statuses = random.Random(20), Counter()
    for number in range(runs):
        ran = breaks(chance, tmp_path / "room")
        assert ran.well, f"{number}: {ran.arguments} on {ran.broken}: {ran.result.exception!r}\n{ran.result.output}"
        statuses[ran.result.exit_code] += 1
    assert statuses[1] > runs / 10
    assert statuses[0] + statuses[3] > 0


def test_the_trial_sees_what_is_not_well():
    def ended(code, exception=None, output="x"):
        return Ran((), "", SimpleNamespace(exit_code=code, exception=exception, output=output))

    assert ended(0).well
    assert ended(1, SystemExit(1)).well
    assert not ended(1, ValueError("x")).well
    assert not ended(4, SystemExit(4)).well
    assert not ended(1, SystemExit(1), "").well
    assert not ended(1, SystemExit(1), "a fault of baybook, not of your inputs").well
