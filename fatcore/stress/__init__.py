"""Stresses at welds: tensors, sharp notches, peak and structural stresses, averaged energy, interaction."""

__all__: list[str] = []
