"""Calls of whoever checks: history, checkpoints, timestamps, a zone's life, the closeout."""
