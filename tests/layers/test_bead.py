"""Sections of a line, and the mass of filament, against printed formulas."""

from __future__ import annotations

import pytest

from planner.layers.bead import Line
from planner.settings.model import Bead, Filament

# width, height, area of a rectangle with half-round ends: A = (w - h) h + pi h^2 / 4.
# Formula: C. Palmer, "My attempts to make a rapid prototyping machine", blog, June 2014;
# numbers worked out from it (e.g. 0.25 x 0.2 + 0.0314159).
STADIUMS = [(0.45, 0.20, 0.0814159), (0.40, 0.20, 0.0714159), (0.60, 0.30, 0.1606858)]


@pytest.mark.parametrize(("width", "height", "area"), STADIUMS)
def test_a_stadium_has_the_area_of_its_formula(width, height, area):
    """Validation, to the digits worked out."""
    line = Line(width_mm=width, height_mm=height, bead=Bead.STADIUM)

    assert line.section_mm2 == pytest.approx(area, abs=5e-8)


def test_a_stadium_spaces_closer_than_a_rectangle():
    """Spacing 0.45 - 0.2 (1 - pi/4) = 0.407080; half the difference is left at the edge."""
    line = Line(width_mm=0.45, height_mm=0.2, bead=Bead.STADIUM)

    assert line.spacing_mm == pytest.approx(0.407080, abs=5e-7)
    assert line.edge_mm == pytest.approx(0.04292 / 2, abs=5e-6)


def test_a_rectangle_fills_its_width():
    """No edge, spacing and section as drawn."""
    line = Line(width_mm=0.45, height_mm=0.2, bead=Bead.RECTANGLE)

    assert (line.spacing_mm, line.edge_mm) == (0.45, 0.0)
    assert line.section_mm2 == pytest.approx(0.09)


# density [g/cm3] -> g per m of 1.75 mm strand, pi 1.75^2 / 4 = 2.405282 mm2.
MASS = [(1.24, 2.983), (1.27, 3.055), (1.04, 2.501), (1.07, 2.574), (1.20, 2.886), (1.21, 2.910)]


@pytest.mark.parametrize(("density", "g_per_m"), MASS)
def test_a_metre_of_strand_weighs_density_times_circle(density, g_per_m):
    """A stretch of strand that holds 1 m weighs what the formula says, to the third digit."""
    strand = Filament(
        name="x",
        material="x",
        density_g_cm3=density,
        diameter_mm=1.75,
        nozzle_c=(1, 2),
        bed_c=(1, 2),
        infill=(0, 1),
        flow_max_mm3_s=1,
        glass_transition_c=1,
        price_per_kg=1,
    )

    assert strand.mass_g(1000 * strand.area_mm2) == pytest.approx(g_per_m, abs=6e-4)
    assert strand.length_m(2405.282) == pytest.approx(1.0, rel=1e-6)
