"""What is kept as files: pictures by their hash, photos that came early, and ZIPs read without harm."""
