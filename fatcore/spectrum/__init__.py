"""Load spectra: histories, cycle counting, damage sums, random stress, several load channels."""
