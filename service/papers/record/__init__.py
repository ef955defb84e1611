"""What a record says of itself: its first page, its README, and the program that verifies it."""
