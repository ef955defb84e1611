"""The database's two doors, its locks, and the keys that lie beside it and never in it."""
