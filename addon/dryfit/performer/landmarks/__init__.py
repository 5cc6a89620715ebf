"""Anatomical points: proposing those that nobody placed, and telling those that make no sense on this head."""
