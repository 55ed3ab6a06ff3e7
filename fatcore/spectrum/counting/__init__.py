"""Cycle counting: turning points, rainflow, range pairs, levels, classes."""
