"""What everything is said with: the language spoken, words of closed sets, lengths, volumes, temperatures."""
