"""Everything that can happen, one frozen fact each, and the entry that tells it in canonical bytes."""
