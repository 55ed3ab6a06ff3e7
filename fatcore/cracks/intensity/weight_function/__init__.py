"""Stress intensity under any stress across the crack by universal weight functions."""
