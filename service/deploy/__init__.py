"""What an operator installs and configures: locked packages, a proxy, an orchestrator, a list of what an image holds."""
