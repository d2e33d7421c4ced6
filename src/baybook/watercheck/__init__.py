"""Where the water goes: capacity against flow by named methods, reach, heights, posts, and what stands in the way."""

from __future__ import annotations

from baybook.watercheck.checks import check_water
from baybook.watercheck.model import CheckRow, Height, LineFacts, PostRow, ReachRow, WaterChecks

__all__ = ["CheckRow", "Height", "LineFacts", "PostRow", "ReachRow", "WaterChecks", "check_water"]
