"""The only place that opens a file: guard, whole-or-nothing write, lock, CSV."""
