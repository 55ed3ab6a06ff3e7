"""Files that are written: whole or not at all, and by one run at a time."""
