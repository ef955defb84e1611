"""What was done, in order, for ever: facts, canonical bytes, replay, sentences."""
