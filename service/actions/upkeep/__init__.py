"""Keeping the service: backups, checking tables against the history, moving to another database."""
