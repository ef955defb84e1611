"""What a project is made of: frozen nouns, the numbers it is held to, and who may do what."""
