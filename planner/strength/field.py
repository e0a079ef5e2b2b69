"""The stresses in a part under one load: one linear solve, kept as arrays in the part's frame.

Stress is that of the plastic itself (modulus x strain), also where the brick is sparse
filling or only partly filled. At a surface it is a plane fitted to the bricks around, so it
is exact for bending and pull, and rounded off where stress changes within a brick or a
bead: the peak in a sharp inner corner is not a number that any grid could give. A band
around held surfaces is left out for the same reason: a clamp there is stiffer than any wall.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from planner.strength.brick import elasticity, strain_inside
from planner.strength.case import SMALLEST_FILL, fill_grid, load_case
from planner.strength.faults import check_closed, check_force, too_thin
from planner.strength.grid import fitted_grid, main_frame
from planner.strength.solver import solve
from planner.strength.surface import spread
from planner.strength.thickness import wall_thickness_mm

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from planner.job.model import LoadCase
    from planner.solid.model import Solid
    from planner.strength.case import Loaded
    from planner.strength.material import Printed

    Floats = NDArray[np.float64]
    Bools = NDArray[np.bool_]

THROUGH_WALL = 3
"""Bricks wanted through the thinnest tenth of the material."""

FINE_ENOUGH = 6
"""Bricks through it beyond which nothing is gained: a plane is fitted over the outer ones."""

MOST_BRICKS = 12_000
"""Bricks of one solve, about; holds the time to seconds."""

AVERAGED = 0.7
"""Stress is fitted over a bead, or over this share of a brick if that is more (invented)."""

BAND_MM = 1.0
"""Material this near to a held surface (or a brick, if that is more) does not count."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class StressField:
    """Stress under one load case, in the part's own frame.

    points_mm: (n, 3), first those on the surface (`surface` of them), then brick middles.
    stress_mpa: (n, 6) as xx yy zz yz zx xy. counts: (n,) False in the band around held
    surfaces. area_mm2: (surface,) the surface each point stands for. moves_mm: how far the
    place that moves most goes, for the middle modulus. `under_resolved`: fewer bricks than
    wanted through the thin walls. `averaged_mm`: the distance that stress is fitted over.
    """

    case: LoadCase
    points_mm: Floats
    stress_mpa: Floats
    counts: Bools
    surface: int
    normals: Floats
    area_mm2: Floats
    moves_mm: float
    brick_mm: float
    averaged_mm: float
    wall_mm: float
    under_resolved: bool
    bricks: int
    steps: int

    @property
    def tensors(self) -> Floats:
        """The points that count, as (m, 3, 3) tensors in MPa."""
        return as_tensors(self.stress_mpa[self.counts])


def as_tensors(stress: Floats) -> Floats:
    """Return (n, 3, 3) from (n, 6) as xx yy zz yz zx xy."""
    order = np.array([[0, 5, 4], [5, 1, 3], [4, 3, 2]])
    tensors: Floats = stress[:, order]
    return tensors


def stress_field(
    solid: Solid, case: LoadCase, material: Printed, *, most_bricks: int = MOST_BRICKS
) -> StressField:
    """Solve one load case; see `stress_fields`."""
    (field,) = stress_fields(solid, [case], material, most_bricks=most_bricks)
    return field


def stress_fields(
    solid: Solid,
    cases: Sequence[LoadCase],
    material: Printed,
    *,
    most_bricks: int = MOST_BRICKS,
) -> tuple[StressField, ...]:
    """Solve every load case on one grid.

    Raises InputError for a mesh that is open, a face that takes no surface, a force that is
    none, a body that nothing holds, or walls thinner than a bead.
    """
    check_closed(solid)
    for case in cases:
        check_force(solid, case)
    turn = main_frame(solid)
    wall_mm, brick_mm = resolution(solid, turn, material, most_bricks)
    grid = fitted_grid(solid, turn, brick_mm)
    filled = fill_grid(solid, grid, material, brick_mm)
    return tuple(
        _solved(
            solid,
            case,
            material,
            load_case(solid, case, filled, brick_mm),
            brick_mm=brick_mm,
            wall_mm=wall_mm,
        )
        for case in cases
    )


def resolution(
    solid: Solid, turn: Floats, material: Printed, most_bricks: int
) -> tuple[float, float]:
    """Return (thickness of the thin walls, edge of a brick), in mm.

    Raises InputError if a tenth of the part is thinner than a bead.
    """
    wall_mm = wall_thickness_mm(solid, turn)
    if wall_mm < 0.9 * material.bead_mm:
        raise too_thin(solid, wall_mm, material.bead_mm)
    affordable_mm = float(solid.volume_mm3 / most_bricks) ** (1 / 3)
    return wall_mm, max(wall_mm / FINE_ENOUGH, affordable_mm)


