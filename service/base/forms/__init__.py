"""Forms of an answer besides JSON."""
