"""Cycles, damage sums, random stress."""
