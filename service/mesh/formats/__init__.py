"""Readers of mesh files, one a format."""
