"""Where things lie on a sketch: its base frame, the building's grid, a zone's sides as they are typed."""
