"""Areas of cuts: closed forms, another library, planes that meet a face, open meshes."""

from math import pi, sin

import numpy as np
import pytest
import shapely
import trimesh

from planner.solid.chain import outlines, region_of, winding_area
from planner.solid.cut import areas_mm2, cut, vertex_levels
from planner.solid.levels import off_levels
from planner.solid.pose import pose


def test_cuts_of_a_stack_of_frusta(shapes):
    """Similar polygons: the radius is linear in height, A = n/2 r^2 sin(2 pi / n)."""
    posed = pose(shapes.solid(shapes.lathe([4, 10, 6], [0, 12, 20], 7)))
    heights = np.array([1.0, 7.7, 11.9, 13.3, 19.0])
    radius = np.interp(heights, [0, 12, 20], [4, 10, 6])

    assert areas_mm2(cut(posed, heights)) == pytest.approx(3.5 * radius**2 * sin(2 * pi / 7))


def test_a_plane_in_a_face_is_read_just_beside_it(shapes):
    """A wide foot under a narrow post: at the step the cut is the post's, at 0 the foot's."""
    foot, post = shapes.box((0, 0, 0), (40, 40, 10)), shapes.box((10, 10, 10), (30, 30, 25))
    posed = pose(shapes.solid(shapes.merged(foot, post)))

    assert areas_mm2(cut(posed, np.array([0.0, 5, 10, 25]))) == pytest.approx(
        [1600, 1600, 400, 400]
    )


def test_beyond_the_part_there_is_nothing(shapes):
    posed = pose(shapes.solid(shapes.box((0, 0, 0), (10, 10, 10))))
    above, below = cut(posed, np.array([10.5, -0.5]))

    assert above.is_empty()
    assert below.is_empty()
    assert cut(posed, np.array([])) == []


def test_heights_come_back_in_their_own_order(shapes):
    posed = pose(shapes.solid(shapes.lathe([4, 10], [0, 12], 7)))
    heights = np.array([9.0, 3.0, 6.0])
    rising = areas_mm2(cut(posed, np.sort(heights)))

    assert areas_mm2(cut(posed, heights)).tolist() == rising[[2, 0, 1]].tolist()


def meshes():
    hole = trimesh.creation.annulus(6, 14, 30)
    knot = trimesh.creation.torus(20, 6, major_sections=40, minor_sections=20)
    return {
        "annulus on edge": hole.apply_transform(
            trimesh.transformations.rotation_matrix(1, [1, 2, 0])
        ),
        "torus": knot.apply_transform(trimesh.transformations.rotation_matrix(0.7, [0, 1, 1])),
        "capsule": trimesh.creation.capsule(25, 9),
        "icosphere": trimesh.creation.icosphere(3, 15),
    }


@pytest.mark.parametrize("name", list(meshes()))
def test_cut_areas_agree_with_trimesh(shapes, name):
    """Outside check: trimesh.section at irregular heights, away from vertex levels."""
    mesh = meshes()[name]
    mesh.apply_translation(-mesh.bounds[0])
    posed = pose(shapes.solid((np.array(mesh.vertices), np.array(mesh.faces))))
    heights = np.random.default_rng(5).uniform(0.02, 0.98, 7) * posed.size_mm[2]
    heights = off_levels(heights, vertex_levels(posed))
    by_trimesh = []
    for height in heights:
        section = mesh.section(plane_origin=[0, 0, height], plane_normal=[0, 0, 1])
        rings = shapely.MultiLineString([line[:, :2] for line in section.discrete])
        by_trimesh.append(shapely.build_area(rings).area)

    # both interpolate the same edges in double precision; trimesh merges points at 1e-8
    # of the size, along an outline of some hundred mm
    assert areas_mm2(cut(posed, heights)) == pytest.approx(by_trimesh, abs=1e-4)


