"""closure."""
