"""Lines through series of fatigue tests: fit, bounds, characteristic lines, comparison, position."""
