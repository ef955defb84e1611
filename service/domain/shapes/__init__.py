"""True-size outlines and pieces of film, as shapes to compute with: what covers, what lies near."""
