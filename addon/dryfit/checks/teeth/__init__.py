"""teeth."""
