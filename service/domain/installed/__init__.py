"""What is installed besides patches: penetrations, seams and edges, what each needs and its faults."""
