"""Plates and timeline as SVG: to scale, right way round, in agreement with the 3MF."""

import itertools
import re
from dataclasses import replace
from datetime import datetime, timedelta
from xml.etree import ElementTree as ET
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.nest.model import Placement
from planner.report.drawing import draw_plan_plate, outline_path
from planner.report.placing import screen_matrix
from planner.report.roster import days_of, roster_of_plan
from planner.report.threemf import item_transform
from planner.report.timeline import alone_spans, draw_days, draw_timeline, nights
from planner.solid.model import Footprint

from .conftest import ELL, HOSTILE, WINDOW, at, make_plan

SVG = "{http://www.w3.org/2000/svg}"


def rings_of(path):
    """Read path data of ours back: rings of x, y."""
    return [
        np.array([[float(v) for v in point.split()] for point in ring.split("L")])
        for ring in re.findall(r"M([^Z]*)Z", path)
    ]


def drawn_copies(svg):
    """Return (part name, rings in bed coordinates) of every copy, from the SVG alone."""
    root = ET.fromstring(svg)
    depth = float(next(r for r in root.iter(f"{SVG}rect") if r.get("class") == "bed").get("height"))
    shapes = {path.get("id"): rings_of(path.get("d")) for path in root.iter(f"{SVG}path")}
    copies = []
    for use in root.iter(f"{SVG}use"):
        a, b, c, d, e, f = map(float, use.get("transform")[7:-1].split())
        matrix, move = np.array([[a, b], [c, d]]), np.array([e, f])
        rings = [ring @ matrix + move for ring in shapes[use.get("href")[1:]]]
        flipped = [np.column_stack([r[:, 0], depth - r[:, 1]]) for r in rings]
        copies.append((use.find(f"{SVG}title").text, flipped))
    return copies


@pytest.mark.parametrize("index", [0, 1, 2])
def test_every_copy_is_drawn_where_shapely_would_put_it(plan, index):
    """Validation against shapely: rotate about the origin, then translate."""
    from shapely import Polygon, affinity

    plate = plan.plates[index]
    footprints = {ready.part.name: ready.posed.footprint for ready in plan.parts}

    copies = drawn_copies(draw_plan_plate(plan, plate))

    assert [name for name, _ in copies] == [placement.id for placement in plate.placements]
    for (_, rings), placement in zip(copies, plate.placements, strict=True):
        ((outer, *holes),) = footprints[placement.id].polygons_mm
        shape = affinity.rotate(Polygon(outer, holes), placement.rotation_deg, origin=(0, 0))
        wanted = affinity.translate(shape, placement.x_mm, placement.y_mm)
        drawn = Polygon(rings[0], rings[1:])
        # Coordinates carry two decimals, the matrix four: 0.01 mm along a 280 mm outline.
        assert drawn.symmetric_difference(wanted).area < 3.0
        assert drawn.area == pytest.approx(wanted.area, rel=1e-3)


@given(
    x=st.floats(0, 300), y=st.floats(0, 300), turn=st.floats(-360, 360), depth=st.floats(50, 400)
)
def test_drawing_and_3mf_agree_on_every_placement(x, y, turn, depth):
    """The two files that leave the house put a point in the same spot."""
    placement = Placement(id="a", x_mm=x, y_mm=y, rotation_deg=turn)
    point = np.array([12.0, 7.0])

    a, b, c, d, e, f = screen_matrix(placement, depth)
    on_screen = point @ np.array([[a, b], [c, d]]) + [e, f]
    rows = np.array([float(v) for v in item_transform(placement).split()]).reshape(4, 3)
    on_plate = np.array([*point, 0.0]) @ rows[:3] + rows[3]

    assert [on_screen[0], depth - on_screen[1]] == pytest.approx(on_plate[:2], abs=2e-5)


def test_outline_keeps_its_hole(plan):
    """The window of the L is a second ring; both come back as drawn."""
    outer, hole = rings_of(outline_path(plan.parts[0].posed.footprint))

    assert sorted(map(tuple, outer.tolist())) == sorted((float(x), float(y)) for x, y in ELL)
    assert sorted(map(tuple, hole.tolist())) == sorted((float(x), float(y)) for x, y in WINDOW)


