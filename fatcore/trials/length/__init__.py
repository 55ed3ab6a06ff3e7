"""Crack sizes from potential drop and compliance, both ways, and the moment at which a crack begins."""
