"""mouth."""
