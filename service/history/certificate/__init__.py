"""A release's certificate as told facts and in words, with its proof."""
