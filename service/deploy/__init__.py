"""What an operator installs and configures: locked packages, a proxy, an orchestrator, a bill of what is installed."""
