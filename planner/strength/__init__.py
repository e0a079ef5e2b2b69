"""The build direction against the load."""