@pytest.mark.parametrize("name", list(meshes()))
def test_chained_outlines_agree_with_the_closed_body(shapes, name):
    """Two routes to one cut: segments chained by us, and manifold3d's own slices."""
    mesh = meshes()[name]
    posed = pose(shapes.solid((np.array(mesh.vertices), np.array(mesh.faces))))
    heights = off_levels(np.linspace(0, posed.size_mm[2], 23), vertex_levels(posed))
    chained = outlines(posed.vertices_mm, posed.solid.triangles, heights)

    assert [cut.invented_mm for cut in chained] == [0.0] * 23
    assert [cut.facing for cut in chained] == pytest.approx([1.0] * 23)
    assert areas_mm2([region_of(cut) for cut in chained]) == pytest.approx(
        areas_mm2(cut(posed, heights)), rel=1e-9, abs=1e-9
    )


def test_rings_have_the_inside_on_their_left(shapes):
    """Outward triangles give rings that run left round matter: area by shoelace above 0."""
    inner, faces = shapes.box((5, 5, -5), (15, 15, 15))
    walls = faces[np.ptp(inner[faces][:, :, 2], axis=1) > 0]
    outer, sides = shapes.box((0, 0, -5), (20, 20, 15))
    tube = shapes.merged((outer, sides), (inner, walls[:, ::-1]))
    (full,) = outlines(outer, sides, np.array([0.3]))
    (hollow,) = outlines(*tube, np.array([0.3]))

    assert winding_area(full) == pytest.approx(400)
    assert winding_area(hollow) == pytest.approx(300)
    assert region_of(hollow).area() == pytest.approx(300)


def test_shuffled_facing_falls_back_on_parity(shapes):
    """Half the triangles turned at random: rings mean nothing, an odd count is inside."""
    vertices, triangles = shapes.lathe([10, 10], [0, 10], 40)
    inner, faces = shapes.lathe([5, 5], [0, 10], 40)
    vertices, triangles = shapes.merged((vertices, triangles), (inner, faces[:, ::-1]))
    turn = np.random.default_rng(2).random(len(triangles)) < 0.5
    shuffled = np.where(turn[:, None], triangles[:, ::-1], triangles)
    (outline,) = outlines(vertices, shuffled, np.array([4.9]))

    assert outline.facing < 0.9
    assert region_of(outline).area() == pytest.approx(20 * (100 - 25) * sin(pi / 20))


@pytest.mark.parametrize(("left", "right"), [(0, 59.6), (0.4, 59.6)])
def test_cut_of_an_open_mesh_closes_the_gaps(shapes, left, right):
    """A box whose front ends 0.4 mm short, on one side or both: one chain, or two chains.

    The cut is the box's all the same, and each gap counts as invented.
    """
    vertices, triangles = shapes.box((0, 0, 0), (60, 40, 20))
    front = np.flatnonzero(vertices[triangles][:, :, 1].max(axis=1) == 0)
    points = vertices[triangles].copy()
    points[front, :, 0] = np.clip(points[front, :, 0], left, right)
    solid = shapes.solid((points.reshape(-1, 3), np.arange(36).reshape(-1, 3)))
    posed = pose(solid)
    (outline,) = outlines(posed.vertices_mm, solid.triangles, np.array([3.3]))

    assert not solid.closed
    assert areas_mm2(cut(posed, np.array([3.3, 12.1]))) == pytest.approx([2400, 2400])
    assert outline.invented_mm == pytest.approx(left + 60 - right)
    assert outline.length_mm == pytest.approx(200)
    assert outline.facing == pytest.approx(1)
    assert len(outline.rings) == 1
    assert posed.footprint.area_mm2 == pytest.approx(2400)


def test_planes_are_moved_off_levels_and_no_farther_than_needed():
    """By 1 um, or half way into a narrower gap; planes that are free stay where they are."""
    levels = np.array([0.0, 1.0, 1.0004, 5.0])
    heights = np.array([0.0, 0.5, 1.0, 1.0004, 4.9999, 5.0, 9.0])
    moved = off_levels(heights, levels)

    assert moved == pytest.approx([0.001, 0.5, 1.0002, 1.0014, 4.999, 4.999, 9.0], abs=1e-12)
    assert np.abs(moved[:, None] - levels).min() >= 0.0002 - 1e-12
