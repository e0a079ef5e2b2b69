"""Silhouettes of known area, with their holes, that never lose area."""

from math import pi, sin

import manifold3d
import numpy as np
import pytest
import shapely

from planner.solid.footprint import silhouette
from planner.solid.kernel import Region, build, surface
from planner.solid.model import Footprint
from planner.solid.pose import pose


def polygon_of(footprint):
    return shapely.union_all([shapely.Polygon(o, holes) for o, *holes in footprint.polygons_mm])


def ring_of(outer, inner, height, sides):
    """Return a ring round (0, 0): n-sided cylinders of manifold3d, one less the other."""
    bore = manifold3d.Manifold.cylinder(height + 2, inner, inner, sides).translate((0, 0, -1))
    return surface(manifold3d.Manifold.cylinder(height, outer, outer, sides) - bore)


def test_an_l_shape(shapes):
    """Two boxes that overlap in a corner: 40 x 10 + 30 x 10; six corners, none simplified."""
    mesh = shapes.merged(shapes.box((0, 0, 0), (40, 10, 5)), shapes.box((0, 0, 0), (10, 40, 5)))
    footprint = pose(shapes.solid(mesh)).footprint

    assert footprint.area_mm2 == pytest.approx(700)
    assert len(footprint.polygons_mm) == 1
    assert len(footprint.polygons_mm[0][0]) == 6


def test_a_ring_keeps_its_hole(shapes):
    """24-sided rings: area n/2 (R^2 - r^2) sin(2 pi / n); outer runs left, hole right."""
    footprint = pose(shapes.solid(ring_of(30, 20, 10, 24))).footprint
    outer, hole = footprint.polygons_mm[0]

    assert footprint.area_mm2 == pytest.approx(12 * (30**2 - 20**2) * sin(pi / 12))
    assert Footprint(polygons_mm=((outer,),)).area_mm2 > 0
    assert Footprint(polygons_mm=((hole,),)).area_mm2 < 0
    assert not (outer[0] == outer[-1]).all()


def test_a_torus_lying_and_standing(shapes):
    """Flat: a ring pi ((R + r)^2 - (R - r)^2) = 4 pi R r; on edge: a stadium without hole.

    256 facets: area short by (2 pi / n)^2 / 6 = 1e-4; grown by at most 0.01 mm along 2 x 2 pi R.
    """
    section = Region.circle(5, 256).translate((20, 0))
    solid = shapes.solid(surface(manifold3d.Manifold.revolve(section, 256)))
    lying = pose(solid).footprint.area_mm2
    standing = pose(solid, (1, 0, 0)).footprint

    assert lying == pytest.approx(4 * pi * 20 * 5, rel=2e-4, abs=0.01 * 4 * pi * 20)
    assert standing.area_mm2 == pytest.approx(
        40 * 10 + pi * 25, rel=2e-4, abs=0.01 * (80 + 10 * pi)
    )
    assert len(standing.polygons_mm) == 1
    assert len(standing.polygons_mm[0]) == 1


def test_a_through_hole_covered_by_a_lid_is_no_hole_from_above(shapes):
    vertices, triangles = ring_of(30, 20, 10, 24)
    lid = shapes.box((-25, -25, 10), (25, 25, 12))
    footprint = pose(shapes.solid(shapes.merged((vertices, triangles), lid))).footprint

    assert all(len(rings) == 1 for rings in footprint.polygons_mm)


@pytest.mark.parametrize("sides", [97, 400, 2000])
def test_a_fine_outline_never_loses_area_and_stays_within_a_hundredth(shapes, sides):
    """Outside check: shapely's own polygon of the same corners, holes included."""
    vertices, triangles = ring_of(30, 20, 10, sides)
    solid = shapes.solid((vertices, triangles))
    posed = pose(solid)
    shift = posed.vertices_mm[0, :2] - vertices[0, :2]
    turn = 2 * pi * np.arange(sides) / sides
    circle = np.stack([np.cos(turn), np.sin(turn)], axis=1)
    true = shapely.Polygon(30 * circle + shift, [20 * circle[::-1] + shift])
    found = polygon_of(posed.footprint)

    assert found.covers(true.buffer(-1e-6))
    assert shapely.hausdorff_distance(true, found, densify=0.1) <= 0.01
    assert shapely.get_num_coordinates(found) < 700


def test_projected_triangles_agree_with_the_projected_body(shapes):
    """The way of open meshes and the way of closed ones, on one shape that has both."""
    body = build(*ring_of(30, 20, 10, 60)).rotate((30, 20, 10))
    vertices, triangles = surface(body)
    closed = silhouette(vertices, triangles, closed=True)
    loose = silhouette(vertices, triangles, closed=False)
    other = shapely.union_all(shapely.polygons(vertices[triangles][:, :, :2]), grid_size=1e-9)

    assert loose.area_mm2 == pytest.approx(closed.area_mm2, rel=1e-4)
    assert closed.area_mm2 == pytest.approx(other.area, abs=0.01 * other.length)


def test_equal_solids_give_equal_rings(shapes):
    first = pose(shapes.solid(ring_of(30, 20, 10, 48))).footprint
    again = pose(shapes.solid(ring_of(30, 20, 10, 48))).footprint
    flat = [ring.tolist() for rings in first.polygons_mm for ring in rings]

    assert flat == [ring.tolist() for rings in again.polygons_mm for ring in rings]
