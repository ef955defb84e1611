"""Proofs without us: the Merkle tree, signed notes and checkpoints, timestamps, checks by hand."""
