"""What is installed besides patches: penetrations, seams, edges, and the hold points."""
