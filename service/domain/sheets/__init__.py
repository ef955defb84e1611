"""Laying out sheets of film over a floor: rows, end laps, the offset that takes least, the seams."""
