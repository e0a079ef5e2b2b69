"""The elevation of a wall: what it looks like from the front, to scale."""
