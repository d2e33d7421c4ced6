"""The commands, one module a group, each thin over the library."""
