"""Small solver: notch stress intensities of a weld cross-section from its own finite-element mesh."""

__all__: list[str] = []
