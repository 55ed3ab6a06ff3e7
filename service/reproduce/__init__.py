"""Answers of before beside those of now: one that was calculated again, and two outputs of a batch."""
