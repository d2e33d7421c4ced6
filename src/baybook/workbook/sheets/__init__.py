"""One module a sheet: declarations only."""
