"""What names in a scene speak of; nothing is taken before somebody says so."""
