"""Weld lines: geometry, local frame, stations, scale."""
