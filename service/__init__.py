"""The HTTP layer, the command line, the client and the reports over fatcore."""
