"""What changed between two answers of one calculation: in their input, in their rules, in the result."""
