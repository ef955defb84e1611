"""Drawings as SVG, to scale: zones, marks, patches, what is installed, sheets. Drawn only, never judged."""
