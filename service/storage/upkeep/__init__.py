"""A whole database at once: brought to the present version, rebuilt, moved; what counts as an outage."""
