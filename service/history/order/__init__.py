"""The order list in words, the same for its page and its paper."""
