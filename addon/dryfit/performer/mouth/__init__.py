"""The lips of this head: the line between them, their skin, and the gap at any t of a motion."""
