"""Folding entries back into facts: how a zone stands, how it stood, and what moved it."""
