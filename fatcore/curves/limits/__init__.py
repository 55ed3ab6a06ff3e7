"""Limits of curves: damage sum, use, sizes of ranges."""
