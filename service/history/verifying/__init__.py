"""What holds of a record, told from its files alone, in a fixed order, each fault named for what it is."""
