"""Commands of who runs the service."""
