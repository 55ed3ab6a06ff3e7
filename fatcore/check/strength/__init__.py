"""What resists the stress of a line: curves, combination of normal and shear stress, suitability."""
