"""Weld-line tables: reading, mapping of columns, frames, check requests."""
