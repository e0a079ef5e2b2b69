"""The surface of a part cut into facets, each with the tension across its layers."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from planner.strength.field import as_tensors
from planner.strength.model import Painted

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from numpy.typing import NDArray

    from planner.solid.model import Solid
    from planner.strength.field import StressField
    from planner.strength.model import Direction

    Floats = NDArray[np.float64]

COARSE, FINE = 1 / 8, 1 / 45
"""Longest side of a facet per length of the part, anywhere, and where tension changes."""

CHANGES = 1 / 12
"""Share of the most tension that a facet may hide: half a step of the colours."""

ENOUGH = 1800
"""Facets are cut up until there are about so many: a picture stays near 100 kB."""


def painted(
    solid: Solid, fields: Sequence[StressField], given: Direction, practical: Direction
) -> Painted:
    """Return the facets with the tension of the case that pulls the layers most."""
    from scipy.spatial import cKDTree  # noqa: PLC0415  kept out of the start-up path

    tree = cKDTree(fields[0].points_mm[: fields[0].surface])  # one grid serves every case
    worst = [_worst(fields, np.array(one.up)) for one in (given, practical)]

    def at(places: Floats) -> Floats:
        """Return (2, ...) tensions of the nearest points of (..., 3) places."""
        _, nearest = tree.query(places)
        return np.stack([tension[nearest] for tension in worst])

    most_mpa = max(1e-9, *(float(tension.max()) for tension in worst))
    long_mm = float(np.ptp(solid.vertices_mm, axis=0).max())
    facets = _cut_up(solid.vertices_mm[solid.triangles], at, long_mm, CHANGES * most_mpa)
    as_given, in_practice = at(facets.mean(axis=1)).astype(np.float32)
    return Painted(
        facets_mm=facets.astype(np.float32),  # enough for a picture
        given_mpa=as_given,
        practical_mpa=in_practice,
    )


def _worst(fields: Sequence[StressField], up: Floats) -> Floats:
    """Return the tension at the surface points in the case that has most of it."""
    return max((layer_tension(field, up) for field in fields), key=lambda one: float(one.max()))


def layer_tension(field: StressField, up: Floats) -> Floats:
    """Return (surface,): tension across layers at the surface points, 0 where it is pressure."""
    stress = as_tensors(field.stress_mpa[: field.surface])
    tension: Floats = np.maximum(np.einsum("i,nij,j->n", up, stress, up), 0.0)
    return np.where(field.counts[: field.surface], tension, 0.0)


def _cut_up(
    facets: Floats, at: Callable[[Floats], Floats], long_mm: float, changes_mpa: float
) -> Floats:
    """Return (f, 3, 3): triangles, the long ones halved, finely where the tension changes."""
    while len(facets) < ENOUGH:
        sides = np.linalg.norm(np.roll(facets, -1, axis=1) - facets, axis=2)
        length = sides.max(axis=1)
        cut = length > COARSE * long_mm
        fine = np.flatnonzero(~cut & (length > FINE * long_mm))
        places = np.concatenate([facets[fine], facets[fine].mean(axis=1, keepdims=True)], axis=1)
        tension = at(places)
        # What stays in the first step of the colours need not be cut.
        differs = (np.ptp(tension, axis=2) > changes_mpa) & (tension.max(axis=2) > 2 * changes_mpa)
        cut[fine] = differs.any(axis=0)
        if not cut.any():
            break
        facets = np.concatenate([facets[~cut], _halved(facets[cut], sides[cut])])
    return facets


def _halved(facets: Floats, sides: Floats) -> Floats:
    """Cut triangles in two across their longest side."""
    order = (np.argmax(sides, axis=1)[:, None] + np.arange(3)) % 3
    a, b, c = np.moveaxis(np.take_along_axis(facets, order[:, :, None], axis=1), 1, 0)
    middle = (a + b) / 2
    return np.concatenate([np.stack([a, middle, c], 1), np.stack([middle, b, c], 1)])
