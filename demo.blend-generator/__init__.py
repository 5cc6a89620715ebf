"""The demo."""
