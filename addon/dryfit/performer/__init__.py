"""What is known of this head, whatever is asked of a design on it: frame, regions, eyes, landmarks, motions, mouth.

Checks, fixes, reports and the sidebar use it; it uses none of them.
"""
