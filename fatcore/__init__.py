"""Fatigue of welded joints: the calculation core, plain Python on numpy and scipy."""

from fatcore._exports import front_door

__version__ = "0.9.0"

__getattr__, __dir__, __all__ = front_door(__name__)
