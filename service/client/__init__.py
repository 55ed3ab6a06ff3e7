"""Python client of the service, blocking and asynchronous."""
