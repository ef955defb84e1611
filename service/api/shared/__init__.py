"""What every call shares: its frame, the bodies sent, refusals as JSON, uploads."""
