"""Sizes of paper, width and height in mm, upright."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

PAPERS: Mapping[str, tuple[float, float]] = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}
"""ISO 216, and ANSI/ASME Y14.1 size A (8.5 by 11 inches)."""
