"""What runs into what while the face moves: bodies, the pairs of them, and where and how deep they meet."""
