"""Where tests lie beside a design curve, and what explains it."""
