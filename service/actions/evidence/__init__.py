"""The history looked at and proved: entries, timelines, checkpoints, timestamps, old records."""
