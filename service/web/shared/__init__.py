"""Words and views that pages of several audiences share: how a zone stands and why, sketches, numbers."""
