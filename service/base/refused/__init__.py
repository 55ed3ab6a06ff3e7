"""Why requests are refused, in words."""
