"""The commands of the command line, one file a group; each has `add(commands)`."""
