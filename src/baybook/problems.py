"""Errors as data: what is wrong, where it stands, and what would be right."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

__all__ = ["BookError", "FileRefused", "OutOfRange", "Problem", "WriteFailed"]


@dataclass(frozen=True, slots=True, order=True)
class Problem:
    """One thing a person must mend.

    Parameters
    ----------
    source : str
        The file (or workbook sheet) it stands in; empty if it belongs to no file.
    line : int
        Line of the file, counted from 1; 0 if none.
    field : str
        Column, key or item it concerns; empty if none.
    message : str
        One sentence: what was read and what would be right.
    """

    source: str
    line: int
    field: str
    message: str

    def __str__(self) -> str:
        place = f"{self.source}:{self.line}" if self.line else self.source
        return ": ".join(part for part in (place, self.field, self.message) if part)


class BookError(Exception):
    """The inputs have problems and nothing was written.

    Parameters
    ----------
    problems : Problem or iterable of Problem
        All that was found, in the order it should be read.
    """

    def __init__(self, problems: Problem | Iterable[Problem]) -> None:
        self.problems = (problems,) if isinstance(problems, Problem) else tuple(problems)
        super().__init__("\n".join(str(problem) for problem in self.problems))


class FileRefused(BookError):
    """A file from outside that is not safe to read or is not what its name says."""


class WriteFailed(BookError):
    """A file could not be written; what stood there before still stands."""


class OutOfRange(ValueError):
    """An argument outside the range a rule or a published method is good for.

    The message names the argument, the value and the limit.
    """
