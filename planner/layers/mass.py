"""How far off the filament of a layering may be, and why.

Areas are exact, so what is left is what nobody knows before printing: how thick the strand
really is, and what shape the line takes at the outline. Errors are joined as the root of
their squares.
"""

from __future__ import annotations

from math import hypot, pi
from typing import TYPE_CHECKING

from planner.layers.strokes import OUTER
from planner.settings.model import Bead

if TYPE_CHECKING:
    from planner.layers.model import Layering
    from planner.settings.model import Settings

STRAND = 0.035
"""Share by which a strand's section may differ: 0.03 mm of 1.75 mm, twice. From memory: makers
state 0.02 to 0.05 mm."""


def filament_range_mm3(
    layering: Layering, settings: Settings
) -> tuple[tuple[float, float], tuple[str, ...]]:
    """Return (least, most) plastic around `layering.filament_mm3`, and the reasons in words.

    Volume as the nominal strand would hold it: what a scale shows differs by the strand too.
    Purging, and filament lost at a change of spool, are not in it.
    """
    middle = layering.filament_mm3
    strand = STRAND * middle
    edge = _edge_mm3(layering)
    # a settings file says one bead; the machine may lay the other
    wider, narrower = (edge, 0.0) if settings.bead is Bead.STADIUM else (0.0, edge)
    reasons = (
        f"section of the strand known within {STRAND:.1%}: {_ends(strand, strand, middle)}",
        f"shape of the line at the outline: {_ends(narrower, wider, middle)}",
    )
    low, high = middle - hypot(strand, narrower), middle + hypot(strand, wider)
    return (max(0.0, low), high), reasons


def _edge_mm3(layering: Layering) -> float:
    """Plastic between a round-ended and a rectangular line along all outer walls.

    P h^2 (1 - pi/4) / 2 per layer (C. Palmer 2014), with P the length of the outer wall.
    """
    length, thick = layering.length_mm[:, OUTER], layering.height_mm
    return float((length * thick**2).sum()) * (1.0 - pi / 4.0) / 2.0


def _ends(less: float, more: float, middle: float) -> str:
    """Write by how much both ends differ from the middle."""
    if middle <= 0.0:
        return "-0.0% to +0.0%"
    return f"{-less / middle:+.1%} to {more / middle:+.1%}"
