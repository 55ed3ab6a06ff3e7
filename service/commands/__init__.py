"""The commands of the command line, one file a group; each has `add(commands)`."""

__all__: list[str] = []
