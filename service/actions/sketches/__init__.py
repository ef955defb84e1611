"""Sketches and what is outlined on them: pictures, scale, grid, zones and their walls."""
