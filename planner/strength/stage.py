"""A part on one grid: filled, held, and solved for its loads, in the frame of the grid."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from planner.strength.brick import elasticity, strain_inside
from planner.strength.case import fill_grid, hold, load_case, print_bricks
from planner.strength.recover import fitted, surface_places
from planner.strength.solver import TOLERANCE, prepared

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from planner.job.model import Face, LoadCase
    from planner.solid.model import Solid
    from planner.strength.case import Filled
    from planner.strength.grid import Grid
    from planner.strength.material import Printed
    from planner.strength.recover import Places
    from planner.strength.solver import Springs

    Floats = NDArray[np.float64]

ROUGHLY = 1e-3
"""Force left over at which a coarse look counts as solved."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Stage:
    """A part in a grid, with the places at its surface, and the springs of each held face."""

    solid: Solid
    cases: tuple[LoadCase, ...]
    material: Printed
    filled: Filled
    places: Places
    springs: dict[Face, Springs]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Answer:
    """One load case solved, in the grid frame.

    at_surface_mpa (p, 6) and inside_mpa (n, 6): stress in the plastic, as xx yy zz yz zx xy;
    wall (n,): share of wall in each brick; most_mm: the largest move for a modulus of 1 MPa;
    steps it took, -1 if they were not enough.
    """

    at_surface_mpa: Floats
    inside_mpa: Floats
    wall: Floats
    most_mm: float
    steps: int


def on_grid(solid: Solid, cases: Sequence[LoadCase], material: Printed, grid: Grid) -> Stage:
    """Put a part on a grid; raises InputError for what is not held or falls between bricks."""
    filled = fill_grid(solid, grid, material.bead_mm)
    springs: dict[Face, Springs] = {}
    for case in cases:
        if case.held not in springs:
            springs[case.held] = hold(solid, case, filled)
    return Stage(
        solid=solid,
        cases=tuple(cases),
        material=material,
        filled=filled,
        places=surface_places(solid, filled, material.bead_mm),
        springs=springs,
    )


def solve_stage(stage: Stage, up: Floats | None, *, tolerance: float = TOLERANCE) -> list[Answer]:
    """Solve every load case of a part printed with `up` away from the plate (part frame).

    None takes walls and solid layers as deep as the thinner of them. Cases held alike share
    their equations.
    """
    filled, lattice = stage.filled, stage.filled.lattice
    bricks = print_bricks(stage.solid, filled, stage.material, up)
    moves = np.empty((len(stage.cases), lattice.node_count, 3))
    steps = [0] * len(stage.cases)
    sizes = np.empty(len(stage.cases))
    for face, springs in stage.springs.items():
        system = prepared(lattice, bricks.weights, springs)
        for number in [n for n, case in enumerate(stage.cases) if case.held == face]:
            forces = load_case(stage.solid, stage.cases[number], filled, bricks, stage.material)
            sizes[number] = size_n = float(np.linalg.norm(forces))
            # Solved for a size of 1, so that twice the force is twice the stress to the last digit.
            moves[number], steps[number] = system.moves_mm(forces / size_n, tolerance=tolerance)
    corners = moves[:, lattice.nodes].reshape(len(moves), -1, 24)
    mean, slope = strain_inside(lattice.sizes_mm, bricks.weights, filled.fill, corners)
    law = elasticity()
    stress, slopes = mean @ law.T, np.einsum("ij,cnja->cnia", law, slope)
    at_surface = fitted(filled, stage.places, stress, slopes)
    wall = np.einsum("nq,nq->n", filled.fill, bricks.wall) / filled.fill.sum(axis=1)
    return [
        Answer(
            at_surface_mpa=size_n * at_surface[number],
            inside_mpa=size_n * stress[number],
            wall=wall,
            most_mm=size_n * float(np.linalg.norm(moves[number], axis=1).max()),
            steps=steps[number],
        )
        for number, size_n in enumerate(sizes.tolist())
    ]
