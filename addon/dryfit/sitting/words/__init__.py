"""What the window says: landmarks, roles, units, poses and findings in the words of a sculptor."""
