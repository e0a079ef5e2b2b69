"""One load case on a grid: what is filled and how stiffly, what holds it, what pulls at it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from planner.strength.brick import CORNERS, shape
from planner.strength.faces import select
from planner.strength.faults import check_held, missed, too_thin, unheld
from planner.strength.lattice import Lattice
from planner.strength.occupancy import octant_fill
from planner.strength.solver import Springs
from planner.strength.surface import SurfacePoints, spread

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from planner.job.model import Face, LoadCase
    from planner.solid.model import Solid
    from planner.strength.grid import Grid
    from planner.strength.material import Printed

    Floats = NDArray[np.float64]
    Ints = NDArray[np.int64]

SMALLEST_FILL = 0.03
"""Bricks that hold less than this are left out: they carry next to nothing (invented)."""

ACROSS, ALONG = 100.0, 0.1
"""A held surface gives way across itself like plastic a hundredth of a brick thick, and along
itself like plastic ten times as thick as the surface is long: it is backed, not glued, so the
wall does not keep it from growing narrower under pull (invented; the factors matter little)."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Filled:
    """The bricks of a grid that hold something, in the grid frame.

    fill: (n, 8) share of material per octant; weights: the same times its stiffness per
    that of the solid; middles_mm: (n, 3) middle of what is filled.
    """

    turn: Floats
    lattice: Lattice
    fill: Floats
    weights: Floats
    middles_mm: Floats


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Loaded:
    """What acts on the bricks in one load case; forces_n: (nodes, 3), in the grid frame."""

    filled: Filled
    springs: Springs
    forces_n: Floats


def fill_grid(solid: Solid, grid: Grid, material: Printed, brick_mm: float) -> Filled:
    """Fill a grid with a part; raises InputError if nothing of it fills a brick."""
    every = octant_fill(solid, grid)
    cell = np.argwhere(every.mean(axis=3) > SMALLEST_FILL)
    if not len(cell):
        raise too_thin(solid, 0.0, material.bead_mm)
    fill = every[cell[:, 0], cell[:, 1], cell[:, 2]]
    lattice = Lattice(lines_mm=grid.lines_mm, cell=cell)
    middles = _octant_middles(lattice)
    corners = (solid.vertices_mm @ grid.turn.T)[solid.triangles]
    return Filled(
        turn=grid.turn,
        lattice=lattice,
        fill=fill,
        weights=fill * _relative_stiffness(corners, middles, material, brick_mm),
        middles_mm=np.einsum("nq,nqi->ni", fill, middles) / fill.sum(axis=1, keepdims=True),
    )


def load_case(solid: Solid, case: LoadCase, filled: Filled, brick_mm: float) -> Loaded:
    """Put a load case on the bricks; raises InputError for what cannot be loaded or held."""
    held, held_in, _ = _on(solid, case, case.held, filled, brick_mm)
    check_held(solid, case, held)
    pulled, brick, within = _on(solid, case, case.on, filled, brick_mm)
    lattice, turn = filled.lattice, filled.turn
    _check_bodies(solid, case, lattice, held_in, turn=turn)
    forces = np.zeros((lattice.node_count, 3))
    share = pulled.area_mm2 / pulled.area_mm2.sum()
    pull = share[:, None, None] * shape(within)[:, :, None] * (turn @ np.array(case.force_n))
    np.add.at(forces, lattice.nodes[brick], pull)
    return Loaded(filled=filled, springs=_springs(held, brick_mm), forces_n=forces)


def _springs(held: SurfacePoints, brick_mm: float) -> Springs:
    """Return springs for a modulus of 1 MPa, stiff across the surface and soft along it."""
    long_mm = float(np.linalg.norm(np.ptp(held.points_mm, axis=0)))
    along = ALONG / long_mm
    normal = held.normals[:, :, None] * held.normals[:, None, :]
    stiffness = along * np.eye(3) + (ACROSS / brick_mm - along) * normal
    return Springs(
        points_mm=held.points_mm, stiffness_n_mm=held.area_mm2[:, None, None] * stiffness
    )


def _octant_middles(lattice: Lattice) -> Floats:
    middles: Floats = (
        lattice.lowest_mm[:, None] + (0.25 + 0.5 * CORNERS)[None] * lattice.sizes_mm[:, None]
    )
    return middles


def _on(
    solid: Solid, case: LoadCase, face: Face, filled: Filled, brick_mm: float
) -> tuple[SurfacePoints, Ints, Floats]:
    """Return points on a face, pushed a hair into the material, with the brick of each."""
    chosen = select(solid, face, where=case.where)
    corners = solid.vertices_mm[solid.triangles[chosen]] @ filled.turn.T
    points = spread(corners, brick_mm / 2)
    inward = points.points_mm - 1e-3 * brick_mm * points.normals
    brick, within = filled.lattice.find(inward)
    kept = (brick >= 0) & (points.area_mm2 > 0)
    if not kept.any():
        raise missed(solid, case, face)
    return (
        SurfacePoints(
            points_mm=inward[kept],
            normals=points.normals[kept],
            area_mm2=points.area_mm2[kept],
            triangle=points.triangle[kept],
        ),
        brick[kept],
        within[kept],
    )


def _relative_stiffness(
    corners_mm: Floats, middles_mm: Floats, material: Printed, brick_mm: float
) -> Floats:
    """Return (n, 8): 1 within the walls, that of the filling behind them, ramped between.

    The walls reach `shell_mm` in from any surface: solid layers above and below are taken
    to be as thick as the walls, for any build direction.
    """
    if material.infill >= 1.0:
        return np.ones(middles_mm.shape[:2])
    from scipy.spatial import cKDTree  # noqa: PLC0415  kept out of the start-up path

    apart = max(0.3, min(brick_mm, material.shell_mm) / 2)
    tree = cKDTree(spread(corners_mm, apart).points_mm)
    reach = material.shell_mm + brick_mm
    distance, _ = tree.query(middles_mm.reshape(-1, 3), distance_upper_bound=reach)
    inside = np.minimum(distance, reach).reshape(middles_mm.shape[:2])
    wall = np.clip((material.shell_mm - inside) / (brick_mm / 2) + 0.5, 0.0, 1.0)
    stiffness: Floats = wall + (1.0 - wall) * material.core_stiffness
    return stiffness


def _check_bodies(
    solid: Solid, case: LoadCase, lattice: Lattice, held_in: Ints, *, turn: Floats
) -> None:
    """Refuse parts that fall into bodies of which one is not held."""
    from scipy.ndimage import label  # noqa: PLC0415  kept out of the start-up path

    shape_of = [len(lines) - 1 for lines in lattice.lines_mm]
    there = np.zeros(shape_of, dtype=np.bool_)
    x, y, z = lattice.cell.T
    there[x, y, z] = True
    numbers, count = label(there, structure=np.ones((3, 3, 3)))
    body = numbers[x, y, z]
    loose = sorted(set(range(1, count + 1)) - set(body[held_in].tolist()))
    if loose:
        raise unheld(solid, case, count, [_middle(lattice, body == one) @ turn for one in loose])


def _middle(lattice: Lattice, chosen: NDArray[np.bool_]) -> Floats:
    middle: Floats = (lattice.lowest_mm + lattice.sizes_mm / 2)[chosen].mean(axis=0)
    return middle
