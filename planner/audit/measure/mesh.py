"""A part on the plate beside its mesh: is it that part, and how wide are its lines really."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from planner.audit.measure.model import Figure, Status, unknown
from planner.audit.measure.plate import STADIUM
from planner.solid.cut import areas_mm2, cut

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from planner.audit.measure.layer import PartLayer
    from planner.solid.model import Posed

    Floats = NDArray[np.float64]

SAME_AREA = 0.08
"""Share by which the outline may differ from the mesh's cut and still be that part: our choice;
compensation for shrinkage changes it by some 1 %."""
CORNERS = 3.6
"""Area of the corners of a line's outer half, in half widths squared: between a circle's pi and
a square's 4."""


def mesh_figures(
    layers: Sequence[PartLayer],
    tops_mm: Floats,
    mesh: Posed,
    *,
    spacing_mm: float,
    heights_mm: Floats,
) -> dict[str, Figure]:
    """Hold one part's sampled layers against its mesh.

    `tops_mm` and `heights_mm` are those of all layers, over the part's own foot. The outer
    wall's middle lies half a line inside the mesh: 2 (cut - outline) / edge is its width, which
    tells a rectangle (the spacing) from round edges (0.215 heights more).
    """
    own = [layer for layer in layers if layer.outer_area_mm2 > 0]
    if not own:
        return {"mesh_fits": unknown("no outer walls to hold against the mesh")}
    index = [layer.level for layer in own]
    cuts = areas_mm2(cut(mesh, tops_mm[index] - 0.5 * heights_mm[index]))
    outline = np.array([layer.outer_area_mm2 for layer in own])
    edge = np.array([layer.outer_edge_mm for layer in own])
    width = _width(cuts, outline, edge)
    grown = outline + edge * spacing_mm / 2
    off = float(np.median(np.abs(grown / np.maximum(cuts, 1e-9) - 1.0)))
    fits = off < SAME_AREA
    found = {
        "mesh_fits": Figure(
            value=fits, evidence=f"outlines differ by {100 * off:.1f} % in area, {len(own)} layers"
        )
    }
    if not fits:
        return found
    middle = float(np.median(width))
    found["outer_width_mm"] = Figure(
        value=middle,
        evidence="the outer wall lies half of it inside the mesh",
        spread=(float(width.min()), float(width.max())),
    )
    found["bead"] = _bead(middle, spacing_mm, float(np.median(heights_mm[index])))
    return found


def _width(cuts: Floats, outline: Floats, edge: Floats) -> Floats:
    """Solve cut = outline + edge x half + corners x half^2 for each layer's width."""
    root = np.sqrt(np.maximum(np.square(edge) + 4 * CORNERS * (cuts - outline), 0.0))
    result: Floats = (root - edge) / CORNERS
    return result


def _bead(width: float, spacing: float, height: float) -> Figure:
    """Choose the section whose width is nearest; neither where both miss."""
    miss = {"rectangle": width - spacing, "stadium": width - spacing - STADIUM * height}
    best = min(miss, key=lambda name: abs(miss[name]))
    apart = STADIUM * height
    firm = abs(miss[best]) < 0.3 * apart
    return Figure(
        value=best,
        evidence=f"outer wall {width:.3f} mm wide at a spacing of {spacing:.3f} mm",
        status=Status.FIRM if firm else Status.AMBIGUOUS,
    )
