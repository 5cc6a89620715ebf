"""Arrays in, arrays out. Millimetres. Knows nothing of Blender or of checks."""
