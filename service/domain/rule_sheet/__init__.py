"""The rule sheet's numbers: ready-made sets, what holds in one zone, what film and floor must show."""
