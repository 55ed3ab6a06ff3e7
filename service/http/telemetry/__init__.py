"""What an operator sees of requests besides counters."""
