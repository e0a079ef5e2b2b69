"""Conjugate gradients, made quick by ever coarser grids of the same part (multigrid).

The coarse grids join bricks two by two by two. Unlike a factorisation this needs memory in
proportion to the part, and some tens of steps whatever its size.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from scipy.sparse import csr_array
from scipy.sparse.linalg import splu

from planner.strength.brick import CORNERS, shape, stiffness
from planner.strength.lattice import Lattice

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Ints = NDArray[np.int64]

SMALL = 500
"""Nodes that are few enough to be solved outright."""

_STEPS = 2
"""Degree of the Chebyshev smoother before and after each coarse step."""

TOLERANCE = 1e-4
"""Force left over, as a share of all force, at which the equations count as solved: measured on
a bin and a bracket, strains are then right to 3e-6 of the largest."""

_BATCH = 4000

_LOW = 0.12
"""The smoother takes care of eigenvalues from this share of the largest (invented)."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Springs:
    """Points that are held by springs: (p, 3) places in mm, (p, 3, 3) stiffness in N/mm."""

    points_mm: Floats
    stiffness_n_mm: Floats


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Level:
    matrix: Any
    inverse: Any
    top: float
    down: Any


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class System:
    """Equations made ready, so that several loads on the same part cost one preparation."""

    lattice: Lattice
    matrix: Any
    cycle: Any

    def moves_mm(
        self, forces_n: Floats, *, tolerance: float = TOLERANCE, most: int = 400
    ) -> tuple[Floats, int]:
        """Return the moves (m, 3) under (m, 3) node forces, for a modulus of 1 MPa.

        The second value is the number of steps it took, or -1 if `most` were not enough.
        """
        moves, steps = _conjugate(self.matrix, forces_n.ravel(), self.cycle, tolerance, most)
        return moves.reshape(-1, 3), steps


def prepared(lattice: Lattice, weights: Floats, springs: Springs) -> System:
    """Set up the equations; weights: (n, 8) share of full stiffness per octant."""
    made = _with_springs(lattice, weights, springs)
    matrix = lattice.matrix(made)
    return System(lattice=lattice, matrix=matrix, cycle=_cycle(_levels(lattice, made, matrix)))


def _with_springs(lattice: Lattice, weights: Floats, springs: Springs) -> Floats:
    made = stiffness(lattice.sizes_mm, weights)
    brick, within = lattice.find(springs.points_mm)
    corners = shape(within)
    pairs = np.einsum("pi,pab,pj->piajb", corners, springs.stiffness_n_mm, corners)
    held, which = np.unique(brick, return_inverse=True)
    added = np.zeros((len(held), 24, 24))
    np.add.at(added, which, pairs.reshape(-1, 24, 24))
    made[held] += added
    return made


def _levels(lattice: Lattice, made: Floats, matrix: Any) -> list[_Level]:
    levels: list[_Level] = []
    matrix = matrix.astype(np.float32)
    while lattice.node_count > SMALL:
        coarse, joined = _coarser(lattice, made)
        inverse = np.linalg.inv(_diagonal(matrix)).astype(np.float32)
        levels.append(
            _Level(
                matrix=matrix,
                inverse=inverse,
                top=_largest(matrix, inverse),
                down=_interpolation(lattice, coarse),
            )
        )
        lattice, made = coarse, joined
        matrix = lattice.matrix(made, np.float32)
    factors = splu(matrix.tocsc().astype(np.float64))
    levels.append(_Level(matrix=factors, inverse=np.empty(0), top=0.0, down=None))
    return levels


