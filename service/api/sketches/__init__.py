"""Calls about sketches, zones and the sheets laid out on them."""
