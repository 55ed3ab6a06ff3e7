"""Load spectra: histories, cycle counting, damage sums, random stress, several load channels."""

__all__: list[str] = []
