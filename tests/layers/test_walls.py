"""Walls: loops against another library's offsets, areas against theirs, thin places by hand."""

from __future__ import annotations

from math import pi

import numpy as np
import pytest
from hypothesis import given
from hypothesis import settings as limits
from hypothesis import strategies as st
from manifold3d import CrossSection, Manifold, OpType

from planner.layers.bead import Line
from planner.layers.lay import lay
from planner.layers.rings import corners, rings_of
from planner.layers.strokes import INNER, OUTER, lengths_mm
from planner.layers.walls import shells
from planner.settings.model import Bead
from planner.solid.cut import cut

LINE = Line(width_mm=0.45, height_mm=0.2, bead=Bead.RECTANGLE)


def laid(region, count=3, line=LINE):
    return shells(
        [region], np.array([region.area()]), lines=[line], count=count, wanted=np.array([True])
    )


def length_of(found, code):
    return float(lengths_mm(found.strokes)[found.strokes.code == code].sum())


def polygon(region):
    """Build the region in shapely, hole or not by how deep a ring lies."""
    import shapely

    whole = shapely.Polygon()
    for ring in region.to_polygons():
        whole = whole.symmetric_difference(shapely.Polygon(ring))
    return whole


def gear(teeth=12):
    turns = 2 * pi * (np.arange(teeth)[:, None] + [0.0, 0.35, 0.5, 0.85]) / teeth
    radius = np.array([20.0, 20.0, 15.0, 15.0])
    points = np.stack([radius * np.cos(turns), radius * np.sin(turns)], axis=2)
    return CrossSection([points.reshape(-1, 2)]) - CrossSection.circle(4, 40)


def drilled():
    return CrossSection.square((60, 40)) - CrossSection.batch_boolean(
        [CrossSection.circle(2 + k / 2, 24).translate((8 + 11 * k, 12 + 4 * k)) for k in range(5)],
        OpType.Add,
    )


def star():
    turns = pi * np.arange(10) / 5
    radius = np.where(np.arange(10) % 2 == 0, 20.0, 9.0)
    return CrossSection([np.stack([radius * np.cos(turns), radius * np.sin(turns)], axis=1)])


def bracket():
    hole = CrossSection.circle(5, 40).translate((12, 14))
    return CrossSection([[(0, 0), (60, 0), (60, 5), (12, 40), (0, 40)]]) - hole


def comb():
    slots = [CrossSection.square((3, 30)).translate((5 + 9 * k, 8)) for k in range(7)]
    return CrossSection.square((66, 30)) - CrossSection.batch_boolean(slots, OpType.Add)


def ring_of_tabs():
    tabs = [CrossSection.square((6, 4)).translate((18, -2)).rotate(30 * k) for k in range(12)]
    outer = CrossSection.batch_boolean([CrossSection.circle(20, 90), *tabs], OpType.Add)
    return outer - CrossSection.circle(15, 90)


def ell():
    return CrossSection([[(0, 0), (50, 0), (50, 8), (8, 8), (8, 35), (0, 35)]])


REGIONS = {
    "gear": gear,
    "drilled plate": drilled,
    "star": star,
    "bracket": bracket,
    "comb": comb,
    "ring of tabs": ring_of_tabs,
    "ell": ell,
    "two pieces": lambda: ell() + CrossSection.circle(6, 60).translate((30, 25)),
}


@pytest.mark.parametrize("name", REGIONS)
@pytest.mark.parametrize("bead", list(Bead))
def test_walls_are_as_long_as_exact_offsets(name, bead):
    """Validation: shapely's mitred offset at half a width for the outer wall, within 0.3 %.

    Inner walls lie one and two spacings further in.
    """
    region, line = REGIONS[name](), Line(width_mm=0.45, height_mm=0.2, bead=bead)
    found = laid(region, line=line)

    def at(depth):
        return polygon(region).buffer(-depth, join_style="mitre", mitre_limit=4).length

    first, step = line.width_mm / 2, line.spacing_mm
    assert length_of(found, OUTER) == pytest.approx(at(first), rel=3e-3)
    inner = at(first + step) + at(first + 2 * step)
    assert length_of(found, INNER) == pytest.approx(inner, rel=3e-3)


@pytest.mark.parametrize("name", REGIONS)
def test_walls_and_the_inside_share_the_area_out(name):
    """Nothing is lost between outer wall, inner walls and what is left: to rounding."""
    region = REGIONS[name]()
    found = laid(region)

    whole = found.outer_mm2 + found.inner_mm2 + found.inside[0].area()
    assert whole[0] == pytest.approx(region.area(), rel=1e-6)


