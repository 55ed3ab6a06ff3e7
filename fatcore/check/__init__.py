"""The whole check: weld lines under loads, their stresses, curves, damage, verdict."""
