"""Sketches, and what is outlined on them: scale, grid, newer pictures, zones, walls."""
