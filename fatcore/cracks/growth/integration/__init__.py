"""Integration of crack growth over the logarithm of the size, with error control."""
