"""The order list: what is left to lay and seal, and the film, tape, collars and mastic that takes."""
