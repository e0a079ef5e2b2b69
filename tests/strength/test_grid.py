"""The grid fits the part: turned with it, its planes on the part's, its filling the volume."""

from __future__ import annotations

import manifold3d
import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from planner.strength.grid import fitted_grid, main_frame
from planner.strength.occupancy import octant_fill
from planner.strength.surface import spread
from planner.strength.thickness import measured_walls


def step():
    """Return a bar with a step: 30 x 10 x 4 and on it 10 x 10 x 3."""
    return manifold3d.Manifold.cube([30, 10, 4]) + manifold3d.Manifold.cube([10, 10, 7])


def filled_mm3(solid, grid):
    x, y, z = grid.widths_mm
    bricks = x[:, None, None] * y[:, None] * z
    return (octant_fill(solid, grid).mean(axis=3) * bricks).sum()


@pytest.mark.parametrize("angles", [(0, 0, 0), (17, 0, 0), (10, 45, 30), (90, 0, 0)])
def test_the_grid_turns_with_the_part(solid_of, angles):
    """Seen from the grid the part lies along the axes, so its planes cut it exactly."""
    turn = Rotation.from_euler("xyz", angles, degrees=True).as_matrix()
    solid = solid_of(step(), turn)

    frame = main_frame(solid)
    grid = fitted_grid(solid, frame, 1.5)

    assert frame @ frame.T == pytest.approx(np.eye(3), abs=1e-9)
    assert np.linalg.det(frame) == pytest.approx(1.0)
    assert np.sort(np.abs(frame @ turn).ravel())[-3:] == pytest.approx(np.ones(3), abs=1e-6)
    assert filled_mm3(solid, grid) == pytest.approx(30 * 10 * 4 + 10 * 10 * 3, rel=1e-9)


def test_planes_of_the_part_are_planes_of_the_grid(solid_of):
    """The step at x = 10 and z = 4, neither a multiple of the brick."""
    solid = solid_of(step())

    x, _, z = fitted_grid(solid, np.eye(3), 1.7).lines_mm

    assert np.abs(x - 10).min() < 1e-9
    assert np.abs(z - 4).min() < 1e-9
    assert max(np.diff(x).max(), np.diff(z).max()) <= 1.7 * 1.05


def test_a_round_body_is_filled_by_volume(solid_of):
    """64 samples per brick put a ball of 16 bricks across within 0.5 % of its own volume."""
    ball = manifold3d.Manifold.sphere(8, 64)
    solid = solid_of(ball)

    assert filled_mm3(solid, fitted_grid(solid, np.eye(3), 1.0)) == pytest.approx(
        ball.volume(), rel=5e-3
    )


@pytest.mark.parametrize("axes", [(0, 1, 2), (1, 2, 0), (2, 0, 1)])
def test_cuts_may_run_along_any_axis(solid_of, axes):
    """The part's least side lies along each axis in turn; the filling follows."""
    solid = solid_of(step(), np.eye(3)[list(axes)])
    grid = fitted_grid(solid, np.eye(3), 1.3)

    assert filled_mm3(solid, grid) == pytest.approx(1500, rel=1e-9)


def test_points_stand_for_the_whole_surface():
    """Area, and the middle of the area, of a slim triangle come out exactly."""
    corners = np.array([[[0.0, 0, 0], [40, 0, 0], [3, 5, 2]]])

    points = spread(corners, 0.7)

    area = np.linalg.norm(np.cross(corners[0, 1], corners[0, 2])) / 2
    assert points.area_mm2.sum() == pytest.approx(area)
    middle = points.area_mm2 @ points.points_mm / area
    assert middle == pytest.approx(corners[0].mean(axis=0))


def test_thickness_is_that_of_the_thin_walls(solid_of):
    """A box of 2 mm walls with a thick foot: a tenth of the material is at most 2 mm."""
    box = manifold3d.Manifold.cube([30, 30, 20]) - manifold3d.Manifold.cube([26, 26, 20]).translate(
        [2, 2, 6]
    )

    thin = measured_walls(solid_of(box), np.eye(3)).thinnest_mm()

    assert thin == pytest.approx(2.0, rel=1e-3)
