"""The crew's pages of a project and a zone, the walk, and what a phone takes along."""
