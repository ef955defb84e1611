"""The gates of earlier versions, kept as they were: a release is asked again under its own."""
