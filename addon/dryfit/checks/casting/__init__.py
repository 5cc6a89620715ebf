"""casting."""
