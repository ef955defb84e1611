"""What is installed besides patches, on its own pages: penetrations, seams, edges."""
