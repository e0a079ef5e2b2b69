"""Shapes made on the spot, a plain plastic, and short ways to write loads."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest

from planner.job.model import Face, LoadCase
from planner.solid.model import Solid
from planner.strength.material import Printed

if TYPE_CHECKING:
    import manifold3d

PLASTIC = Printed(
    material="plain",
    modulus_mpa=(2400.0, 2400.0),
    tensile_mpa=(50.0, 50.0),
    bond=(0.5, 0.5),
    sustained=(0.3, 0.3),
    service_c=50.0,
    shell_mm=1.2,
    infill=1.0,
    bead_mm=0.45,
)


@pytest.fixture
def plastic():
    """Return 50 MPa along the layers, half across them, 2400 MPa modulus, solid."""
    return PLASTIC


@pytest.fixture
def sparse():
    """Return the same plastic behind walls of 1.2 mm, filled to a fifth."""
    return replace(PLASTIC, infill=0.2)


@pytest.fixture
def solid_of():
    """Return a function that makes a Solid of a manifold, turned by a matrix if given."""

    def make(body: manifold3d.Manifold, turn=None, name="part.stl"):
        mesh = body.to_mesh64()
        vertices = np.array(mesh.vert_properties)[:, :3]
        return Solid(
            name=name,
            vertices_mm=vertices if turn is None else vertices @ np.array(turn).T,
            triangles=np.array(mesh.tri_verts, dtype=np.int32),
            closed=True,
            volume_mm3=body.volume(),
            repairs=(),
            invented=0.0,
            digest="",
        )

    return make


@pytest.fixture
def load():
    """Return a function that makes a load case; a face is an axis or (lowest, highest)."""

    def face(given):
        return Face(axis=given) if isinstance(given, str) else Face(box_mm=given)

    def make(force, *, on="+x", held="-x", sustained=False):
        return LoadCase(
            force_n=tuple(float(x) for x in force),
            on=face(on),
            held=face(held),
            sustained=sustained,
            where="load.yaml:3",
        )

    return make
