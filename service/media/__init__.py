"""Turning uploads into safe pictures."""
