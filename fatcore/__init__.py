"""Fatigue of welded joints: the calculation core, plain Python on numpy and scipy."""

__version__ = "0.1.0"

__all__ = ["__version__"]
