"""Batches of calculations from files."""
