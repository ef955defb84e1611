"""Turns what people upload into safe pictures: decoded apart, stripped, cut into tiles."""
