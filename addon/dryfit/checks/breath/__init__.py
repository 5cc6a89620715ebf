"""breath."""