def _solved(
    solid: Solid,
    case: LoadCase,
    material: Printed,
    loaded: Loaded,
    *,
    brick_mm: float,
    wall_mm: float,
) -> StressField:
    lattice = loaded.filled.lattice
    size_n = float(np.linalg.norm(loaded.forces_n.sum(axis=0)))
    # Solved for 1 N, so that twice the force is twice the stress to the last digit but one.
    moves, steps = solve(lattice, loaded.filled.weights, loaded.springs, loaded.forces_n / size_n)
    corners = moves[lattice.nodes].reshape(-1, 24)
    mean, slope = strain_inside(
        lattice.sizes_mm, loaded.filled.weights, loaded.filled.fill, corners
    )
    law = elasticity()
    stress, slopes = mean @ law.T, np.einsum("ij,nja->nia", law, slope)
    points, normals, area, brick = _surface_points(solid, loaded, brick_mm)
    radius_mm = max(material.bead_mm, AVERAGED * brick_mm)
    at_surface = _fitted(loaded, points, brick, stress=stress, slopes=slopes, radius_mm=radius_mm)
    solid_enough = loaded.filled.fill.mean(axis=1) > SMALLEST_FILL
    every = np.concatenate([points, loaded.filled.middles_mm[solid_enough]])
    tensors = as_tensors(np.concatenate([at_surface, stress[solid_enough]]))
    turned = size_n * (loaded.filled.turn.T @ tensors @ loaded.filled.turn)
    return StressField(
        case=case,
        points_mm=every @ loaded.filled.turn,
        stress_mpa=turned.reshape(-1, 9)[:, [0, 4, 8, 5, 2, 1]],
        counts=_far_from(loaded.springs.points_mm, every, max(BAND_MM, brick_mm)),
        surface=len(points),
        normals=normals @ loaded.filled.turn,
        area_mm2=area,
        moves_mm=size_n
        * float(np.linalg.norm(moves, axis=1).max())
        / (sum(material.modulus_mpa) / 2),
        brick_mm=brick_mm,
        averaged_mm=radius_mm,
        wall_mm=wall_mm,
        under_resolved=brick_mm * THROUGH_WALL > 1.05 * wall_mm,
        bricks=len(lattice.cell),
        steps=steps,
    )


def _surface_points(
    solid: Solid, loaded: Loaded, brick_mm: float
) -> tuple[Floats, Floats, Floats, NDArray[np.int64]]:
    """Return one point per brick and facing: place, normal, area, and the brick."""
    turned = solid.vertices_mm @ loaded.filled.turn.T
    spreading = spread(turned[solid.triangles], brick_mm / 2)
    brick, _ = loaded.filled.lattice.find(spreading.points_mm - 1e-3 * brick_mm * spreading.normals)
    facing = np.argmax(np.abs(spreading.normals), axis=1)
    ahead = spreading.normals[np.arange(len(facing)), facing] > 0
    used = (brick >= 0) & (spreading.area_mm2 > 0)
    keys, group = np.unique((brick * 6 + 2 * facing + ahead)[used], return_inverse=True)
    weight = spreading.area_mm2[used]
    area: Floats = np.bincount(group, weights=weight).astype(np.float64)

    def mean(values: Floats) -> Floats:
        columns = [np.bincount(group, weights=weight * values[used, k]) for k in range(3)]
        return np.stack(columns, axis=1) / area[:, None]

    normals = mean(spreading.normals)
    normals /= np.maximum(np.linalg.norm(normals, axis=1), 1e-9)[:, None]
    return mean(spreading.points_mm), normals, area, keys // 6


def _fitted(
    loaded: Loaded,
    points: Floats,
    brick: NDArray[np.int64],
    *,
    stress: Floats,
    slopes: Floats,
    radius_mm: float,
) -> Floats:
    """Return (p, 6): a plane fitted to the stress of the 27 bricks around each point.

    Weights fall off as a Gaussian over `radius_mm` and with how little a brick holds. The
    bricks' own slopes take part with a tenth of the weight: they decide where only one
    brick goes through a wall and the means alone say nothing of bending.
    """
    result = np.empty((len(points), 6))
    fill = loaded.filled.fill.mean(axis=1)
    for start in range(0, len(points), 4000):
        piece = slice(start, start + 4000)
        near = loaded.filled.lattice.neighbours[brick[piece]]
        apart = (loaded.filled.middles_mm[near] - points[piece, None]) / radius_mm
        weight = np.where(near >= 0, fill[near], 0.0) ** 2 * np.exp(-(apart**2).sum(axis=2) / 2)
        terms = np.concatenate([np.ones((*near.shape, 1)), apart], axis=2)
        left = np.einsum("nk,nki,nkj->nij", weight, terms, terms)
        right = np.einsum("nk,nki,nkc->nic", weight, terms, stress[near])
        own = 0.1 * weight.sum(axis=1)
        left[:, [1, 2, 3], [1, 2, 3]] += own[:, None]
        mean = np.einsum("nk,nkca->nac", weight, slopes[near]) * 0.1 * radius_mm
        right[:, 1:] += mean
        result[piece] = np.linalg.solve(left, right)[:, 0]
    return result


def _far_from(held_mm: Floats, points_mm: Floats, band_mm: float) -> Bools:
    from scipy.spatial import cKDTree  # noqa: PLC0415  kept out of the start-up path

    distance, _ = cKDTree(held_mm).query(points_mm, distance_upper_bound=band_mm)
    far: Bools = ~np.isfinite(distance)
    return far if far.any() else np.ones(len(points_mm), dtype=np.bool_)
