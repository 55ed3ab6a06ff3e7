"""Reports: one self-contained page from a request and its answer, and the pictures on it."""
