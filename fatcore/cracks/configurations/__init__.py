"""Cracked sections that can grow: geometry, stress, load sharing, reference stress."""
