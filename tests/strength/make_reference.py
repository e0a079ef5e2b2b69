"""Solve five shapes a second time, by other means, and write what came out to reference.json.

Second-order tetrahedra of scikit-fem on a mesh of their own, with the same springs and
pull; the stresses at the Gauss points are then fitted over the same distance as ours, at the
same places. Run it by hand after a change of shapes: `python tests/strength/make_reference.py`.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from itertools import pairwise, permutations, product
from pathlib import Path

import manifold3d
import numpy as np

POISSON = 0.35
STEP_MM = {"hook": 2.0, "l_bracket": 2.0, "gusset": 2.5, "tongue": 1.34, "slotted_panel": 1.7}


@dataclass(frozen=True)
class Shape:
    """Boxes put together and taken away, maybe a gusset (x from, x to, y from, y to, z from).

    The gusset fills what lies above the line z = z from + x - x from. Held at -x, pulled at +x.
    """

    boxes: tuple
    cuts: tuple = ()
    gusset: tuple | None = None
    force_n: tuple = (0.0, 0.0, -20.0)

    def body(self) -> manifold3d.Manifold:
        """Return the shape as a body."""
        made = manifold3d.Manifold()
        for low, high in self.boxes:
            made += _box(low, high)
        if self.gusset:
            x0, x1, y0, y1, z0 = self.gusset
            top = z0 + x1 - x0
            made += manifold3d.Manifold.hull_points(
                [[x, y, z] for y in (y0, y1) for x, z in ((x0, z0), (x0, top), (x1, top))]
            )
        for low, high in self.cuts:
            made -= _box(low, high)
        return made

    def inside(self, points):
        """Return which (3, n) points lie in the shape."""
        found = np.zeros(points.shape[1], dtype=bool)
        for low, high in self.boxes:
            found |= _within(points, low, high)
        if self.gusset:
            x0, x1, y0, y1, z0 = self.gusset
            found |= _within(points, (x0, y0, z0), (x1, y1, z0 + x1 - x0)) & (
                points[2] - z0 > points[0] - x0
            )
        for low, high in self.cuts:
            found &= ~_within(points, low, high)
        return found


SHAPES = {
    "hook": Shape(
        boxes=(
            ((0, 0, 0), (6, 8, 40)),
            ((0, 0, 8), (40, 8, 16)),
            ((34, 0, 8), (40, 8, 26)),
        )
    ),
    "l_bracket": Shape(boxes=(((0, 0, 0), (6, 16, 40)), ((0, 0, 0), (40, 16, 6)))),
    "gusset": Shape(
        boxes=(((0, 0, 0), (5, 20, 50)), ((0, 0, 45), (50, 20, 50))),
        gusset=(5, 35, 7.5, 12.5, 15),
        force_n=(0.0, 0.0, -100.0),
    ),
    "tongue": Shape(boxes=(((0, 0, 0), (40, 10, 4)),)),
    "slotted_panel": Shape(
        boxes=(((0, 0, 0), (50, 40, 5)),),
        cuts=tuple(((x, y, -1), (x + 4, y + 12, 6)) for x in (12, 24, 36) for y in (5, 23)),
    ),
}


def _box(low, high):
    size = [b - a for a, b in zip(low, high, strict=True)]
    return manifold3d.Manifold.cube(size).translate(list(low))


def _within(points, low, high):
    low, high = (np.array(corner, dtype=float)[:, None] for corner in (low, high))
    return np.all((points > low) & (points < high), axis=0)


def tetrahedra(shape: Shape, step_mm: float):
    """Return (3, n) nodes and (4, m) tetrahedra: bricks of a tensor grid cut in six."""
    bounds = [*shape.boxes, *shape.cuts]
    if shape.gusset:
        x0, x1, y0, y1, z0 = shape.gusset
        bounds.append(((x0, y0, z0), (x1, y1, z0 + x1 - x0)))
    low, high = (np.array(ends, dtype=float) for ends in zip(*shape.boxes, strict=True))
    lines = []
    for axis in range(3):
        planes = sorted({float(corner[axis]) for pair in bounds for corner in pair})
        planes = [x for x in planes if low[:, axis].min() <= x <= high[:, axis].max()]
        parts = [
            np.linspace(a, b, round((b - a) / step_mm + 0.49) + 1) for a, b in pairwise(planes)
        ]
        lines.append(np.unique(np.round(np.concatenate(parts), 9)))
    counts = [len(each) for each in lines]
    number = np.arange(np.prod(counts)).reshape(counts)
    points = np.stack([each.ravel() for each in np.meshgrid(*lines, indexing="ij")])
    corners = {
        step: number[tuple(slice(s, n - 1 + s) for s, n in zip(step, counts, strict=True))].ravel()
        for step in product((0, 1), repeat=3)
    }
    cells = []
    for order in permutations(range(3)):
        place, chain = [0, 0, 0], [corners[0, 0, 0]]
        for axis in order:
            place[axis] = 1
            chain.append(corners[tuple(place)])
        cells.append(np.stack(chain))
    cells = np.concatenate(cells, axis=1)
    cells = cells[:, shape.inside(points[:, cells].mean(axis=1))]
    used, cells = np.unique(cells, return_inverse=True)
    return np.ascontiguousarray(points[:, used]), np.ascontiguousarray(cells.reshape(4, -1))


def solve(shape: Shape, step_mm: float, *, across: float, along: float):
    """Return places (n, 3) and stresses (n, 3, 3) at Gauss points, for a modulus of 1 MPa.

    `across` and `along` are the springs of the held face in N/mm per mm2.
    """
    from scipy.sparse.linalg import LinearOperator, cg
    from skfem import (
        Basis,
        BilinearForm,
        ElementTetP2,
        ElementVector,
        FacetBasis,
        LinearForm,
        MeshTet,
    )
    from skfem.helpers import ddot, dot, eye, sym_grad, trace

    mesh = MeshTet(*tetrahedra(shape, step_mm))
    lame, shear = POISSON / ((1 + POISSON) * (1 - 2 * POISSON)), 1 / (2 * (1 + POISSON))

    def stress(strain):
        return lame * eye(trace(strain), 3) + 2 * shear * strain

    element = ElementVector(ElementTetP2())
    basis = Basis(mesh, element, intorder=2)
    ends = mesh.p[0].min(), mesh.p[0].max()
    held, pulled = (
        FacetBasis(
            mesh,
            element,
            facets=mesh.facets_satisfying(lambda x, e=end: np.abs(x[0] - e) < 1e-6),
            intorder=4,
        )
        for end in ends
    )
    matrix = BilinearForm(lambda u, v, w: ddot(stress(sym_grad(u)), sym_grad(v))).assemble(basis)
    matrix += BilinearForm(
        lambda u, v, w: along * dot(u, v) + (across - along) * u[0] * v[0]
    ).assemble(held)
    area = pulled.dx.sum()
    force = np.array(shape.force_n) / area
    right = LinearForm(lambda v, w: sum(force[k] * v[k] for k in range(3))).assemble(pulled)
    scale = 1 / matrix.diagonal()
    moves, failed = cg(
        matrix,
        right,
        rtol=1e-7,
        maxiter=6000,
        M=LinearOperator(matrix.shape, matvec=lambda x: scale * x),
    )
    assert not failed
    tensor = stress(sym_grad(basis.interpolate(moves)))
    places = np.asarray(basis.global_coordinates()).reshape(3, -1).T
    return places, np.asarray(tensor).reshape(3, 3, -1).transpose(2, 0, 1)


def fitted(places, tensors, points, reach_mm):
    """Return the tensors at points: a plane fitted with Gaussian weights, as ours are.

    reach_mm: (n,) distance of each fit. Where fewer than twelve of their points lie that
    near, the nearest twelve are taken.
    """
    from scipy.spatial import cKDTree

    tree = cKDTree(places)
    near = tree.query_ball_point(points, 2.0 * reach_mm)
    _, nearest = tree.query(points, k=12)
    result = np.empty((len(points), 3, 3))
    for row, found in enumerate(near):
        chosen = found if len(found) >= 12 else nearest[row]
        apart = (places[chosen] - points[row]) / reach_mm[row]
        weight = np.sqrt(np.exp(-(apart**2).sum(axis=1) / 2))
        terms = np.hstack([np.ones((len(chosen), 1)), apart]) * weight[:, None]
        values = tensors[chosen].reshape(-1, 9) * weight[:, None]
        result[row] = np.linalg.lstsq(terms, values, rcond=None)[0][0].reshape(3, 3)
    return result


def layer_tension(tensors, ups):
    """Return (k,): the largest tension across layers of each build direction."""
    return np.array([np.einsum("i,nij,j->n", up, tensors, up).max() for up in ups])


def factor(tensors, ups):
    """Return (k,): the safety factor at 50 MPa along layers, 25 across, 14.5 in shear."""
    principal = np.linalg.eigvalsh(tensors)[:, -1].max()
    found = []
    for up in ups:
        pull = tensors @ up
        normal = pull @ up
        shear = np.sqrt(np.maximum((pull**2).sum(axis=1) - normal**2, 0))
        joint = np.hypot(np.maximum(normal, 0) / 25, shear / 14.5).max()
        found.append(1 / max(joint, principal / 50))
    return np.array(found)


def directions():
    """Return (126, 3): the axes and the sphere of free directions."""
    from planner.strength.directions import fibonacci_sphere
    from planner.strength.faces import AXES

    return np.vstack([list(AXES.values()), fibonacci_sphere(120)])


def counted(field):
    """Return places, tensors and reach of our field at the surface, away from the hold."""
    from planner.strength.field import as_tensors

    used = np.flatnonzero(field.counts[: field.surface])
    return field.points_mm[used], as_tensors(field.stress_mpa[used]), field.reach_mm[used]


def question(name: str):
    """Return solid, load case and plastic of a shape: solid inside, 50 MPa, half across."""
    from planner.job.model import Face, LoadCase
    from planner.solid.model import Solid
    from planner.strength.material import Printed

    body = SHAPES[name].body()
    mesh = body.to_mesh64()
    solid = Solid(
        name=name,
        vertices_mm=np.array(mesh.vert_properties)[:, :3],
        triangles=np.array(mesh.tri_verts, dtype=np.int32),
        closed=True,
        volume_mm3=body.volume(),
        repairs=(),
        invented=0.0,
        digest=name,
    )
    plastic = Printed(
        material="plain", modulus_mpa=(2400.0, 2400.0), tensile_mpa=(50.0, 50.0), bond=(0.5, 0.5),
        sustained=(0.3, 0.3), service_c=50.0, shell_mm=1.2, infill=1.0, bead_mm=0.45,
    )  # fmt: skip
    case = LoadCase(
        force_n=SHAPES[name].force_n, on=Face(axis="+x"), held=Face(axis="-x"), sustained=False
    )
    return solid, case, plastic


def ours(name: str, *, most_bricks: int = 12_000):
    """Return our field of a shape."""
    from planner.strength.field import stress_field

    return stress_field(*question(name), most_bricks=most_bricks)


def reference(name: str, field, step_mm: float):
    """Return the reference's tensors at our surface points that count."""
    shape = SHAPES[name]
    at_back = [box for box in shape.boxes if box[0][0] == 0]
    low, high = (np.array(ends) for ends in zip(*at_back, strict=True))
    long_mm = float(np.linalg.norm((high.max(axis=0) - low.min(axis=0))[1:]))
    places, tensors = solve(shape, step_mm, across=100.0, along=0.1 / long_mm)
    return fitted(places, tensors, *counted(field)[::2])


def main() -> None:
    """Solve all five and write layer tension and factor for 126 directions."""
    ups = directions()
    found = {}
    for name in SHAPES:
        tensors = reference(name, ours(name), STEP_MM[name])
        found[name] = {
            "layer_tension_mpa": [round(float(x), 5) for x in layer_tension(tensors, ups)],
            "safety_factor": [round(float(x), 5) for x in factor(tensors, ups)],
        }
    path = Path(__file__).with_name("reference.json")
    path.write_text(json.dumps(found) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
