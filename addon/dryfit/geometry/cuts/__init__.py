"""A mesh cut by upright planes, and how the lines of two such cuts stand to each other."""
