"""Load spectra: histories, cycle counting, damage sums, random stress, several load channels."""

from fatcore._exports import front_door

__getattr__, __dir__, __all__ = front_door(__name__)
