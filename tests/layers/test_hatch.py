"""Lines of fill: lengths by area, places by construction, joints by their rules."""

from __future__ import annotations

from math import pi

import numpy as np
import pytest
from hypothesis import given
from hypothesis import settings as limits
from hypothesis import strategies as st
from manifold3d import CrossSection, Manifold, OpType

from planner.layers.hatch import Hatch, hatched
from planner.layers.lay import lay
from planner.layers.pattern import GRID, LINES, TRIANGLES, WAVES, pattern_of, stretch
from planner.layers.rings import rings_of
from planner.layers.strokes import SOLID, SPARSE, lengths_mm


def hatch(*regions, spacing=0.45, angle=0.0, inset=0.0, turns=True):
    count = len(regions)
    how = Hatch(
        angle_rad=np.full(count, angle),
        spacing_mm=np.full(count, spacing),
        inset_mm=np.full(count, inset),
        turns=np.full(count, turns),
        code=np.full(count, SOLID),
    )
    return hatched(rings_of(list(regions)), how)


def lines_of(strokes):
    """Return the ends of all laid moves, (n, 2, 2)."""
    at = np.flatnonzero(strokes.lays)
    return np.stack([strokes.points_mm[at], strokes.points_mm[at + 1]], axis=1)


def test_a_rectangle_is_mown_to_and_fro():
    """10 x 2 mm at 0.5 mm: four lines at +-0.25 and +-0.75 mm, and the three turns between."""
    strokes = hatch(CrossSection.square((10, 2), center=True), spacing=0.5)

    assert strokes.size.tolist() == [8]
    assert strokes.points_mm[:, 1] == pytest.approx(np.repeat([-0.75, -0.25, 0.25, 0.75], 2))
    assert strokes.points_mm[:, 0] == pytest.approx([-5, 5, 5, -5, -5, 5, 5, -5])
    assert lengths_mm(strokes)[0] == pytest.approx(4 * 10 + 3 * 0.5)


def test_turns_lay_nothing_where_they_shall_not():
    """The lines alone are left."""
    strokes = hatch(CrossSection.square((10, 2), center=True), spacing=0.5, turns=False)

    assert lengths_mm(strokes)[0] == pytest.approx(40)


def test_a_fork_begins_new_strokes():
    """A plate with a hole: below, left, right and above it are four strokes."""
    frame = CrossSection.square((20, 20), center=True) - CrossSection.square((8, 8), center=True)

    assert len(hatch(frame)) == 4


PLACE = st.integers(-900, 900).map(lambda n: n / 100)
SIZE = st.integers(200, 900).map(lambda n: n / 100)
SQUARES = st.lists(st.tuples(PLACE, PLACE, SIZE, SIZE), min_size=1, max_size=5)
"""Left, front, width, depth; in hundredths: near the smallest numbers shapely is not exact."""


@limits(max_examples=40, deadline=None)
@given(boxes=SQUARES, angle=st.floats(0.05, 1.5), spacing=st.floats(0.3, 1.5))
def test_lines_lie_inside_and_as_long_as_the_chords(boxes, angle, spacing):
    """Validation: every chord that shapely cuts from the same lines is drawn, once.

    No edge is parallel to the lines: one that lies on a line belongs to either side of it.
    """
    import shapely

    region = CrossSection.batch_boolean(
        [CrossSection.square((w, d)).translate((x, y)) for x, y, w, d in boxes], OpType.Add
    )
    shape = shapely.union_all([shapely.box(x, y, x + w, y + d) for x, y, w, d in boxes])
    strokes = hatch(region, spacing=spacing, angle=angle, turns=False)

    along, across = (np.array([np.cos(a), np.sin(a)]) for a in (angle, angle + pi / 2))
    rows = [(k + 0.5) * spacing * across for k in range(-100, 100)]
    lines = shapely.linestrings([[at - 60 * along, at + 60 * along] for at in rows])
    expected = shapely.length(shapely.intersection(lines, shape)).sum()

    assert lengths_mm(strokes).sum() == pytest.approx(expected, rel=1e-6, abs=1e-4)
    middles = lines_of(strokes).mean(axis=1)
    assert shapely.contains_xy(shape.buffer(1e-6), middles[:, 0], middles[:, 1]).all()


@limits(max_examples=40, deadline=None)
@given(boxes=SQUARES, angle=st.floats(0, 3.1))
def test_owners_do_not_touch_each_other(boxes, angle):
    """Regions hatched together give the same strokes as each by itself."""
    regions = [CrossSection.square((w, d)).translate((x, y)) for x, y, w, d in boxes]

    together = hatch(*regions, angle=angle)

    for owner, region in enumerate(regions):
        own = together.owner == owner
        alone = hatch(region, angle=angle)
        assert together.size[own].tolist() == alone.size.tolist()
        assert lengths_mm(together)[own] == pytest.approx(lengths_mm(alone), abs=1e-6)


@pytest.mark.parametrize("pattern", ["lines", "grid", "triangles", "gyroid", "what is this"])
@pytest.mark.parametrize("infill", [0.1, 0.35])
def test_sparse_lines_lay_the_share_that_is_asked_for(posed, settings, pattern, infill):
    """Length times section against share times volume; lines at the rim decide, so 4 %."""
    wanted = settings(infill=infill, infill_pattern=pattern)
    layering = lay(posed(Manifold.cube((120, 100, 4))), wanted)

    laid_mm3 = layering.length_mm[:, SPARSE].sum() * 0.45 * 0.2
    assert laid_mm3 == pytest.approx(layering.volume_mm3[:, SPARSE].sum(), rel=0.04)


def test_solid_lines_with_their_turns_lay_what_the_area_takes(posed, settings):
    """Ends stay half a spacing inside and turns are one spacing long: within 1 %."""
    layering = lay(posed(Manifold.cube((40, 30, 2))), settings(infill=1.0))

    laid_mm3 = layering.length_mm[:, SOLID].sum() * 0.45 * 0.2
    assert laid_mm3 == pytest.approx(layering.volume_mm3[:, SOLID].sum(), rel=0.01)


def test_a_pattern_that_is_not_known_is_said_to_be_a_grid(posed, settings):
    """In the remarks on the paths, unless nothing is drawn in it."""
    body = posed(Manifold.cube((20, 20, 3)))

    assert "'stars'" in lay(body, settings(infill_pattern="stars")).paths.remarks[0]
    assert lay(body, settings(infill_pattern="stars", infill=1.0)).paths.remarks == ()
    assert lay(body, settings(infill_pattern="grid")).paths.remarks == ()


def test_words_for_patterns():
    """As written in settings, in any case and with more words."""
    found = [pattern_of(word)[0] for word in ("Lines", "GRID", "triangular", "Gyroid")]

    assert found == [LINES, GRID, TRIANGLES, WAVES]


def test_a_wave_is_longer_than_its_line():
    """Validation: arc length of y = sin x over a turn is 7.6404 (Wolfram MathWorld, Sine).

    Divided by 2 pi that is 1.2160; eight chords lie within 1.5 % under it.
    """
    assert 1.2160 * 0.985 < stretch(1.0) < 1.2160
