"""Section properties and the formula for bars, against sums by hand."""

from __future__ import annotations

from dataclasses import replace

import manifold3d
import numpy as np
import pytest
import shapely

from planner.strength.section import section_check, section_of

cube = manifold3d.Manifold.cube


def tee(flange, web):
    """Return a T: flange (width, height) on a web (width, height), its foot at y = 0."""
    (a, b), (c, d) = flange, web
    return np.array(
        [
            [-c / 2, 0],
            [c / 2, 0],
            [c / 2, d],
            [a / 2, d],
            [a / 2, d + b],
            [-a / 2, d + b],
            [-a / 2, d],
            [-c / 2, d],
        ],
        dtype=float,
    )


# I = sum(Ic + A d^2), parallel axis theorem (MecMovies chapters 8 and 9), worked by hand.
TEES = [
    (((100, 20), (20, 100)), 4000.0, 80.0, 5_333_333.333, 1_733_333.333),
    (((30, 4), (4, 12)), 168.0, 11.714286, 2930.285714, 4 * 30**3 / 12 + 12 * 4**3 / 12),
]


@pytest.mark.parametrize(("shape", "area", "height", "ixx", "iyy"), TEES)
def test_a_t_section_is_that_of_its_rectangles(shape, area, height, ixx, iyy):
    """Also when it lies far from the origin."""
    section = section_of([tee(*shape) + np.array([1000.0, -500.0])])

    assert section.area_mm2 == pytest.approx(area)
    assert section.y_mm + 500 == pytest.approx(height, rel=1e-6)
    assert section.ixx_mm4 == pytest.approx(ixx, rel=1e-6)
    assert section.iyy_mm4 == pytest.approx(iyy, rel=1e-6)
    assert section.ixy_mm4 == pytest.approx(0, abs=1e-6 * ixx)


def test_holes_count_against_and_corners_lean_over():
    """An angle 3 x 1 + 1 x 2 has Ixy = sum A dx dy; a hole takes off what it would have had."""
    angle = np.array([[0, 0], [3, 0], [3, 1], [1, 1], [1, 3], [0, 3]], dtype=float)
    hole = np.array([[0.25, 0.25], [0.25, 0.75], [0.75, 0.75], [0.75, 0.25]])

    section = section_of([angle, hole])

    rectangles = [(3.0, 1.5, 0.5), (2.0, 0.5, 2.0), (-0.25, 0.5, 0.5)]
    area = sum(a for a, _, _ in rectangles)
    x = sum(a * u for a, u, _ in rectangles) / area
    y = sum(a * v for a, _, v in rectangles) / area
    assert section.ixy_mm4 == pytest.approx(sum(a * (u - x) * (v - y) for a, u, v in rectangles))
    centre = shapely.Polygon(angle, [hole]).centroid  # an outside check
    assert (section.x_mm, section.y_mm) == pytest.approx((centre.x, centre.y))


def ragged(seed):
    """Return a star of random reach with a hole in it."""
    random = np.random.default_rng(seed)
    angle = np.linspace(0, 2 * np.pi, 13)[:-1]
    reach = random.uniform(12, 30, len(angle))
    ring = np.stack([reach * np.cos(angle), reach * np.sin(angle)], axis=1)
    hole = 5 * np.stack([np.cos(angle), -np.sin(angle)], axis=1) + random.uniform(-3, 3, 2)
    return ring, hole


@pytest.mark.parametrize("seed", [1, 2])
def test_section_properties_are_those_of_another_library(seed):
    """`sectionproperties` sums over its triangles: quadratic elements are exact, so to 1e-6."""
    from sectionproperties import pre
    from sectionproperties.analysis import Section as Other

    ring, hole = ragged(seed)
    geometry = pre.Geometry(shapely.Polygon(ring, [hole]))
    geometry.create_mesh(mesh_sizes=[50.0])
    other = Other(geometry)
    other.calculate_geometric_properties()

    own = section_of([ring, hole])

    assert own.area_mm2 == pytest.approx(other.get_area(), rel=1e-6)
    assert (own.x_mm, own.y_mm) == pytest.approx(other.get_c(), rel=1e-6, abs=1e-9)
    found = (own.ixx_mm4, own.iyy_mm4, own.ixy_mm4)
    assert found == pytest.approx(other.get_ic(), rel=1e-6, abs=1e-6 * own.ixx_mm4)


