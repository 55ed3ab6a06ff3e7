"""Part-through and embedded cracks, and cracks in tubes."""
