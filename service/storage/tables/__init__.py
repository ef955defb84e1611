"""SQLModel tables: columns, keys and constraints only."""
