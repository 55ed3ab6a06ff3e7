"""Cracks through the thickness of a plate, and test specimens."""
