"""Tests in real programs: a browser, a spreadsheet; skipped where the machine has none."""
