"""In work."""
