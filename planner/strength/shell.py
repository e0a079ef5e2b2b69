"""Where a part is solid: walls at its sides, solid layers above and below, filling behind.

A layer is solid as far in from its outline as the walls reach, and as far below or above
open air as the solid layers do. Seen square to a surface that leans, walls reach in by their
width times the sine of the angle between its normal and the build direction, solid layers by
their height times its cosine: plain geometry. The deeper of the two counts.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from planner.strength.surface import spread

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from planner.strength.material import Printed

    Floats = NDArray[np.float64]

_STEPS = 8
"""The share of wall in an octant is told in so many steps, so that many bricks are alike."""

_DEPTHS = 0.1
"""Depths are told apart to this many mm."""


def shell_depth_mm(normals: Floats, material: Printed, up: Floats | None) -> Floats:
    """Return how deep the part is solid behind surfaces of (n, 3) outward unit normals.

    Without a build direction: the least that any direction could give.
    """
    bottom_mm, top_mm = material.skins_mm
    if up is None:
        return np.full(len(normals), min(material.shell_mm, bottom_mm, top_mm))
    rise = normals @ up
    skin = np.where(rise > 0.0, top_mm, bottom_mm) * np.abs(rise)
    side = material.shell_mm * np.sqrt(np.maximum(1.0 - rise**2, 0.0))
    deeper: Floats = np.maximum(skin, side)
    return deeper


def wall_share(
    corners_mm: Floats,
    middles_mm: Floats,
    edges_mm: Floats,
    material: Printed,
    up: Floats | None = None,
) -> Floats:
    """Return (n, 8): 1 in octants within walls or solid layers, 0 behind, ramped between.

    corners_mm: (t, 3, 3) of the part; middles_mm: (n, 8, 3) of the octants; edges_mm: (n,)
    edges of the bricks, over half of which the ramp runs. `up` is in the same frame.
    """
    if material.infill >= 1.0:
        return np.ones(middles_mm.shape[:2])
    vectors = np.cross(corners_mm[:, 1] - corners_mm[:, 0], corners_mm[:, 2] - corners_mm[:, 0])
    area = np.linalg.norm(vectors, axis=1)
    normals = vectors / np.where(area > 0.0, area, 1.0)[:, None]
    depth = np.round(shell_depth_mm(normals, material, up) / _DEPTHS) * _DEPTHS
    share = np.zeros(middles_mm.shape[:2])
    for deep in np.unique(depth):
        one = _share(corners_mm[depth == deep], middles_mm, edges_mm, float(deep))
        np.maximum(share, one, out=share)
    return np.round(share * _STEPS) / _STEPS


def _share(corners_mm: Floats, middles_mm: Floats, edges_mm: Floats, deep_mm: float) -> Floats:
    from scipy.spatial import cKDTree  # noqa: PLC0415  kept out of the start-up path

    apart = max(0.3, min(float(edges_mm.min()), deep_mm) / 2)
    reach = deep_mm + float(edges_mm.max())
    tree = cKDTree(_thinned(spread(corners_mm, apart).points_mm, apart / 2))
    distance, _ = tree.query(middles_mm.reshape(-1, 3), distance_upper_bound=reach)
    inside = np.minimum(distance, reach).reshape(middles_mm.shape[:2])
    share: Floats = np.clip((deep_mm - inside) / (edges_mm[:, None] / 2) + 0.5, 0.0, 1.0)
    return share


def _thinned(points_mm: Floats, apart_mm: float) -> Floats:
    """Keep one point per cube of this edge: meshes of small triangles bring far too many."""
    low = points_mm.min(axis=0)
    cell = ((points_mm - low) / apart_mm).astype(np.int64)
    x, y, z = (int(most) + 1 for most in cell.max(axis=0))
    keys = np.ravel_multi_index((cell[:, 0], cell[:, 1], cell[:, 2]), (x, y, z))
    _, first = np.unique(keys, return_index=True)
    kept: Floats = points_mm[np.sort(first)]
    return kept
