"""The file in which a company lays down its own rules: read, checked as a whole, and held against requests."""
