"""The whole check: weld lines under loads, their stresses, curves, damage, verdict."""

from fatcore._exports import front_door

__getattr__, __dir__, __all__ = front_door(__name__)