def test_long_outlines_are_thinned_within_a_twentieth_of_a_millimetre():
    """A circle of 5000 points is drawn with few, its area within perimeter x 0.05 mm."""
    angle = np.linspace(0, 2 * np.pi, 5000, endpoint=False)
    ring = np.column_stack([50 * np.cos(angle), 50 * np.sin(angle)])

    (drawn,) = rings_of(outline_path(Footprint(polygons_mm=((ring,),))))

    x, y = drawn.T
    area = abs(x @ np.roll(y, -1) - y @ np.roll(x, -1)) / 2
    assert len(drawn) < 200
    assert abs(area - np.pi * 50**2) < 2 * np.pi * 50 * 0.06


def test_picture_is_to_scale_and_says_so(plan):
    """One unit is a millimetre: the bed has its size, the bar 50 mm, keep-outs sit in front."""
    root = ET.fromstring(draw_plan_plate(plan, plan.plates[1], own_style=True))

    rects = {rect.get("class"): rect for rect in root.iter(f"{SVG}rect")}
    assert (rects["bed"].get("width"), rects["bed"].get("height")) == ("220", "210")
    # The keep-out is the front left corner: 15 mm deep, so from 195 to 210 on the screen.
    assert [rects["forbidden"].get(k) for k in ("x", "y", "width", "height")] == [
        "0",
        "195",
        "20",
        "15",
    ]
    assert [rects["edge"].get(k) for k in ("x", "y", "width", "height")] == ["3", "3", "214", "204"]
    assert "50 mm" in [text.text for text in root.iter(f"{SVG}text")]
    assert root.get("role") == "img"
    assert "P2" in root.find(f"{SVG}title").text


def test_every_reference_in_a_drawing_exists_once(plan):
    """Ids are unique over all plates of a page, and each `use` finds its shape."""
    page = [draw_plan_plate(plan, plate) for plate in plan.plates] + [
        draw_timeline(roster_of_plan(plan)),
        *draw_days(roster_of_plan(plan)),
    ]
    text = "".join(page)

    ids = re.findall(r'\bid="([^"]+)"', text)
    assert len(ids) == len(set(ids))
    used = set(re.findall(r'href="#([^"]+)"', text)) | set(re.findall(r"url\(#([^)]+)\)", text))
    assert used <= set(ids)


def test_hostile_names_are_text(hostile_plan):
    """The drawings stay well-formed and hold no element that a name brought along."""
    for plate in hostile_plan.plates:
        svg = draw_plan_plate(hostile_plan, plate, own_style=True)
        tags = {element.tag for element in ET.fromstring(svg).iter()}
        assert f"{SVG}script" not in tags
    names = {
        name for name, _ in drawn_copies(draw_plan_plate(hostile_plan, hostile_plan.plates[0]))
    }
    assert HOSTILE.replace("\x1b", "\ufffd") in names


def test_drawings_are_the_same_every_time():
    """Same plan, same bytes."""
    one, other = make_plan(), make_plan()

    assert draw_plan_plate(one, one.plates[2]) == draw_plan_plate(other, other.plates[2])
    assert draw_timeline(roster_of_plan(one)) == draw_timeline(roster_of_plan(other))


def test_time_alone_adds_up_to_what_the_schedule_says(plan):
    """The hatched stretches of each bar are as long as the run's `alone_s`."""
    for run in plan.weekend.runs:
        spans = alone_spans(run, plan.job.attendance)
        seconds = sum((end - start).total_seconds() for start, end in spans)
        assert seconds == run.alone_s, run.plate


def test_overlapping_attendance_counts_once(plan):
    """Two people at once are no more than somebody there."""
    run = plan.weekend.runs[0]
    window = plan.job.attendance[0]
    early = replace(window, start=run.start, end=run.start + timedelta(hours=1))
    inside = replace(window, start=run.start, end=run.start + timedelta(minutes=10))

    assert alone_spans(run, [early, inside]) == ((early.end, run.end),)


def test_timeline_shows_each_run_and_stays_in_its_frame(plan):
    """One group per run with its hours; every bar lies inside the picture."""
    root = ET.fromstring(draw_timeline(roster_of_plan(plan), own_style=True))

    runs = [g for g in root.iter(f"{SVG}g") if g.get("class") == "run"]
    assert [g.get("data-plate") for g in runs] == ["P1", "P2", "P3"]
    width = float(root.get("viewBox").split()[2])
    for rect in root.iter(f"{SVG}rect"):
        assert 0 <= float(rect.get("x")) <= float(rect.get("x")) + float(rect.get("width")) <= width
    said = runs[2].find(f"{SVG}title").text
    assert said == "P3 on cupboard: Fri 21:10 to Sat 11:10, 10 h 30 min with nobody there"


