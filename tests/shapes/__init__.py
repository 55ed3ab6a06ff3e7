"""Solid meshes of shapes of our own, for tests: sections swept straight, round an axis, or bent."""
