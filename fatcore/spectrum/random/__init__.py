"""Damage of stationary Gaussian stress from its spectral density."""
