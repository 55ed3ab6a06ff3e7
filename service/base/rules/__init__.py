"""The rules of a company that hold for every calculation, and which of them hold now."""
