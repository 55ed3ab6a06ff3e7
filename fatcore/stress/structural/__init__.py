"""Structural stress: extrapolation to the weld toe, and linearisation through the thickness."""
