"""Sidebar, operators and lists. Measures nothing."""
