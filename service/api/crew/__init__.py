"""Calls of a crew: marks, patches, repairs, what is installed, the walk, the placing day."""
