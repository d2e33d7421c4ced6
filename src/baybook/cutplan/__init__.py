"""Required lengths and stock on offer to a proven least-cost plan."""

from __future__ import annotations

from baybook.cutplan.model import Pattern, Piece, Plan, PlanError, Stock, Unplannable
from baybook.cutplan.solve import plan_cuts, safe_count
from baybook.cutplan.verify import verify_plan

__all__ = [
    "Pattern",
    "Piece",
    "Plan",
    "PlanError",
    "Stock",
    "Unplannable",
    "plan_cuts",
    "safe_count",
    "verify_plan",
]
