"""One load case on a grid: what is filled and how stiffly, what holds it, what pulls at it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from planner.strength.bodies import check_bodies, without_crumbs
from planner.strength.brick import CORNERS, shape
from planner.strength.faces import select
from planner.strength.faults import missed, too_thin
from planner.strength.lattice import Lattice
from planner.strength.occupancy import octant_fill
from planner.strength.shell import wall_share
from planner.strength.solver import Springs
from planner.strength.surface import SurfacePoints, spread
from planner.strength.weight import weight_n

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
"""A held surface gives way across itself like plastic a hundredth of a millimetre thick, and
along itself like plastic ten times as thick as the surface is long: it is backed, not glued,
so the wall does not keep it from growing narrower under pull (invented; the factors matter
little)."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Filled:
    """The bricks of a grid that hold something, in the grid frame.

    fill: (n, 8) share of material per octant; octants_mm: (n, 8, 3) their middles;
    middles_mm: (n, 3) middle of what is filled; edges_mm: (n,) edge of a cube as large.
    """

    turn: Floats
    lattice: Lattice
    fill: Floats
    octants_mm: Floats
    middles_mm: Floats
    edges_mm: Floats


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BrickPrint:
    """How bricks are printed: (n, 8) share of wall per octant, and of the solid's stiffness."""

    wall: Floats
    weights: Floats


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Loaded:
    """What acts on the bricks in one load case; forces_n: (nodes, 3), in the grid frame."""

    springs: Springs
    forces_n: Floats


def fill_grid(solid: Solid, grid: Grid, bead_mm: float) -> Filled:
    """Fill a grid with a part; raises InputError if nothing of it fills a brick."""
    every = octant_fill(solid, grid)
    cell = np.argwhere(every.mean(axis=3) > SMALLEST_FILL)
    if not len(cell):
        raise too_thin(solid, 0.0, bead_mm)
    cell = without_crumbs(Lattice(lines_mm=grid.lines_mm, cell=cell), every)
    fill = every[cell[:, 0], cell[:, 1], cell[:, 2]]
    lattice = Lattice(lines_mm=grid.lines_mm, cell=cell)
    places = (0.25 + 0.5 * CORNERS)[None]
    octants = lattice.lowest_mm[:, None] + places * lattice.sizes_mm[:, None]
    return Filled(
        turn=grid.turn,
        lattice=lattice,
        fill=fill,
        octants_mm=octants,
        middles_mm=np.einsum("nq,nqi->ni", fill, octants) / fill.sum(axis=1, keepdims=True),
        edges_mm=lattice.sizes_mm.prod(axis=1) ** (1 / 3),
    )


def print_bricks(solid: Solid, filled: Filled, material: Printed, up: Floats | None) -> BrickPrint:
    """Tell walls from filling for a build direction in the part's frame; see `wall_share`."""
    corners = (solid.vertices_mm @ filled.turn.T)[solid.triangles]
    turned = None if up is None else filled.turn @ up
    wall = wall_share(corners, filled.octants_mm, filled.edges_mm, material, turned)
    stiffness = wall + (1.0 - wall) * material.core_stiffness
    return BrickPrint(wall=wall, weights=filled.fill * stiffness)


def hold(solid: Solid, case: LoadCase, filled: Filled) -> Springs:
    """Return the springs that hold a part; raises InputError for what would move freely."""
    held, held_in, _ = _on(solid, case, case.held, filled)
    check_bodies(solid, case, filled, held, held_in)
    return _springs(held)


def load_case(
    solid: Solid, case: LoadCase, filled: Filled, bricks: BrickPrint, material: Printed
) -> Floats:
    """Return the forces (nodes, 3) of a load case, in N in the grid frame.

    A force is spread evenly over its face. A moment is spread so that it pulls at each place
    as a turn about the middle of the face would move it, which adds no force of its own.
    Raises InputError for a face that cannot be loaded.
    """
    pulled, brick, within = _on(solid, case, case.on, filled)
    turn, lattice = filled.turn, filled.lattice
    share = pulled.area_mm2 / pulled.area_mm2.sum()
    pull_n = share[:, None] * (turn @ np.array(case.force_n))
    pull_n = pull_n + _twist_n(pulled.points_mm, share, turn @ np.array(case.moment_nmm))
    forces = np.zeros((lattice.node_count, 3))
    np.add.at(forces, lattice.nodes[brick], shape(within)[:, :, None] * pull_n[:, None])
    if case.down is not None:
        forces += weight_n(solid, case, filled, bricks.wall, material)
    return forces


def _twist_n(points_mm: Floats, share: Floats, moment_nmm: Floats) -> Floats:
    """Return forces (p, 3) at points that add up to a moment and to no force.

    share x (w x arm), with w such that the moments add up. What a face of no extent cannot
    take up is left out: `lstsq` gives the least w.
    """
    if not moment_nmm.any():
        return np.zeros_like(points_mm)
    arms = points_mm - share @ points_mm
    squares = np.einsum("p,pi,pj->ij", share, arms, arms)
    spread_out = np.trace(squares) * np.eye(3) - squares
    turn = np.linalg.lstsq(spread_out, moment_nmm, rcond=1e-9)[0]
    forces: Floats = share[:, None] * np.cross(turn, arms)
    return forces


def _springs(held: SurfacePoints) -> Springs:
    """Return springs for a modulus of 1 MPa, stiff across the surface and soft along it."""
    long_mm = float(np.linalg.norm(np.ptp(held.points_mm, axis=0)))
    along = ALONG / long_mm
    normal = held.normals[:, :, None] * held.normals[:, None, :]
    stiffness = along * np.eye(3) + (ACROSS - along) * normal
    return Springs(
        points_mm=held.points_mm, stiffness_n_mm=held.area_mm2[:, None, None] * stiffness
    )


def _on(
    solid: Solid, case: LoadCase, face: Face, filled: Filled
) -> tuple[SurfacePoints, Ints, Floats]:
    """Return points on a face, pushed a hair into the material, with the brick of each."""
    chosen = select(solid, face, where=case.where)
    edge_mm = float(filled.edges_mm.min())
    corners = solid.vertices_mm[solid.triangles[chosen]] @ filled.turn.T
    points = spread(corners, edge_mm / 2)
    inward = points.points_mm - 1e-3 * edge_mm * points.normals
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
