"""The stresses in a part under its loads: one linear solve each, kept in the part's frame.

Stress is that of the plastic itself (modulus x strain), also where the brick is sparse
filling or only partly filled. At a surface it is a plane fitted to the bricks around, so it
is exact for bending and pull, and rounded off where stress changes within a brick or a
bead: the peak in a sharp inner corner is not a number that any grid could give. A band
around held surfaces is left out for the same reason: a clamp there is stiffer than any wall.

Every part is solved twice. A first, coarse look tells where the stress is and how thick the
walls are that bear it; the second has its small bricks there.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from planner.strength.faults import check_closed, check_force, check_warmth, too_thin
from planner.strength.grade import EVEN, STRONG, graded, relative_edges, severity
from planner.strength.grid import Grid, main_frame, main_planes
from planner.strength.stage import ROUGHLY, on_grid, solve_stage
from planner.strength.thickness import measured_walls

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from planner.job.model import LoadCase
    from planner.solid.model import Solid
    from planner.strength.grade import Edges
    from planner.strength.material import Printed
    from planner.strength.stage import Answer, Stage

    Floats = NDArray[np.float64]
    Bools = NDArray[np.bool_]

THROUGH_WALL = 3
"""Bricks wanted through the thinnest tenth of the material that bears the load."""

MOST_BRICKS = 12_000
"""Bricks of one solve, about, for one load case, and fewer by the root of their number for
several; holds the time to seconds."""

COARSER = 4
"""The first look has so many times fewer bricks (invented)."""

BAND_MM = 1.0
"""Material this near to a held surface (or a brick, if that is more) does not count."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class StressField:
    """Stress under one load case, in the part's own frame.

    points_mm: (n, 3), first those on the surface (`surface` of them), then brick middles.
    stress_mpa: (n, 6) as xx yy zz yz zx xy. counts: (n,) False in the band around held
    surfaces. bears: (n,) the stress that the plastic at a point may be strained to, per its
    strength: less than 1 in sparse filling. normals: (surface, 3) outward; area_mm2:
    (surface,) the surface each point stands for. moves_mm: how far the place that moves most
    goes, for the middle modulus. brick_mm: the smallest edge of a brick; wall_mm: how thick
    the thinnest tenth of what bears the load is. `under_resolved`: fewer bricks than wanted
    through it. `averaged_mm`: the distance that stress is fitted over where the bricks are
    smallest; reach_mm: (surface,) the same at each point.
    """

    case: LoadCase
    points_mm: Floats
    stress_mpa: Floats
    counts: Bools
    bears: Floats
    surface: int
    normals: Floats
    area_mm2: Floats
    reach_mm: Floats
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


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Survey:
    """A part and its loads on the grid that suits them, before it is printed any way up.

    wall_mm: thickness of the thinnest tenth of what bears the loads; brick_mm: the smallest
    edge of a brick.
    """

    stage: Stage
    wall_mm: float
    brick_mm: float


def as_tensors(stress: Floats) -> Floats:
    """Return (n, 3, 3) from (n, 6) as xx yy zz yz zx xy."""
    order = np.array([[0, 5, 4], [5, 1, 3], [4, 3, 2]])
    tensors: Floats = stress[:, order]
    return tensors


def stress_field(
    solid: Solid,
    case: LoadCase,
    material: Printed,
    *,
    up: tuple[float, float, float] | None = None,
    most_bricks: int = MOST_BRICKS,
) -> StressField:
    """Solve one load case; see `stress_fields`."""
    (field,) = stress_fields(solid, [case], material, up=up, most_bricks=most_bricks)
    return field


def stress_fields(
    solid: Solid,
    cases: Sequence[LoadCase],
    material: Printed,
    *,
    up: tuple[float, float, float] | None = None,
    most_bricks: int = MOST_BRICKS,
) -> tuple[StressField, ...]:
    """Solve every load case on one grid; see `survey` and `fields_for`."""
    return fields_for(survey(solid, cases, material, most_bricks=most_bricks), up)


