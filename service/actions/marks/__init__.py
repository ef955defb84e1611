"""Marks and what mends them: patches, other repairs, second looks, photos, what goes together, the walk."""
