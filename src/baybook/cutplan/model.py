"""What a cut plan is made from and what it says."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["Pattern", "Piece", "Plan", "PlanError", "Stock", "Unplannable"]


@dataclass(frozen=True, slots=True)
class Piece:
    """A length to cut.

    Parameters
    ----------
    length : int
        Finished length. [1/16 in], > 0
    count : int
        How many. [1], >= 0
    label : str
        What is written on the piece; several pieces of one length may have different labels.
    """

    length: int
    count: int
    label: str = ""


@dataclass(frozen=True, slots=True)
class Stock:
    """A length that can be bought, or an offcut on hand.

    Parameters
    ----------
    length : int
        Length as it lies there. [1/16 in], > 0
    price : int
        Price of one; of an offcut its scrap value. [cent], >= 0
    supply : int or None
        How many there are; None is as many as wanted. [1], >= 0
    name : str
        SKU, or where the offcut lies.
    """

    length: int
    price: int
    supply: int | None = None
    name: str = ""


@dataclass(frozen=True, slots=True)
class Pattern:
    """One way to cut a stock piece, and how often.

    Parameters
    ----------
    stock : int
        Index of the stock in the list the plan was made from.
    pieces : tuple of (int, int)
        Length and how many of it, longest first. [1/16 in], [1]
    times : int
        How many stock pieces are cut this way. [1], > 0
    remainder : int
        What is left after end trim and kerfs. [1/16 in], >= 0
    """

    stock: int
    pieces: tuple[tuple[int, int], ...]
    times: int
    remainder: int


@dataclass(frozen=True, slots=True)
class Plan:
    """Which stock to use, how to cut it, and how good that is.

    Parameters
    ----------
    patterns : tuple of Pattern
        The cutting, longest stock first.
    cost : int
        Price of all stock used. [cent]
    lower_bound : int
        No plan can cost less; established in whole numbers. [cent]
    proven : bool
        True if `lower_bound` equals `cost`.
    reason : str
        Why the plan is not proven; empty if it is.
    used : tuple of int
        How many of each stock, in the order given. [1]
    """

    patterns: tuple[Pattern, ...]
    cost: int
    lower_bound: int
    proven: bool
    reason: str
    used: tuple[int, ...]


class Unplannable(ValueError):  # noqa: N818 - it says what is the matter
    """The pieces cannot be cut from the stock; the message names the piece and what would be right."""


class PlanError(AssertionError):
    """A plan that does not hold what it says; the message names the first thing found wrong."""
