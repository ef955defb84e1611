"""Film by material and lot, and its sheets: laid out, kept, logged as laid."""
