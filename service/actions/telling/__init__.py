"""Told in time: what turned, who asked to hear of it, and sending it."""