def test_bar_length_is_its_time(plan):
    """Bars of 2.5 h and 14 h are as 2.5 to 14 (two decimals of a pixel are written)."""
    root = ET.fromstring(draw_timeline(roster_of_plan(plan)))

    widths = [
        float(g.find(f"{SVG}rect").get("width"))
        for g in root.iter(f"{SVG}g")
        if g.get("class") == "run"
    ]
    assert widths[2] / widths[0] == pytest.approx(14 / 2.5, rel=1e-3)


def test_nights_keep_local_hours_when_the_clock_changes():
    """Lisbon leaves summer time on Sunday 25 October 2026 at 2:00: that night is an hour longer."""
    zone = ZoneInfo("Europe/Lisbon")
    start = datetime(2026, 10, 24, 12, tzinfo=zone)

    (night,) = nights(start, start + timedelta(hours=24), zone)

    assert night[1].timestamp() - night[0].timestamp() == 9 * 3600


def test_span_holds_everything(plan):
    """From the whole hour of the start to after the deadline."""
    first, last = roster_of_plan(plan).span

    assert first == at(0, 18)
    assert last >= plan.job.deadline


@pytest.mark.parametrize("hour", [1, 4, 8, 20])
def test_the_word_deadline_and_the_dates_keep_apart(plan, hour):
    """A sign is about 6 px wide: no two texts of the top overlap."""
    late = replace(plan, job=replace(plan.job, deadline=at(2, hour)))

    for svg in (draw_timeline(roster_of_plan(late)), *draw_days(roster_of_plan(late))):
        spans = []
        for text in ET.fromstring(svg).iter(f"{SVG}text"):
            if text.get("y") == "14":
                width, x = 6.2 * len(text.text), float(text.get("x"))
                left = x - width if text.get("text-anchor") == "end" else x
                spans.append((left, left + width))
        spans.sort()
        assert all(end <= begin for (_, end), (begin, _) in itertools.pairwise(spans))


def test_a_plan_without_runs_is_still_drawn(plan):
    """An empty weekend has its lanes and no bars."""
    empty = replace(plan.weekend, runs=(), visits=(), finish=None, lower_bound=None)
    job = replace(plan.job, attendance=(), deadline=None)

    root = ET.fromstring(draw_timeline(roster_of_plan(replace(plan, weekend=empty, job=job))))

    assert not [g for g in root.iter(f"{SVG}g") if g.get("class") == "run"]


def test_the_days_cut_no_run_away(plan):
    """Each run shows on every day it touches, and its pieces are as long as the whole."""
    days = [ET.fromstring(svg) for svg in draw_days(roster_of_plan(plan))]

    assert [svg.find(f"{SVG}title").text[:30] for svg in days] == [
        "Printers from Fri 00:00 to Sat",
        "Printers from Sat 00:00 to Sun",
        "Printers from Sun 00:00 to Mon",
    ]
    pieces = [
        float(g.find(f"{SVG}rect").get("width"))
        for svg in days
        for g in svg.iter(f"{SVG}g")
        if g.get("data-plate") == "P3"
    ]
    assert len(pieces) == 2
    assert sum(pieces) == pytest.approx(14 * 11.6, abs=0.02)  # h by units per hour


def test_a_day_is_as_long_as_its_clock_says():
    """Lisbon's Sunday 25 October 2026 has 25 hours, its Sunday 29 March 23."""
    zone = ZoneInfo("Europe/Lisbon")
    for month, date, expected in ((10, 25, 25), (3, 29, 23)):
        noon = datetime(2026, month, date, 12, tzinfo=zone)
        ((first, last),) = days_of((noon, noon + timedelta(hours=1)), zone)
        assert last.timestamp() - first.timestamp() == expected * 3600


def test_span_leaves_out_what_is_far_away(plan):
    """A deadline in a month and hours of next week would leave no room for the bars."""
    window = plan.job.attendance[0]
    week = timedelta(days=7)
    later = replace(window, start=window.start + week, end=window.end + week)
    job = replace(plan.job, deadline=at(30, 20), attendance=(*plan.job.attendance, later))

    first, last = roster_of_plan(replace(plan, job=job)).span

    assert first == at(0, 18)
    # The last visit ends at 14:08, and the crew that is there then goes 6 h 52 min later.
    assert last == at(1, 14, 38)


def test_nothing_scheduled_shows_who_is_there(plan):
    """Without runs the first hours of attendance are the picture."""
    empty = replace(plan.weekend, runs=(), visits=(), finish=None)

    assert roster_of_plan(replace(plan, weekend=empty)).span == (at(0, 18), at(2, 20, 30))
