"""Weld lines of a solid mesh: outer surface, re-entrant edges, lines with a frame at each node."""
