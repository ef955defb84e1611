"""Each fact as one English sentence."""
