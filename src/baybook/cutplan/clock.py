"""The limits of a search: a number of linear programs, and a time if one is set."""

from __future__ import annotations

from time import monotonic

__all__ = ["Clock", "Stopped"]


class Stopped(Exception):  # noqa: N818 - not an error: the search ends here with what it has
    """The search has to end; the message says why."""


class Clock:
    """Counts linear programs and watches the time."""

    def __init__(self, node_limit: int, time_budget_s: float | None) -> None:
        self.nodes = 0
        self._limit = node_limit
        self._budget = time_budget_s
        self._end = None if time_budget_s is None else monotonic() + time_budget_s

    @property
    def left(self) -> float | None:
        """The time left, in seconds; None if there is no limit."""
        return None if self._end is None else max(self._end - monotonic(), 0.001)

    def check(self) -> None:
        """Stop the search if its time is up."""
        if self._end is not None and monotonic() > self._end:
            raise Stopped(f"the time budget of {self._budget} s was used up")

    def tick(self) -> None:
        """Count a linear program."""
        self.check()
        self.nodes += 1
        if self.nodes > self._limit:
            raise Stopped(f"the limit of {self._limit} nodes was reached")
