"""Fatigue of welded joints: the calculation core, plain Python on numpy and scipy."""

__version__ = "0.3.0"
