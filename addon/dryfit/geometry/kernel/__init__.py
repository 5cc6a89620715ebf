"""The compiled geometry kernel: its C source, the loader, and the typed calls."""
