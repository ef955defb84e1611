"""From what actions return to what programs get."""
