"""Where everything is at any t of a motion: keys, a hinge where there are none, and what rides on the skin."""
