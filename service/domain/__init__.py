"""The trade computed: pure functions of their arguments, no I/O, no clock, no randomness."""
