"""What every action stands in: the desk, who may change what and one entry at the head, once and late."""
