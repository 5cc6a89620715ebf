"""motion."""
