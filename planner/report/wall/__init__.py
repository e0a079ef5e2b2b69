"""Walls told: in words, as documents, as drawings to scale and to drill by."""
