"""The sliding window of intersections, against intersecting every window from nothing."""

from __future__ import annotations

from functools import reduce

import numpy as np
import pytest
from hypothesis import given
from hypothesis import settings as limits
from hypothesis import strategies as st
from manifold3d import CrossSection

from planner.layers.skins import OUTSIDE, covers, windows

SQUARES = st.lists(
    st.tuples(st.floats(-5, 5), st.floats(-5, 5), st.floats(8, 20)), min_size=1, max_size=14
)


@limits(max_examples=60, deadline=None)
@given(squares=SQUARES, top=st.integers(0, 4), bottom=st.integers(0, 4))
def test_a_window_covers_what_all_its_layers_cover(squares, top, bottom):
    """Rebuild and compare, every layer a group of its own; areas agree to rounding."""
    regions = [CrossSection.square((size, size)).translate((x, y)) for x, y, size in squares]
    spans = windows(np.arange(len(regions)), top=top, bottom=bottom).tolist()

    found = list(covers(regions, [tuple(span) for span in spans]))

    for (low, high), region in zip(spans, found, strict=True):
        if OUTSIDE in (low, high):
            assert region.is_empty()
        else:
            expected = reduce(lambda a, b: a ^ b, regions[low : high + 1])
            assert region.area() == pytest.approx(expected.area(), rel=1e-9, abs=1e-5)
