"""Reports of evaluated tests."""
