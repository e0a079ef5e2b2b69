"""How far a wall runs out of level, and where to check it."""

from __future__ import annotations

from planner.wall.levelling.drift import ASSUMPTIONS, HOW, drifts, tilt_deg

__all__ = ["ASSUMPTIONS", "HOW", "drifts", "tilt_deg"]
