"""Commands and files of whole parts: the solid mesh, and its picture."""