def test_an_upright_cantilever_parts_at_its_root(solid_of, load):
    """6 F L / (b h^2) = 10 MPa at the root; the highest plane looked at is L / 120 above it."""
    solid = solid_of(cube([60, 20, 6]))

    check = section_check(solid, [load([0, 0, -20])], (1.0, 0.0, 0.0))

    assert check.tension_mpa == pytest.approx(10.0 * (1 - 1 / 120), rel=1e-6)
    assert check.height_mm == pytest.approx(0.5)
    assert check.planes == 60


def test_the_pull_on_a_bar_is_force_per_area_either_way_up(solid_of, load):
    """120 N along a 4 x 3 bar, with the layers counted from either end."""
    solid, case = solid_of(cube([40, 4, 3])), load([120, 0, 0])

    for up in ((1.0, 0.0, 0.0), (-1.0, 0.0, 0.0)):
        assert section_check(solid, [case], up).tension_mpa == pytest.approx(10.0, rel=1e-6)


@pytest.mark.parametrize("up", [(1.0, 0.0, 0.0), (-1.0, 0.0, 0.0)])
@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_a_moment_bends_every_plane_alike(solid_of, load, up, sign):
    """M c / I = 1200 x 3 / 360 = 10 MPa on 20 x 6 mm, with a pull of 120 N another 1 MPa."""
    case = replace(load([120, 0, 0]), moment_nmm=(0.0, sign * 1200.0, 0.0))

    assert section_check(solid_of(cube([60, 20, 6])), [case], up).tension_mpa == pytest.approx(11.0)


def test_a_skew_load_on_an_angle_bends_both_ways(solid_of, load):
    """The plane of stress through an angle section that balances the load, by least squares.

    The section is taken as 6400 small squares; force and both moments are then sums.
    """
    angle = cube([80, 30, 5]) + cube([80, 5, 20])
    force = np.array([20.0, -7.0, 4.0])
    case = load(force, on=((79.9, -1, -1), (80.1, 31, 21)))

    check = section_check(solid_of(angle), [case], (1.0, 0.0, 0.0))

    step = 0.25
    y, z = (g.ravel() for g in np.meshgrid(*[np.arange(step / 2, n, step) for n in (30, 20)]))
    inside = (z < 5) | (y < 5)
    terms = np.stack([np.ones(inside.sum()), y[inside], z[inside]])
    areas = {"foot": (150.0, 15, 2.5), "back": (75.0, 2.5, 12.5)}
    total = sum(a for a, _, _ in areas.values())
    at_y, at_z = (sum(a[0] * a[k] for a in areas.values()) / total for k in (1, 2))
    lever = 80 - check.height_mm
    wanted = force[0] * np.array([1, at_y, at_z]) - lever * np.array([0, force[1], force[2]])
    plane = np.linalg.solve(terms @ terms.T * step**2, wanted)
    corners = np.array([[0, 0], [30, 0], [30, 5], [5, 20], [0, 20]])
    expected = (plane[0] + corners @ plane[1:]).max()
    assert check.tension_mpa == pytest.approx(expected, rel=2e-3)


def test_it_says_nothing_where_no_plane_parts_load_from_hold(solid_of, load):
    """Lying flat, every layer of the bar runs from the load to what is held."""
    check = section_check(solid_of(cube([60, 20, 6])), [load([0, 0, -20])], (0.0, 0.0, 1.0))

    assert check.planes == 0
