"""Pages for people: a folder per audience, on what all pages share."""
