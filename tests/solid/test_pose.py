"""Turning, resting, tipping, leaning: against closed forms."""

from math import atan, cos, degrees, pi, radians, sin

import numpy as np
import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from planner.solid.pose import convex_hull, overhang_mm2, pose, rotation_to_up

AXES = [(1, 0, 0), (-1, 0, 0), (0, 1, 0), (0, -1, 0), (0, 0, 1), (0, 0, -1)]


@pytest.mark.parametrize("up", AXES)
def test_axis_directions_turn_by_whole_quarters(up):
    """Entries are 0, 1 and -1, exactly; determinant 1 (no mirror); `up` becomes +z."""
    rotation = rotation_to_up(up)

    assert set(np.unique(rotation)) <= {-1.0, 0.0, 1.0}
    assert np.linalg.det(rotation) == 1
    assert (rotation @ up == (0, 0, 1)).all()


def test_up_as_drawn_changes_nothing():
    assert (rotation_to_up((0, 0, 1)) == np.eye(3)).all()
    assert (rotation_to_up((0, 0, 2.5)) == np.eye(3)).all()


@example((0.0, 1.2e-7, -1.0))
@given(st.tuples(*[st.floats(-1, 1)] * 3).filter(lambda up: sum(p * p for p in up) > 1e-6))
def test_any_direction_becomes_up_by_a_true_rotation(up):
    rotation = rotation_to_up(up)

    assert rotation @ rotation.T == pytest.approx(np.eye(3), abs=1e-9)
    assert np.linalg.det(rotation) == pytest.approx(1, abs=1e-9)
    assert rotation @ np.array(up) == pytest.approx(
        [0, 0, np.linalg.norm(up)],
        abs=2e-9,  # directions within 1e-9 of an axis are snapped
    )


@pytest.mark.parametrize("up", [(0, 0, 0), (0, float("nan"), 1)])
def test_a_direction_without_length_is_no_direction(up):
    with pytest.raises(ValueError, match="expected a direction"):
        rotation_to_up(up)


@pytest.mark.parametrize(
    ("up", "size"),
    [((0, 0, 1), (10, 20, 30)), ((1, 0, 0), (30, 20, 10)), ((0, -1, 0), (10, 30, 20))],
)
def test_a_box_stands_on_the_plate_at_the_origin(shapes, up, size):
    """Size is turned with it; contact is its base; it tips at atan(half width / half height)."""
    posed = pose(shapes.solid(shapes.box((-7, 4, 100), (3, 24, 130))), up)

    assert posed.size_mm == pytest.approx(size)
    assert posed.vertices_mm.min(axis=0) == pytest.approx((0, 0, 0))
    assert posed.contact_mm2 == pytest.approx(size[0] * size[1])
    assert posed.overhang_mm2 == 0
    assert posed.tip_deg == pytest.approx(degrees(atan(min(size[:2]) / size[2])))
    assert posed.footprint.area_mm2 == pytest.approx(size[0] * size[1])
    assert posed.solid.vertices_mm @ posed.rotation.T - posed.vertices_mm == pytest.approx(
        np.broadcast_to(posed.vertices_mm[0] * 0, posed.vertices_mm.shape)
        + (posed.solid.vertices_mm @ posed.rotation.T).min(axis=0)
    )


def test_a_cone_tips_where_geometry_says(shapes):
    """Pyramid frustum to a point nearly: centroid of a cone lies at h / 4 above its base.

    Base: square lathe of radius r, inradius r cos(pi/4); the tip radius 1e-3 r moves the
    centroid by less than 1e-3 of h.
    """
    posed = pose(shapes.solid(shapes.lathe([20, 0.02], [0, 40], 4)))

    assert posed.tip_deg == pytest.approx(degrees(atan(20 * cos(pi / 4) / 10)), abs=0.05)
    assert pose(posed.solid, (0, 0, -1)).tip_deg == pytest.approx(0, abs=0.1)


