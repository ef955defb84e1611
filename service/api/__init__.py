"""The same actions as JSON, for programs."""
