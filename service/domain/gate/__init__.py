"""Is a zone clear? What the gate reads, its answer, its words, and what of it stands while concrete comes."""