def survey(
    solid: Solid,
    cases: Sequence[LoadCase],
    material: Printed,
    *,
    most_bricks: int = MOST_BRICKS,
) -> Survey:
    """Take a coarse look at a part under its loads, and fit a grid to what it shows.

    Raises InputError for a mesh that is open, a face that takes no surface, a force that is
    none, a body that nothing holds, too much warmth, or walls thinner than a bead.
    """
    check_closed(solid)
    for case in cases:
        check_force(solid, case)
        check_warmth(solid, case, material)
    turn = main_frame(solid)
    walls, planes = measured_walls(solid, turn), main_planes(solid, turn)
    thin_mm = walls.thinnest_mm()
    if thin_mm < 0.9 * material.bead_mm:
        raise too_thin(solid, thin_mm, material.bead_mm)
    smallest_mm = min(material.bead_mm, thin_mm / THROUGH_WALL)

    def staged(relative: Sequence[Edges], bricks: int) -> tuple[Stage, float]:
        wanted, edge_mm = graded(
            relative, planes, walls, smallest_mm=smallest_mm, most_bricks=bricks
        )
        grid = Grid(turn=turn, lines_mm=planes.lines_mm(wanted))
        return on_grid(solid, cases, material, grid), edge_mm

    first, _ = staged(EVEN, most_bricks // COARSER)
    points, share = _shares(first, solve_stage(first, None, tolerance=ROUGHLY))
    relative = relative_edges(first.filled.lattice.lines_mm, points, share)
    stage, edge_mm = staged(relative, int(most_bricks / len(cases) ** 0.5))
    loaded = share[len(first.places.points_mm) :] >= STRONG
    wall_mm = walls.thinnest_at_mm(first.filled.middles_mm[loaded]) or thin_mm
    return Survey(stage=stage, wall_mm=wall_mm, brick_mm=edge_mm)


def _shares(stage: Stage, answers: Sequence[Answer]) -> tuple[Floats, Floats]:
    """Return places at the surface, then inside; and their severity per the highest."""
    points = np.concatenate([stage.places.points_mm, stage.filled.middles_mm])
    most = np.zeros(len(points))
    for case, answer in zip(stage.cases, answers, strict=True):
        stress = np.concatenate([answer.at_surface_mpa, answer.inside_mpa])
        one = np.where(_counts(stage, case, points), severity(as_tensors(stress)), 0.0)
        most = np.maximum(most, one / max(float(one.max()), 1e-30))
    return points, most


def fields_for(
    found: Survey, up: tuple[float, float, float] | None = None
) -> tuple[StressField, ...]:
    """Solve every load case of a part printed with `up` (part frame, any length) upwards.

    Walls, solid layers and filling lie as they do in that direction. None takes all around
    the thinner of walls and solid layers.
    """
    axis = None if up is None else np.array(up) / np.linalg.norm(up)
    answers = solve_stage(found.stage, axis)
    cases = found.stage.cases
    return tuple(_field(found, case, answer) for case, answer in zip(cases, answers, strict=True))


def _field(found: Survey, case: LoadCase, answer: Answer) -> StressField:
    stage, filled, material = found.stage, found.stage.filled, found.stage.material
    points = np.concatenate([stage.places.points_mm, filled.middles_mm])
    tensors = as_tensors(np.concatenate([answer.at_surface_mpa, answer.inside_mpa]))
    turned = filled.turn.T @ tensors @ filled.turn
    core = answer.wall + (1.0 - answer.wall) * material.core_strength
    surface = len(stage.places.points_mm)
    return StressField(
        case=case,
        points_mm=points @ filled.turn,
        stress_mpa=turned.reshape(-1, 9)[:, [0, 4, 8, 5, 2, 1]],
        counts=_counts(stage, case, points),
        bears=np.concatenate([np.ones(surface), core]),
        surface=surface,
        normals=stage.places.normals @ filled.turn,
        area_mm2=stage.places.area_mm2,
        reach_mm=stage.places.reach_mm,
        moves_mm=answer.most_mm / (sum(material.modulus_mpa) / 2),
        brick_mm=found.brick_mm,
        averaged_mm=float(stage.places.reach_mm.min()),
        wall_mm=found.wall_mm,
        under_resolved=found.brick_mm * THROUGH_WALL > 1.05 * found.wall_mm,
        bricks=len(filled.fill),
        steps=answer.steps,
    )


def _counts(stage: Stage, case: LoadCase, points_mm: Floats) -> Bools:
    """Return which points lie farther from what is held than the band; all if none does."""
    from scipy.spatial import cKDTree  # noqa: PLC0415  kept out of the start-up path

    edges = stage.filled.edges_mm
    band = np.maximum(BAND_MM, np.concatenate([edges[stage.places.brick], edges]))
    tree = cKDTree(stage.springs[case.held].points_mm)
    distance, _ = tree.query(points_mm, distance_upper_bound=float(band.max()))
    far: Bools = distance > band
    return far if far.any() else np.ones(len(points_mm), dtype=np.bool_)
