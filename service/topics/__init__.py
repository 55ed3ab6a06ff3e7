"""The calculations of the service, one folder per topic."""
