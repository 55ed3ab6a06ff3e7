"""Fracture and collapse of a cracked section, and the critical size of a crack."""
