"""Cycles of several stress modes and load channels."""
