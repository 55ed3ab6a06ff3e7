"""Where calculations run: places shared fairly between teams, worker processes, deadlines."""
