"""Holding parts and settings against a guideline and against the printers: findings."""
