"""Patches judged and planned: how far they reach past damage, and which marks go under one piece of film."""