def _coarser(lattice: Lattice, made: Floats) -> tuple[Lattice, Floats]:
    """Join bricks two by two by two; each hands up its stiffness against the larger's corners.

    That is the Galerkin product brick by brick, so the coarse equations are the fine ones
    with the moves between coarse nodes held straight.
    """
    parents, which = np.unique(lattice.cell // 2, axis=0, return_inverse=True)
    which = which.ravel()
    x, y, z = (
        each[::2] if len(each) % 2 else np.append(each[::2], 2 * each[-1] - each[-2])
        for each in lattice.lines_mm
    )
    coarse = Lattice(lines_mm=(x, y, z), cell=parents)
    size = coarse.sizes_mm[which]
    low = (lattice.lowest_mm - coarse.lowest_mm[which]) / size
    corners = low[:, None] + CORNERS[None] * (lattice.sizes_mm / size)[:, None]
    joined = np.zeros((len(parents), 24, 24))
    for start in range(0, len(which), _BATCH):
        piece = slice(start, start + _BATCH)
        weights = shape(corners[piece].reshape(-1, 3)).reshape(-1, 8, 8)
        hand = np.einsum("nij,ab->niajb", weights, np.eye(3)).reshape(-1, 24, 24)
        np.add.at(joined, which[piece], hand.transpose(0, 2, 1) @ made[piece] @ hand)
    return coarse, joined


def _interpolation(fine: Lattice, coarse: Lattice) -> Any:
    """Return (fine nodes, coarse nodes): linear weights, by distance along each axis."""
    _, ny, nz = (len(lines) for lines in coarse.lines_mm)
    key = coarse.node_place @ np.array([ny * nz, nz, 1])
    rows, columns, values = [], [], []
    place = fine.node_place
    for corner in range(8):
        steps = np.array([corner >> 2 & 1, corner >> 1 & 1, corner & 1])
        share = np.ones(fine.node_count)
        for axis in range(3):
            at = fine.lines_mm[axis][place[:, axis]]
            low = coarse.lines_mm[axis][place[:, axis] // 2]
            high = coarse.lines_mm[axis][
                np.minimum(place[:, axis] // 2 + 1, len(coarse.lines_mm[axis]) - 1)
            ]
            part = (at - low) / np.where(high > low, high - low, 1.0)
            share = share * (part if steps[axis] else 1.0 - part)
        used = np.flatnonzero(share > 1e-12)
        wanted = (place[used] // 2 + steps) @ np.array([ny * nz, nz, 1])
        rows.append(used)
        columns.append(np.searchsorted(key, wanted))
        values.append(share[used])
    return csr_array(
        (
            np.concatenate(values).astype(np.float32),
            (np.concatenate(rows), np.concatenate(columns)),
        ),
        shape=(fine.node_count, coarse.node_count),
    )


def _diagonal(matrix: Any) -> Floats:
    rows = np.repeat(np.arange(len(matrix.indptr) - 1), np.diff(matrix.indptr))
    own = matrix.indices == rows
    return np.asarray(matrix.data[own], dtype=np.float64)


def _largest(matrix: Any, inverse: Any) -> float:
    """Return more than the largest eigenvalue of inverse diagonal x matrix (power method).

    The smoother must not meet an eigenvalue beyond it, so a fifth is added; the vector to
    begin with is drawn with a fixed seed.
    """
    vector = np.random.default_rng(0).standard_normal(matrix.shape[0]).astype(np.float32)
    size = 1.0
    for _ in range(20):
        vector = vector / np.float32(np.linalg.norm(vector))
        vector = np.einsum("nij,nj->ni", inverse, (matrix @ vector).reshape(-1, 3)).ravel()
        size = float(np.linalg.norm(vector))
    return 1.2 * size


def _cycle(levels: list[_Level]) -> Any:
    def run(depth: int, right: Any) -> Any:
        level = levels[depth]
        if level.down is None:
            return level.matrix.solve(right.astype(np.float64)).astype(np.float32)
        guess = _smooth(level, right, None)
        rest = (right - level.matrix @ guess).reshape(-1, 3)
        lower = run(depth + 1, (level.down.T @ rest).ravel())
        guess = guess + (level.down @ lower.reshape(-1, 3)).ravel()
        return _smooth(level, right, guess)

    def apply(right: Floats) -> Floats:
        size = max(float(np.abs(right).max()), 1e-300)  # kept within the range of float32
        result: Floats = run(0, (right / size).astype(np.float32)).astype(np.float64) * size
        return result

    return apply


def _smooth(level: _Level, right: Any, guess: Any) -> Any:
    """Chebyshev iteration (Saad, Iterative Methods, 2nd ed., algorithm 12.1, from memory)."""
    middle, half = level.top * (1 + _LOW) / 2, level.top * (1 - _LOW) / 2
    sigma = middle / half
    rho = 1 / sigma
    rest = right if guess is None else right - level.matrix @ guess
    step = _scaled(level, rest) / np.float32(middle)
    guess = step if guess is None else guess + step
    for _ in range(_STEPS - 1):
        rest = right - level.matrix @ guess
        following = 1 / (2 * sigma - rho)
        step = np.float32(following * rho) * step + np.float32(2 * following / half) * _scaled(
            level, rest
        )
        guess = guess + step
        rho = following
    return guess


def _scaled(level: _Level, rest: Any) -> Any:
    return np.einsum("nij,nj->ni", level.inverse, rest.reshape(-1, 3)).ravel()


def _conjugate(
    matrix: Any, right: Floats, precondition: Any, tolerance: float, most: int
) -> tuple[Floats, int]:
    """Conjugate gradients in the flexible form (Notay 2000), for a rounded preconditioner."""
    wanted = tolerance**2 * _dot(right, right)
    moves = np.zeros_like(right)
    rest = right.copy()
    direction = np.zeros_like(right)
    before = 1.0
    earlier = rest
    for step in range(1, most + 1):
        scaled = precondition(rest)
        gain = _dot(rest, scaled)
        if step > 1:
            direction *= max(0.0, (gain - _dot(earlier, scaled)) / before)
        direction += scaled
        image = matrix @ direction
        length = gain / _dot(direction, image)
        moves += length * direction
        earlier, before = rest, gain
        rest = rest - length * image
        if _dot(rest, rest) <= wanted:
            return moves, step
    return moves, -1


def _dot(one: Floats, other: Floats) -> float:
    """Scalar product without the linear algebra library, whose threads get in each other's way."""
    return float(np.einsum("i,i->", one, other))