def bodies():
    """Eight bodies such as workshops print, leaning and standing."""
    yield "bracket", bracket().extrude(18)
    yield "tilted bracket", bracket().extrude(18).rotate((25, 40, 10))
    yield "gear", gear().extrude(8, 8, 12)
    yield "drilled plate", drilled().extrude(5)
    yield "plate on edge", drilled().extrude(5).rotate((90, 0, 0))
    yield "comb", comb().extrude(12)
    yield "stand", ring_of_tabs().extrude(6, 1, 0, (0.8, 0.8))
    yield "knob", Manifold.sphere(14, 60) - Manifold.cylinder(40, 3, 3, 40, center=True)
    yield (
        "twisted column",
        CrossSection.square((20, 12), center=True).extrude(30, 30, 90, (0.6, 0.6)),
    )


@pytest.mark.parametrize("name", [name for name, _ in bodies()])
def test_outer_walls_of_whole_parts_agree_with_another_library(posed, settings, name):
    """Validation: the sum over layers against shapely's offsets of the cuts, within 0.3 %."""
    stand = posed(dict(bodies())[name])
    layering = lay(stand, settings(layer_mm=0.4, first_layer_mm=0.4))

    middles = layering.z_mm - layering.height_mm / 2
    expected = sum(
        polygon(region).buffer(-0.225, join_style="mitre", mitre_limit=4).length
        for region in cut(stand, middles)
    )
    assert layering.length_mm[:, OUTER].sum() == pytest.approx(expected, rel=3e-3)


@pytest.mark.parametrize(("wall", "lines"), [(0.3, 1), (0.45, 1), (0.6, 1), (0.8, 2), (0.9, 2)])
@pytest.mark.parametrize("count", [1, 3])
def test_a_thin_wall_gets_as_many_lines_as_it_takes(wall, lines, count):
    """A ring 0.3 to 0.9 mm thick: one line under 1.5 spacings, else one from each side.

    A single line runs along the outer side, half the thickness longer than the middle.
    """
    ring = CrossSection.circle(20, 200) - CrossSection.circle(20 - wall, 200)

    found = laid(ring, count)

    middle_mm = 2 * pi * (20 - wall / 2)
    length = lengths_mm(found.strokes).sum()
    assert length == pytest.approx(lines * middle_mm, rel=wall / 2 / 20 + 1e-3)
    assert found.outer_mm2[0] == pytest.approx(ring.area(), rel=1e-6)


@pytest.mark.parametrize(("wall", "lines"), [(1.0, 2), (1.2, 3), (1.5, 3), (1.7, 4)])
def test_a_gap_between_walls_gets_a_line_if_one_fits(wall, lines):
    """A bar of so many spacings: two outer lines, and in the middle none, one or two.

    Worked by hand: what is left between the outer walls is 0.1, 0.3, 0.6 and 0.8 mm wide;
    under 0.225 mm it is left to the neighbours, from 0.675 mm on it takes two lines. The
    ends of the 80 mm bar add at most its thickness.
    """
    found = laid(CrossSection.square((80, wall)), 3)

    length = lengths_mm(found.strokes).sum()
    assert length == pytest.approx(lines * 80, abs=3 * wall)


def test_a_fin_beside_a_block_is_one_line():
    """A block of 20 x 20 mm with a fin of 15 x 0.5 mm: its walls, and 15 mm along the fin."""
    fin = CrossSection.square((20, 20)) + CrossSection.square((15, 0.5)).translate((20, 8))

    found = laid(fin, 1)

    assert length_of(found, OUTER) == pytest.approx(4 * 19.55 + 15, abs=1.0)


@limits(max_examples=60, deadline=None)
@given(
    depth=st.integers(0, 150).map(lambda n: n / 100), width=st.floats(4, 30), turn=st.floats(0, 90)
)
def test_rings_moved_inwards_have_the_area_and_length_of_offsets(depth, width, turn):
    """Validation: the formulas against real offsets, for shapes that do not meet themselves."""
    region = (CrossSection.square((width, 40)) - CrossSection.circle(5, 30).translate((50, 9))) + (
        CrossSection.circle(12, 50).translate((60, 9))
    )
    region = region.rotate(turn)
    rings = rings_of([region])
    shape = corners(rings)

    moved = polygon(region).buffer(-depth, join_style="mitre", mitre_limit=4)

    assert shape.area_at(depth).sum() == pytest.approx(moved.area, rel=1e-6)
    assert shape.length_at(depth).sum() == pytest.approx(moved.length, rel=1e-6)


def test_no_region_has_no_walls():
    """Neither an empty region nor none at all."""
    empty = laid(CrossSection())

    assert len(empty.strokes) == 0
    assert (empty.outer_mm2.tolist(), empty.inner_mm2.tolist()) == ([0.0], [0.0])
