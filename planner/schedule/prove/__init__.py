"""Proofs: bounds from fractions of printer schedules, and a constraint solver."""
