"""One mark: marked, patched, repaired, looked at again, with its photos and what it came from."""
