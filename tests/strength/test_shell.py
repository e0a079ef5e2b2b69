"""Where a part is solid, and that small bricks go where the stress is."""

from __future__ import annotations

from dataclasses import replace

import manifold3d
import numpy as np
import pytest

from planner.strength.field import fields_for, survey
from planner.strength.orient import orient
from planner.strength.shell import shell_depth_mm, wall_share

cube = manifold3d.Manifold.cube


@pytest.fixture
def layered(sparse):
    """Return a plastic of 1.2 mm walls, 0.6 mm of bottom and 0.8 mm of top, a fifth inside."""
    return replace(sparse, solid_mm=(0.6, 0.8))


def test_walls_stand_and_solid_layers_lie(layered):
    """Upright sides have walls, top and bottom their layers; a slope whichever reaches deeper.

    At 30 degrees from lying: 1.2 sin 30 = 0.6 against 0.8 cos 30 = 0.69.
    """
    slope = [0, np.sin(np.radians(30)), np.cos(np.radians(30))]
    normals = np.array([[1, 0, 0], [0, 0, 1], [0, 0, -1], slope], dtype=float)

    depth = shell_depth_mm(normals, layered, np.array([0, 0, 1.0]))

    assert depth == pytest.approx([1.2, 0.8, 0.6, 0.8 * np.cos(np.radians(30))])
    assert shell_depth_mm(normals, layered, None) == pytest.approx([0.6] * 4)


def test_the_share_of_wall_follows_the_build_direction(solid_of, layered):
    """1 mm inside the side of a block is wall; 1 mm under its top is filling."""
    solid = solid_of(cube([20, 20, 20]))
    corners = solid.vertices_mm[solid.triangles]
    places = np.array([[1.0, 10, 10], [10.0, 10, 19]])
    middles = np.repeat(places[:, None], 8, axis=1)

    share = wall_share(corners, middles, np.full(2, 0.3), layered, np.array([0, 0, 1.0]))

    assert share[0] == pytest.approx(np.ones(8))
    assert share[1] == pytest.approx(np.zeros(8))


def test_thicker_layers_bear_more(solid_of, load, layered):
    """A flat bar bends less with 1.6 mm of solid layers than with 0.4 mm; walls alike."""
    bar = solid_of(cube([40, 20, 6]))
    thin, thick = (
        fields_for(
            survey(bar, [load([0, 0, -5])], replace(layered, solid_mm=(h, h)), most_bricks=2000),
            (0.0, 0.0, 1.0),
        )[0].moves_mm
        for h in (0.4, 1.6)
    )

    assert thick < 0.9 * thin


def test_what_is_recommended_is_solved_as_it_would_be_printed(solid_of, load, layered):
    """Its figures are those of its own walls and layers, not of the direction as given."""
    bar, case = solid_of(cube([40, 12, 6])), load([0, 0, -5])

    found = orient(bar, [case], layered, up=(1.0, 0, 0), most_bricks=1200)
    best = found.directions[0]
    alone = orient(bar, [case], layered, up=best.up, most_bricks=1200).as_given

    assert best.name != "+x"
    assert best.safety_factor == pytest.approx(alone.safety_factor, rel=1e-9)


def test_small_bricks_go_where_the_stress_is(solid_of, load, plastic):
    """A long bar with a notch near its end: bricks at the notch half as long as far from it."""
    bar = cube([90, 12, 6]) - cube([3, 20, 3]).translate([70, -4, 3])
    field = survey(solid_of(bar), [load([400, 0, 0])], plastic, most_bricks=3000)
    lines = field.stage.filled.lattice.lines_mm[0]

    edge = np.diff(lines)
    middle = (lines[1:] + lines[:-1]) / 2

    near, far = edge[np.abs(middle - 71.5) < 2].mean(), edge[np.abs(middle - 30) < 10].mean()
    assert far > 1.3 * near
    assert len(field.stage.filled.fill) < 1.1 * 3000


def test_only_walls_that_bear_the_load_count(solid_of, load, plastic):
    """A thick bar that carries, and a fin of 1 mm that does not: 6 mm, not 1 mm."""
    part = cube([40, 10, 6]) + cube([10, 1, 30]).translate([28, 4, 5])

    found = survey(solid_of(part), [load([0, 0, -40])], plastic, most_bricks=3000)

    assert found.wall_mm == pytest.approx(6.0, rel=0.02)
