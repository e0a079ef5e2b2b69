"""The quick estimate against the packer, which knows where every copy lies, and plain counting."""

from __future__ import annotations

from dataclasses import replace
from math import floor

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.handover.plates import make_plates
from planner.handover.quick.estimate import quick_estimate
from planner.handover.quick.rows import in_rows
from planner.settings.load import load_printer
from planner.settings.model import Rectangle

BED = replace(load_printer("open_frame_220"), keep_out=())


@given(st.floats(5, 120), st.floats(5, 120), st.floats(0, 8), st.floats(0, 8))
def test_rows_fill_a_bare_bed_as_counted_by_hand(wide, deep, clearance, edge):
    """N boxes and n - 1 gaps fit between the edges."""
    across, back = (
        floor((room - 2 * edge + clearance + 1e-6) / (own + clearance))
        for room, own in ((BED.bed_width_mm, wide), (BED.bed_depth_mm, deep))
    )

    count = in_rows(BED, ((wide, deep, 10.0),), clearance_mm=clearance, edge_mm=edge)

    assert count == across * back


def test_rows_take_the_better_turn():
    """A long box lies 2 x 5 one way and 1 x 10 the other: the most of both counts."""
    box, turned = (100.0, 20.0, 5.0), (20.0, 100.0, 5.0)

    one = in_rows(BED, (box,), clearance_mm=2.0, edge_mm=0.0)
    both = in_rows(BED, (box, turned), clearance_mm=2.0, edge_mm=0.0)

    assert one == 2 * floor((BED.bed_depth_mm + 2) / 22)
    assert both == max(one, floor((BED.bed_width_mm + 2) / 22) * 2)


def test_a_clip_in_a_corner_costs_one_box():
    """Of 2 x 2 boxes of 100 mm on 220 mm the one over the clip is lost, whatever the corner."""
    clipped = replace(BED, keep_out=(Rectangle(x_min_mm=0, x_max_mm=20, y_min_mm=0, y_max_mm=20),))

    count = in_rows(clipped, ((105.0, 105.0, 5.0),), clearance_mm=4.0, edge_mm=3.0)

    assert count == 3


def test_a_box_too_tall_lies_nowhere():
    """Height counts too."""
    tall = BED.height_mm + 0.1

    assert in_rows(BED, ((10.0, 10.0, tall),), clearance_mm=4.0, edge_mm=3.0) == 0


@pytest.fixture(scope="module")
def quick(job, parts):
    return quick_estimate(job, parts)


def test_sums_are_those_of_the_parts(quick):
    """Grams, hours and money add up, and every range holds its middle."""
    assert quick.filament_g == pytest.approx(sum(row.grams for row in quick.parts))
    assert quick.cost == pytest.approx(sum(row.cost for row in quick.parts))
    for middle, (low, high) in (
        (quick.filament_g, quick.filament_range_g),
        (quick.print_s, quick.print_range_s),
        (quick.cost, quick.cost_range),
    ):
        assert low <= middle <= high
    assert not quick.not_counted


def test_real_plates_lie_within_the_quick_estimate(job, parts, quick):
    """What is packed as full as it goes takes plates, grams and hours inside the ranges."""
    whole = replace(job, plating=replace(job.plating, seconds_max=float("inf")))
    made = make_plates(whole, parts, seconds=0.5)
    least, _, enough = quick.plates
    low_s, high_s = quick.print_range_s

    fastest_s = sum(min(plate.seconds.values()) for plate in made.plates)
    slowest_s = sum(max(plate.seconds.values()) for plate in made.plates)

    assert least <= len([p for p in made.plates if p.kind == "batch"])
    assert len(made.plates) <= enough
    assert sum(plate.grams for plate in made.plates) == pytest.approx(quick.filament_g)
    assert low_s <= fastest_s
    assert slowest_s <= high_s


def test_a_part_that_lies_nowhere_is_named_and_not_counted(job, parts, quick):
    """A bed of 60 mm takes no panel: the panel is named, and its grams are left out."""
    small = tuple(
        replace(m, printer=replace(m.printer, bed_width_mm=60.0, bed_depth_mm=60.0))
        for m in job.machines
    )

    tiny = quick_estimate(replace(job, machines=small), parts)

    assert "panel" in tiny.not_counted
    assert tiny.filament_g < quick.filament_g
