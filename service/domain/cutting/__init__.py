"""Which piece comes off which roll, so that few rolls are cut: bounds, patterns, an integer program."""
