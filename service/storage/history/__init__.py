"""The history on disk, the rows worked out from it, and the lookups that name who is looking."""
