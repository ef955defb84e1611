"""An invented site, from laying to placed."""
