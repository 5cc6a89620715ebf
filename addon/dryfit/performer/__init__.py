"""performer."""
