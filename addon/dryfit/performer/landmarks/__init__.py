"""landmarks."""
