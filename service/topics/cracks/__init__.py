"""Stress intensity, growth, scatter, fracture, inspection."""
