"""The result of a gate in the forms that people and programs read."""
