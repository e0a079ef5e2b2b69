"""Make all triangles of a body face the same way, and tell bodies apart."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from planner.solid.linked import components
from planner.solid.measure import cone_volumes, middle

if TYPE_CHECKING:
    from planner.solid.model import Floats, Indices
    from planner.solid.weld import Edges


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Bodies:
    """`body` is (t,): the number of the connected body of each triangle, from 0.

    `turned` counts triangles that were turned to agree with their neighbours. A surface with
    one side only (a Moebius strip) keeps edges that disagree whatever is turned.
    """

    triangles: Indices
    body: Indices
    count: int
    turned: int


def agree(triangles: Indices, edges: Edges) -> Bodies:
    """Turn the minority of each body so that neighbours run their common edge both ways.

    Each triangle stands twice in a graph, as it is and turned; neighbours are linked in the
    states that agree. A body's two components are then its two orientations.
    """
    count = len(triangles)
    left, right, clash = _neighbours(edges)
    state = components(
        2 * count,
        np.concatenate([left, left + count]),
        np.concatenate([right + count * clash, right + count * (1 - clash)]),
    )
    as_is, turned = state[:count], state[count:]
    name, body = np.unique(np.minimum(as_is, turned), return_inverse=True)
    votes = np.bincount(body, weights=np.where(as_is == name[body], 1, -1))
    turn = (as_is == name[body]) != (votes[body] >= 0)
    return Bodies(
        triangles=np.where(turn[:, None], triangles[:, ::-1], triangles).astype(np.int32),
        body=body.astype(np.int32),
        count=len(name),
        turned=int(turn.sum()),
    )


def body_volumes(vertices: Floats, bodies: Bodies) -> Floats:
    """Return (bodies,): the signed volume of each."""
    cones = cone_volumes(vertices, bodies.triangles, middle(vertices))
    return np.bincount(bodies.body, weights=cones, minlength=bodies.count).astype(np.float64)


def _neighbours(edges: Edges) -> tuple[Indices, Indices, Indices]:
    """Return, per edge used twice, its two triangles and 1 where both run it one way."""
    sides = edges.of_triangle.ravel()
    order = np.argsort(sides, kind="stable")
    twice = edges.uses[sides[order]] == 2
    pairs = order[twice].reshape(-1, 2)
    clash = (edges.balance[sides[pairs[:, 0]]] != 0).astype(np.int64)
    return pairs[:, 0] // 3, pairs[:, 1] // 3, clash
