"""Shapes and small problems that several tests use."""

from __future__ import annotations

import numpy as np
import shapely
from hypothesis import strategies as st

from planner.nest.model import Bed, Item
from planner.settings.model import Rectangle
from planner.solid.model import Footprint


def footprint(shape):
    """Return a shapely region as a footprint: outer ring forward, holes backward."""
    polygons = [shapely.geometry.polygon.orient(part) for part in shapely.get_parts(shape)]
    return Footprint(
        polygons_mm=tuple(
            tuple(np.array(ring.coords)[:-1] for ring in (part.exterior, *part.interiors))
            for part in polygons
        )
    )


def rectangle(width_mm, depth_mm):
    return shapely.box(0, 0, width_mm, depth_mm)


def ring(outer_mm, inner_mm):
    centre = shapely.Point(0, 0)
    return centre.buffer(outer_mm).difference(centre.buffer(inner_mm))


def item(name, shape, quantity=1, **more):
    return Item(id=name, footprint=footprint(shape), quantity=quantity, **more)


def bed(name="bed", width_mm=100.0, depth_mm=100.0, **more):
    return Bed(id=name, width_mm=width_mm, depth_mm=depth_mm, **more)


def keep_out(x_min_mm, y_min_mm, x_max_mm, y_max_mm):
    return Rectangle(x_min_mm=x_min_mm, y_min_mm=y_min_mm, x_max_mm=x_max_mm, y_max_mm=y_max_mm)


@st.composite
def star(draw, largest_mm=60.0):
    """Draw a simple polygon: corners at growing angles, at any distance from a centre."""
    count = draw(st.integers(3, 9))
    gaps = draw(st.lists(st.integers(10, 50), min_size=count, max_size=count))
    angles = np.cumsum(gaps) / (sum(gaps) + draw(st.integers(1, 30))) * 2 * np.pi
    radii = draw(
        st.lists(st.floats(2.0, largest_mm / 2), min_size=count, max_size=count).map(np.array)
    )
    points = np.column_stack([radii * np.cos(angles), radii * np.sin(angles)])
    shift = draw(st.tuples(st.floats(-50, 50), st.floats(-50, 50)))
    shape = shapely.Polygon(points + np.array(shift))
    shape = shape if shape.is_valid else shape.convex_hull
    hole = shape.buffer(-draw(st.floats(4.0, 12.0)))
    if draw(st.booleans()) and hole.geom_type == "Polygon" and hole.area > 1.0:
        return shapely.Polygon(shape.exterior, [hole.exterior])
    return shape


@st.composite
def problem(draw, most_items=4, most_copies=4):
    """Draw a few random items, one to three random beds, clearance and margin."""
    turns = st.sampled_from([(0.0,), (0.0, 90.0), (0.0, 90.0, 180.0, 270.0), (0.0, 37.0)])
    count = draw(st.integers(1, most_items))
    items = [
        item(
            f"part {number}",
            draw(star()),
            draw(st.integers(0, most_copies)),
            rotations_deg=draw(turns),
            seconds=draw(st.sampled_from([0.0, 100.0, 900.0])),
            grams=draw(st.sampled_from([0.0, 5.0])),
            height_mm=draw(st.sampled_from([1.0, 40.0])),
            priority=draw(st.integers(0, 2)),
        )
        for number in range(count)
    ]
    beds = [
        bed(
            f"bed {number}",
            draw(st.floats(50.0, 160.0)),
            draw(st.floats(50.0, 160.0)),
            count=draw(st.sampled_from([None, 1, 2])),
            keep_out=draw(st.sampled_from([(), (keep_out(0, 0, 20, 15),)])),
            limit_s=draw(st.sampled_from([float("inf"), 1000.0])),
            height_mm=draw(st.sampled_from([float("inf"), 20.0])),
        )
        for number in range(draw(st.integers(1, 3)))
    ]
    return (
        items,
        beds,
        draw(st.sampled_from([0.0, 2.0, 4.0, 7.3])),
        draw(st.sampled_from([0.0, 3.0])),
    )
