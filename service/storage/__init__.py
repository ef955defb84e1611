"""Everything that touches the disk: tables, the two doors, blobs."""
