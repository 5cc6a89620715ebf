"""What the shop makes: walls, weight, and the way out of the mould."""
