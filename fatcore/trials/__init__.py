"""Trials: lines through fatigue tests, staircases, growth rates of cracked specimens, crack lengths."""

from fatcore._exports import front_door

__getattr__, __dir__, __all__ = front_door(__name__)
