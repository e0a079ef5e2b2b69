"""The strips drawn are those in which no screw is set."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.job.layout.model import CutOut, WallShape
from planner.report.wall.bands import bands_of
from planner.wall.mounting.keepaway import may_run, reasons
from planner.wall.mounting.places import places

from .walls import counted

WALL = {"width_mm": 1510.0, "height_mm": 1130.0}


@settings(max_examples=60, deadline=None)
@given(
    kind=st.sampled_from(["socket", "switch", "window", "pipe", "other"]),
    corner=st.tuples(st.floats(0, 1200), st.floats(0, 900)),
    size=st.tuples(st.floats(10, 300), st.floats(10, 220)),
    band_mm=st.floats(0, 200),
    meets=st.sets(st.sampled_from(["left", "right", "top", "bottom"])),
)
def test_a_junction_is_in_a_strip_where_the_mounting_says_so(kind, corner, size, band_mm, meets):
    """Two ways to the same rule: rectangles here, distances there."""
    cut = CutOut(
        name="it", kind=kind, x_mm=corner[0], y_mm=corner[1], width_mm=size[0], height_mm=size[1]
    )
    wall = WallShape(name="w", cut_outs=(cut,), meets=tuple(sorted(meets)), **WALL)
    where = places(counted(WallShape(name="w", **WALL)).panellings[0])

    told = reasons(where, wall, edge_mm=0.0, band_mm=band_mm)

    bands = bands_of(wall, band_mm)
    for x, y, why in zip(where.x_mm, where.y_mm, told, strict=True):
        gaps = [
            min(
                x - band.x_mm,
                band.x_mm + band.width_mm - x,
                y - band.y_mm,
                band.y_mm + band.height_mm - y,
            )
            for band in bands
        ]
        deepest = max(gaps, default=-1.0)
        if abs(deepest) < 1e-3 or (why and not may_run(why)):  # on the rim, or in the cut-out
            continue
        assert bool(deepest > 0) is bool(why)


def test_strips_stay_on_the_wall():
    """A socket near the rim has a strip cut off there."""
    cut = CutOut(name="it", kind="socket", x_mm=5, y_mm=5, width_mm=80, height_mm=80)

    upright, level = bands_of(WallShape(name="w", cut_outs=(cut,), **WALL), 150.0)

    assert (upright.x_mm, upright.width_mm) == pytest.approx((0, 195))
    assert (level.y_mm, level.height_mm) == pytest.approx((0, 195))
    assert upright.height_mm == 1130
    assert level.width_mm == 1510
