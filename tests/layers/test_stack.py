"""How many layers a height makes, and where they are cut."""

from __future__ import annotations

import numpy as np
import pytest
from manifold3d import Manifold

from planner.errors import InputError
from planner.layers.alike import groups
from planner.layers.stack import stack

# height, first layer, layer, number of layers: those whose middle is under the top.
COUNTS = [
    (20.0, 0.2, 0.2, 100),
    (20.09, 0.2, 0.2, 100),  # middle of the 101st: 20.1
    (20.1, 0.2, 0.2, 100),  # on the top is outside
    (20.11, 0.2, 0.2, 101),
    (20.0, 0.3, 0.2, 99),  # middle of the 100th: 0.3 + 98.5 x 0.2 = 20.0
    (0.11, 0.2, 0.2, 1),
    (0.29, 0.2, 0.2, 1),
    (0.31, 0.2, 0.2, 2),
    (2.0, 0.2, 0.3, 7),
]


@pytest.mark.parametrize("case", COUNTS)
def test_layers_have_their_middle_in_the_part(posed, settings, case):
    """Counted by hand; the top of the last layer is within half a layer of the drawn top."""
    height, first, layer, count = case
    levels = stack(
        posed(Manifold.cube((5, 5, height))), settings(first_layer_mm=first, layer_mm=layer)
    )

    assert len(levels.top_mm) == count
    assert levels.thick_mm[0] == first
    assert levels.top_mm[-1] == pytest.approx(np.cumsum(levels.thick_mm)[-1])
    assert abs(levels.top_mm[-1] - height) <= max(first, layer) / 2 + 1e-9
    assert np.all(levels.cut_mm < height)


def test_planes_keep_off_vertices(posed, settings):
    """A step at 1.1 mm lies in the middle of a layer; the plane moves by under 2 micrometres."""
    step = Manifold.cube((9, 9, 1.1)) + Manifold.cube((4, 4, 3))

    levels = stack(posed(step), settings())

    assert abs(levels.cut_mm[5] - 1.1) == pytest.approx(1.7e-3, abs=1e-9)
    assert levels.cut_mm[4] == pytest.approx(0.9, abs=1e-12)


@pytest.mark.parametrize("height", [0.09, 30_000.0])
def test_a_part_in_the_wrong_unit_is_refused(posed, settings, height):
    """Too flat for one layer, or 150 000 of them: one sentence that names the mesh."""
    with pytest.raises(InputError, match=r"body\.stl.*check the unit"):
        stack(posed(Manifold.cube((5, 5, height))), settings())


def test_layers_are_alike_between_upright_walls_only():
    """A block under a cone: the block's layers are one group, each cone layer its own."""
    body = Manifold.cube((20, 20, 2)).translate((-10, -10, 0)) + Manifold.cylinder(
        3, 5, 2, 32
    ).translate((0, 0, 2))
    mesh = body.to_mesh64()

    found = groups(
        np.asarray(mesh.vert_properties)[:, :3], np.asarray(mesh.tri_verts), np.arange(0.5, 5)
    )

    assert found.tolist() == [0, 0, 1, 2, 3]
