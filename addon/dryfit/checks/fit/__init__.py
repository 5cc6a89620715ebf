"""How it sits on the performer: the locked base, the skin under it, the rim, and the face's pull on it."""
