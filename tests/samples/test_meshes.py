"""The sample meshes: closed, of real size, as the drawing code makes them."""

from __future__ import annotations

import io
from pathlib import Path

import make_meshes
import manifold3d
import numpy as np
import pytest
import stl
import trimesh
from toolwall.catalogue import PARTS
from toolwall.stl import FACET

MESHES = Path(__file__).parents[2] / "samples" / "workshop" / "meshes"
NAMES = sorted(PARTS)


def corners_of(data: bytes) -> np.ndarray:
    """Triangles of a binary STL, shape (n, 3, 3), by its published layout."""
    return np.frombuffer(data, FACET, offset=84)["corners"].astype(np.float64)


def signed_volume(corners: np.ndarray) -> float:
    """Sum of the tetrahedra to the origin (divergence theorem)."""
    a, b, c = corners[:, 0], corners[:, 1], corners[:, 2]
    return float((a * np.cross(b, c)).sum() / 6)


@pytest.fixture(params=NAMES)
def data(request) -> bytes:
    return (MESHES / f"{request.param}.stl").read_bytes()


def test_there_are_enough_parts_and_they_stay_light():
    """At least 18 kinds, under 2 MB together, and no mesh that nobody draws."""
    files = sorted(MESHES.glob("*"))

    assert [file.name for file in files] == [f"{name}.stl" for name in NAMES]
    assert len(files) >= 18
    assert sum(file.stat().st_size for file in files) < 2_000_000


def test_header_is_that_of_a_binary_file(data):
    """Readers take a file that begins with 'solid' for text; the count gives the size."""
    count = int.from_bytes(data[80:84], "little")

    assert not data.startswith(b"solid")
    assert len(data) == 84 + 50 * count


def test_mesh_is_closed_and_faces_outward(data):
    """Validation: trimesh and the manifold kernel both call it one closed, outward body."""
    mesh = trimesh.load(io.BytesIO(data), file_type="stl")
    solid = manifold3d.Manifold(
        manifold3d.Mesh64(mesh.vertices.astype(np.float64), mesh.faces.astype(np.uint64))
    )

    assert mesh.is_watertight
    assert mesh.is_winding_consistent
    assert solid.status() == manifold3d.Error.NoError
    assert len(solid.decompose()) == 1
    assert solid.volume() == pytest.approx(mesh.volume, rel=1e-9)
    assert mesh.volume > 0


def test_volume_agrees_with_an_independent_reader(data, tmp_path):
    """Validation: numpy-stl reads the same volume; float32 corners give about 1e-6."""
    file = tmp_path / "part.stl"
    file.write_bytes(data)
    other = stl.mesh.Mesh.from_file(str(file), calculate_normals=False)

    volume = float(other.get_mass_properties()[0])
    assert volume == pytest.approx(signed_volume(corners_of(data)), rel=1e-4)


@pytest.mark.parametrize("name", NAMES)
def test_committed_mesh_is_what_the_drawing_gives(name):
    """Rounding to 1e-4 mm moves a face by half of that at most, plus float32 near 100 mm.

    Bytes may differ between processors, so size, volume and triangle count are compared.
    """
    solid = PARTS[name]()
    corners = corners_of((MESHES / f"{name}.stl").read_bytes())

    low, high = np.array(solid.bounding_box()).reshape(2, 3)
    assert len(corners) == solid.num_tri()
    assert corners.min(axis=(0, 1)) == pytest.approx(low, abs=1e-4)
    assert corners.max(axis=(0, 1)) == pytest.approx(high, abs=1e-4)
    assert signed_volume(corners) == pytest.approx(solid.volume(), abs=1e-4 * solid.surface_area())


def test_drawing_twice_gives_the_same_bytes():
    """Nothing depends on the clock, on chance or on the order of a set."""
    first, second = (make_meshes.stl_of("panel", PARTS["panel"]()) for _ in range(2))

    assert first == second


def test_sizes_are_those_of_things_on_a_wall(data):
    """Every part has a side of 10 mm or more and fits a bed of 170 mm."""
    corners = corners_of(data)
    size = corners.max(axis=(0, 1)) - corners.min(axis=(0, 1))

    assert 10 <= max(size) <= 170
    assert min(size) >= 2
