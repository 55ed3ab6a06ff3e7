"""Design curves: life from range and back, the catalogue, corrections, survival, the two-curve rule."""

from fatcore._exports import front_door

__getattr__, __dir__, __all__ = front_door(__name__)
