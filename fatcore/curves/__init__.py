"""Design curves: life from range and back, the catalogue, corrections, survival, the two-curve rule."""
