"""Requests drawn from schema and examples, and bytes changed at random: an answer or a problem below 500."""
