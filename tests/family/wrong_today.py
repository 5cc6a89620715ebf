"""Rows of the family that are wrong as the code stands, each with why. Mending the code takes them off this list."""

WRONG = {}
