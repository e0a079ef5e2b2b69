"""Support against closed forms: what stands under an overhang, to the plate or the part."""

from __future__ import annotations

from math import pi, radians, tan

import numpy as np
import pytest
from manifold3d import Manifold

from planner.layers.lay import lay
from planner.layers.strokes import SUPPORT
from planner.layers.support import DENSITY


def support_mm3(stand, settings):
    """Volume of the columns, holes between their lines included."""
    return lay(stand, settings).volume_mm3[:, SUPPORT].sum() / DENSITY


def test_a_table_is_exact(posed, settings):
    """Validation: (30 x 30 - 4 legs of 4 x 4) x 20 mm under the top, within 0.1 %."""
    legs = [Manifold.cube((4, 4, 20)).translate((x, y, 0)) for x in (0, 26) for y in (0, 26)]
    table = sum(legs, Manifold.cube((30, 30, 3)).translate((0, 0, 20)))

    found = support_mm3(posed(table), settings(support=True))

    assert found == pytest.approx((900 - 64) * 20, rel=1e-3)


def sphere_mm3(radius, limit_deg):
    """Columns under a sphere that stands on the plate, from the plate to its lower side.

    A point of the lower half at the polar angle t from straight down leans out by 90 - t from
    the vertical; with the limit L what has t < 90 - L is overhang. Under it, out to r sin t,
    stands the cylinder of height r less the sphere's lower cap:
    V = integral over x from 0 to r sin t of 2 pi x (r - sqrt(r^2 - x^2)) dx.
    """
    reach = radius * np.sin(radians(90 - limit_deg))
    inside = (radius**3 - (radius**2 - reach**2) ** 1.5) / 3
    return 2 * pi * (radius * reach**2 / 2 - inside)


@pytest.mark.parametrize("limit_deg", [40.0, 50.0, 60.0])
def test_a_sphere_is_near_its_closed_form(posed, settings, limit_deg):
    """Validation: the integral over the overhanging cap; steps of 0.1 mm, within 5 %."""
    wanted = settings(support=True, overhang_deg=limit_deg, layer_mm=0.1, first_layer_mm=0.1)

    found = support_mm3(posed(Manifold.sphere(15, 160)), wanted)

    assert found == pytest.approx(sphere_mm3(15, limit_deg), rel=0.05)


@pytest.mark.parametrize("limit_deg", [40.0, 45.0, 50.0])
def test_a_lying_cylinder_is_near_its_closed_form(posed, settings, limit_deg):
    """Validation: per mm of length, both sides of the segment under the chord; within 5 %.

    With 720 sides, or the steps of their lean show. Out to x = r sin t with t = 90 - limit:
    A = 2 integral of r - sqrt(r^2 - x^2) dx.
    """
    radius, long = 12.0, 40.0
    wanted = settings(support=True, overhang_deg=limit_deg, layer_mm=0.1, first_layer_mm=0.1)
    cylinder = Manifold.cylinder(long, radius, radius, 720).rotate((90, 0, 0))

    reach = radius * np.sin(radians(90 - limit_deg))
    under = (reach * np.sqrt(radius**2 - reach**2) + radius**2 * np.arcsin(reach / radius)) / 2
    expected = 2 * (radius * reach - under) * long

    assert support_mm3(posed(cylinder), wanted) == pytest.approx(expected, rel=0.05)


def test_a_cone_within_the_limit_has_none(posed, settings):
    """40 degrees from the vertical, limit 50: no support, not even a stripe."""
    cone = Manifold.cylinder(20, 4, 4 + 20 * tan(radians(40)), 128)

    assert support_mm3(posed(cone), settings(support=True)) == 0.0


def test_support_takes_time_and_has_paths(posed, settings):
    """Length times section is the volume of the columns' share.

    Eleven lines of 3 mm spacing fit the 34 mm, give or take half of one: within 6 %.
    """
    table = Manifold.cube((40, 40, 2)).translate((0, 0, 10)) + Manifold.cube((6, 40, 10))
    layering = lay(posed(table), settings(support=True))

    laid_mm3 = layering.length_mm[:, SUPPORT].sum() * 0.45 * 0.2
    assert laid_mm3 == pytest.approx(layering.volume_mm3[:, SUPPORT].sum(), rel=0.06)
