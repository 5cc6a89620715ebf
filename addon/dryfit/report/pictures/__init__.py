"""pictures."""
