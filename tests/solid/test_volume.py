"""Volume and centre of mass: closed forms, other libraries, and what may not change them."""

import numpy as np
import pytest
import stl
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.solid.kernel import as_manifold
from planner.solid.measure import centre_of_mass, signed_volume
from planner.solid.mend import make_solid
from planner.solid.read import read_solid

SINGLE = 3 * 2.0**-24 * 10
"""Relative error of a volume from single-precision corners: 2^-24 per coordinate, three of
them, times the ratio (size x area / volume) of the shapes here, at most 10."""


def test_volume_of_a_box_a_prism_and_a_stack_of_frusta(shapes):
    """Closed forms: abc; n/2 r^2 sin(2 pi/n) h; frusta h (A1 + A2 + sqrt(A1 A2)) / 3."""
    prism = 17 / 2 * 5**2 * np.sin(2 * np.pi / 17) * 12
    stack = ([4, 9, 6, 6], [0, 3, 5, 11], 11)

    assert shapes.solid(shapes.box((1, 2, 3), (11, 7, 5))).volume_mm3 == pytest.approx(100)
    assert shapes.solid(shapes.lathe([5, 5], [0, 12], 17)).volume_mm3 == pytest.approx(prism)
    assert shapes.solid(shapes.lathe(*stack)).volume_mm3 == pytest.approx(
        shapes.lathe_volume(*stack)
    )


def test_volume_of_a_corner_tetrahedron():
    """A right corner with legs a, b, c holds abc / 6; its centroid lies at (a, b, c) / 4."""
    vertices = np.array([[0.0, 0, 0], [6, 0, 0], [0, 8, 0], [0, 0, 10]])
    triangles = np.array([[0, 2, 1], [0, 1, 3], [0, 3, 2], [1, 2, 3]])

    assert signed_volume(vertices, triangles) == pytest.approx(80)
    assert centre_of_mass(vertices, triangles) == pytest.approx([1.5, 2.0, 2.5])


def test_volume_of_an_icosahedron():
    """5 (3 + sqrt 5) / 12 a^3 (Euclid XIII; corners from trimesh)."""
    mesh = trimesh.creation.icosahedron()
    mesh.apply_scale(20)
    edge = mesh.edges_unique_length[0]
    solid = make_solid(np.array(mesh.vertices), np.array(mesh.faces), name="i", file="i")

    assert solid.volume_mm3 == pytest.approx(5 * (3 + 5**0.5) / 12 * edge**3)


def test_volume_agrees_with_three_other_libraries(shapes, write):
    """Outside checks: numpy-stl get_mass_properties, trimesh and manifold3d on one file."""
    path = write(shapes.lathe([8, 20, 14, 3], [0, 4, 30, 41], 37))
    solid = read_solid(path)
    by_numpy_stl, centre, _ = stl.mesh.Mesh.from_file(str(path)).get_mass_properties()
    by_trimesh = trimesh.load_mesh(path)

    assert solid.volume_mm3 == pytest.approx(float(by_numpy_stl), rel=SINGLE)
    assert solid.volume_mm3 == pytest.approx(by_trimesh.volume, rel=1e-9)
    assert solid.volume_mm3 == pytest.approx(as_manifold(solid).volume(), rel=1e-9)
    ours = centre_of_mass(solid.vertices_mm, solid.triangles)
    assert ours == pytest.approx(np.asarray(by_trimesh.center_mass), rel=1e-9, abs=1e-9)
    assert ours == pytest.approx(np.asarray(centre), rel=1e-5, abs=1e-4)


BALL = trimesh.creation.icosphere(2)
MATRIX = st.lists(st.floats(-1, 1), min_size=4, max_size=4).filter(
    lambda q: sum(part * part for part in q) > 0.01
)


@settings(max_examples=40, deadline=None)
@given(
    radii=st.integers(0, 2**32 - 1),
    quaternion=MATRIX,
    shift=st.tuples(*[st.floats(-300, 300)] * 3),
)
def test_volume_survives_moving_shuffling_and_repeated_vertices(radii, quaternion, shift):
    """Turning, shifting, reordering triangles and unwelding corners leave volume and size.

    The shape is a ball of random radii: closed and star-shaped, so never self-crossing.
    """
    chance = np.random.default_rng(radii)
    ball = BALL.vertices * chance.uniform(8, 20, size=(len(BALL.vertices), 1))
    plain = make_solid(ball, np.array(BALL.faces), name="ball", file="ball")
    turn = trimesh.transformations.quaternion_matrix(quaternion)[:3, :3]
    moved = ball @ turn.T + np.array(shift)
    order = chance.permutation(len(BALL.faces))
    rolled = [np.roll(row, chance.integers(3)) for row in BALL.faces[order]]
    corners = moved[np.array(rolled)].reshape(-1, 3)
    other = make_solid(corners, np.arange(len(corners)).reshape(-1, 3), name="ball", file="ball")

    assert other.closed
    assert not other.repairs
    assert len(other.vertices_mm) == len(ball)
    assert other.volume_mm3 == pytest.approx(plain.volume_mm3, rel=1e-6)
    assert other.bounds_mm == pytest.approx(
        np.array([moved.min(axis=0), moved.max(axis=0)]), abs=1e-3
    )


def test_digest_depends_on_the_shape_alone(shapes, write):
    """Name and file format leave the digest; a shift of 2 nm in one corner changes it."""
    vertices, triangles = shapes.box((0, 0, 0), (10, 20, 30))
    plain = make_solid(vertices, triangles, name="a", file="a.stl")
    nudged = vertices.copy()
    nudged[7] += 2e-6
    text = stl.mesh.Mesh(np.zeros(12, dtype=stl.mesh.Mesh.dtype))
    text.vectors[:] = vertices[triangles]
    path = write(b"", "text.stl")
    text.save(str(path), mode=stl.Mode.ASCII)

    assert plain.digest == make_solid(vertices, triangles, name="b", file="b.obj").digest
    assert plain.digest != make_solid(nudged, triangles, name="a", file="a.stl").digest
    assert read_solid(path).digest == read_solid(write((vertices, triangles))).digest
