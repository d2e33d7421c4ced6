"""From the framed deck to quantities, each rule citing its id."""

from __future__ import annotations

from baybook.takeoff.model import AreaTake, Bay, CutPieces, Finding, GutterLine, Need, Part, Takeoff
from baybook.takeoff.take import KnownAreas, take_off

__all__ = ["AreaTake", "Bay", "CutPieces", "Finding", "GutterLine", "KnownAreas", "Need", "Part", "Takeoff", "take_off"]
