"""eyes."""
