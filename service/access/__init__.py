"""Who may call the service, how much, and what is recorded of it: keys, teams, limits, audit log."""
