"""Finite-element meshes: reading files, the map of a mesh, weld lines listed and turned into check requests."""
