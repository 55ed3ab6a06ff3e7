"""Corrections of a design curve: thickness, mean stress, survival probability, partial factors."""
