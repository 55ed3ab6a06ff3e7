"""What drives a crack: growth laws, load ratio, closure, effective ranges, mixed mode, retardation."""
