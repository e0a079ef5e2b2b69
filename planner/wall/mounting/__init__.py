"""Screws of the walls: where they may go, and what each bears."""

from __future__ import annotations

from planner.wall.mounting.mount import mount

__all__ = ["mount"]
