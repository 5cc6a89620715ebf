"""interference."""
