"""Stresses at welds: tensors, sharp notches, peak and structural stresses, averaged energy, interaction."""
