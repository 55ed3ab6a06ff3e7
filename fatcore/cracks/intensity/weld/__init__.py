"""Cracks at weld toes and weld roots."""
