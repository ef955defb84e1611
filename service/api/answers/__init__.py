"""What programs get, as shapes of JSON."""
