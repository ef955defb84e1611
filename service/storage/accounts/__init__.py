"""Rows of no history: people and how they sign in, links, codes, who is told what."""
