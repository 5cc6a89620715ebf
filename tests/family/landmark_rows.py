"""Rows about landmarks that are missing, moved or proposed."""
