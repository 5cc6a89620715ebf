"""Landmarks in the open scene: placed by hand, proposed, confirmed, and named in the viewport."""