def test_standing_on_an_edge_or_off_balance_tips_at_once(shapes):
    """A box on its edge has a hull without area; an L whose mass lies beyond its foot too."""
    edge = pose(shapes.solid(shapes.box((0, 0, 0), (10, 10, 30))), (1, 1, 0))
    foot, arm = shapes.box((0, 0, 0), (10, 10, 30)), shapes.box((0, 0, 20), (60, 10, 30))
    arm_out = pose(shapes.solid(shapes.merged(foot, arm)))

    assert edge.tip_deg == 0
    assert edge.contact_mm2 == 0
    assert arm_out.tip_deg == 0
    assert arm_out.contact_mm2 == pytest.approx(100)


def test_overhang_of_a_sphere_is_its_lower_cap(shapes):
    """Surface leaning more than a: cap of 2 pi R^2 (1 - sin a), by Archimedes' hat box.

    The lathe's rings are 180/levels deg apart, each facet as a whole above or below the
    angle: half a ring at the edge is the tolerance; contact takes the lowest rings away.
    """
    radius, levels = 30, 90
    mesh, _ = shapes.sphere(radius, sides=96, levels=levels)
    posed = pose(shapes.solid(mesh))
    for angle in (30, 45, 60):
        cap = 2 * pi * radius**2 * (1 - sin(radians(angle)))
        ring = 2 * pi * radius**2 * cos(radians(angle)) * pi / levels
        assert overhang_mm2(posed, angle) == pytest.approx(cap, abs=ring + posed.contact_mm2 + 4)
    assert posed.overhang_mm2 == overhang_mm2(posed, 45)


def test_exactly_the_angle_is_allowed_and_a_little_more_is_not(shapes):
    """A square funnel whose sides lean 45 deg: radius over the flats grows as the height."""
    flat = cos(pi / 4)
    leaning = shapes.solid(shapes.lathe([5 / flat, 15 / flat], [0, 10], 4))
    posed = pose(leaning)
    sides = 4 * (10 + 30) / 2 * 10 * 2**0.5

    assert posed.overhang_mm2 == 0
    assert overhang_mm2(posed, 44.9) == pytest.approx(sides)


def test_contact_is_what_the_plate_feels(shapes):
    """Projected area of downward surface in the band: a bevel of 0.1 x 0.01 mm counts flat.

    A sheet thinner than the band has its top in it too, which faces up and counts nothing.
    """
    bevelled = pose(shapes.solid(shapes.lathe([9.9, 10, 10], [0, 0.01, 5], 8)))
    sheet = pose(shapes.solid(shapes.box((0, 0, 0), (10, 10, 0.015))))

    assert bevelled.contact_mm2 == pytest.approx(4 * 100 * sin(pi / 4))
    assert sheet.contact_mm2 == pytest.approx(100)


def test_an_open_part_rests_and_tips_like_its_closed_shape(shapes):
    """A slit of 0.1 mm moves nothing: the centre of mass comes from the triangles."""
    vertices, triangles = shapes.box((0, 0, 0), (20, 30, 60))
    lid = np.flatnonzero(vertices[triangles][:, :, 2].min(axis=1) == 60)
    points = vertices[triangles].copy()
    points[lid, :, 2] += 0.1
    posed = pose(shapes.solid((points.reshape(-1, 3), np.arange(36).reshape(-1, 3))))

    assert not posed.solid.closed
    assert posed.contact_mm2 == pytest.approx(600)
    assert posed.tip_deg == pytest.approx(degrees(atan(20 / 60)), abs=0.1)


def test_a_bridge_counts_as_overhang_and_the_plate_does_not(shapes):
    legs = [shapes.box((0, 0, 0), (5, 10, 10)), shapes.box((25, 0, 0), (30, 10, 10))]
    deck = shapes.box((0, 0, 10), (30, 10, 14))
    posed = pose(shapes.solid(shapes.merged(*legs, deck)))

    assert posed.contact_mm2 == pytest.approx(100)
    # the deck's underside, 300 mm2, is one face: the legs only touch it
    assert posed.overhang_mm2 == pytest.approx(300)


def test_convex_hull_leaves_out_points_on_and_inside_edges():
    square = [(0, 0), (2, 0), (2, 2), (0, 2)]
    points = np.array([*square, (1, 0), (1, 1), (2, 1), (0, 0)], dtype=float)

    assert convex_hull(points) == square
    assert convex_hull(np.array([[1.0, 1], [1, 1]])) == [(1, 1)]
    assert len(convex_hull(np.array([[0.0, 0], [1, 1], [2, 2]]))) == 2
