"""What the answer of a check says besides its numbers, one file per subject."""
