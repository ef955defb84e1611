"""Who is on a project: invited, joined, signed in by a code, told by name or erased."""
