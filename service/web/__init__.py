"""Pages for people, one module per audience."""
