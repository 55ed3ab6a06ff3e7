"""Cracks: stress intensity, growth laws, life by integration, load sharing, fracture, inspection."""

from fatcore._exports import front_door

__getattr__, __dir__, __all__ = front_door(__name__)
