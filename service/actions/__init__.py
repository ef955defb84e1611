"""One function per thing a person can do: gather, decide, record."""
