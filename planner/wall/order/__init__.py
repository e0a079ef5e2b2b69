"""In which order a wall goes up, and which parts belong in which bag."""
