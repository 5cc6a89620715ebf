"""Two meshes in contact: where they cross, what they sweep through, and how deep the one is in the other."""
