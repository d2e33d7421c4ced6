"""Required lengths and stock on offer to a proven least-cost plan."""
