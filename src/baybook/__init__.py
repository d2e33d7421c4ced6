"""Estimate workbooks for under-deck drainage.

Importing the package loads none of its heavy libraries; the names below are found when first used.
"""

from __future__ import annotations

__version__ = "0.1.0"
