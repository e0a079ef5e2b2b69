"""How far a wall runs out of level, and where to check it."""

from __future__ import annotations

from planner.wall.levelling.drift import drifts

__all__ = ["drifts"]
