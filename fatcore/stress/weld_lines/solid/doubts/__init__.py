"""What is doubtful about a mesh and about the weld lines in it."""
