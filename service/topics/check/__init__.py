"""The complete check."""
