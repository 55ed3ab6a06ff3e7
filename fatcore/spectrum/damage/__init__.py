"""Damage sums of counted cycles, blocks and long-term distributions."""
