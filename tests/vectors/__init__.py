"""Published vectors that the history's evidence is held to."""
