"""The sheets as declarations, and the writers and the reader that use them."""
