"""Small solver: notch stress intensities of a weld cross-section from its own finite-element mesh."""
