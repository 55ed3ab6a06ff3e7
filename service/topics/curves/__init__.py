"""Design curves: catalogue, life, strength."""
