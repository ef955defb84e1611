"""The closeout as told facts and in words, the same for its page and its paper."""
