"""Scatter of the life of a crack by seeded Monte Carlo."""
