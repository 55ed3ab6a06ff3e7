"""Pages to read what the service rests on: curves, sources, verification cases, findings."""
