"""Peak stresses, energy density, structural stress, cross-sections."""
