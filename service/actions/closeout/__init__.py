"""The closeout and the certificates: what lies under the slab, told from entries alone, and their papers."""
