"""The trade computed: pure functions of their arguments, with no I/O, no clock and no randomness."""
