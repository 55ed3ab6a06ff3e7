"""Stresses at welds: tensors, sharp notches, peak and structural stresses, averaged energy, interaction."""

from fatcore._exports import front_door

__getattr__, __dir__, __all__ = front_door(__name__)
