"""Mixes of printed-part shapes for the benchmarks: invented, drawn with a few numbers each."""

from __future__ import annotations

import math

import numpy as np
import shapely

from planner.nest.model import Bed, Item
from planner.settings.model import Rectangle
from planner.solid.model import Footprint

box = shapely.box


def ell(wide, high, thick):
    return box(0, 0, wide, thick).union(box(0, 0, thick, high))


def trough(wide, high, thick):
    return box(0, 0, wide, high).difference(box(thick, thick, wide - thick, high + 1))


def tee(wide, high, thick):
    return box(0, 0, wide, thick).union(box((wide - thick) / 2, 0, (wide + thick) / 2, high))


def hook(wide, high, thick):
    return ell(wide, high, thick).union(box(wide - thick, 0, wide, high * 0.5))


def frame(wide, high, thick):
    return box(0, 0, wide, high).difference(box(thick, thick, wide - thick, high - thick))


def disc(radius):
    return shapely.Point(0, 0).buffer(radius)


def ring(outer, inner):
    return disc(outer).difference(disc(inner))


def wedge(wide, high):
    return shapely.Polygon([(0, 0), (wide, 0), (0, high)])


def bow(wide, high):
    """Return a key with a waist, as between two panels."""
    return shapely.Polygon(
        [(0, 0), (wide / 2, high * 0.3), (wide, 0), (wide, high), (wide / 2, high * 0.7), (0, high)]
    )


def panel(side):
    """Return a square panel with two slots."""
    whole = box(0, 0, side, side)
    for x in (side * 0.2, side * 0.6):
        whole = whole.difference(box(x, side * 0.1, x + side * 0.15, side * 0.9))
    return whole


def nut(radius):
    turns = [i * math.pi / 3 for i in range(6)]
    return shapely.Polygon([(radius * math.cos(t), radius * math.sin(t)) for t in turns])


def arc(radius, thick, degrees):
    """Return a bent strip."""
    turns = [math.radians(t) for t in np.linspace(0, degrees, 24)]
    return shapely.LineString([(radius * math.cos(t), radius * math.sin(t)) for t in turns]).buffer(
        thick / 2
    )


def spanner(length, thick):
    """Return a bar with a head at each end."""
    bar = shapely.LineString([(0, 0), (length, 0)]).buffer(thick / 2)
    return bar.union(disc(thick)).union(box(length - thick, -thick, length + thick, thick))


def stones(seed, radii, copies):
    """Random simple outlines: corners at growing angles."""
    random = np.random.default_rng(seed)
    rows = []
    for radius, count in zip(radii, copies, strict=True):
        corners = int(random.integers(7, 14))
        angles = np.sort(random.uniform(0, 2 * math.pi, corners))
        reach = radius * random.uniform(0.4, 1.0, corners)
        shape = shapely.Polygon(
            np.column_stack([reach * np.cos(angles), reach * np.sin(angles)])
        ).buffer(0)
        rows.append((max(shapely.get_parts(shape), key=lambda part: part.area), count))
    return rows


def bed(name, wide, deep, *, count=None, keep_out=()):
    return Bed(
        id=name,
        width_mm=wide,
        depth_mm=deep,
        count=count,
        keep_out=tuple(
            Rectangle(x_min_mm=a, y_min_mm=b, x_max_mm=c, y_max_mm=d) for a, b, c, d in keep_out
        ),
    )


def items(rows):
    return [
        Item(id=f"part {number}", footprint=footprint(shape), quantity=count)
        for number, (shape, count) in enumerate(rows)
    ]


def footprint(shape):
    polygons = [shapely.geometry.polygon.orient(part) for part in shapely.get_parts(shape)]
    return Footprint(
        polygons_mm=tuple(
            tuple(np.array(line.coords)[:-1] for line in (part.exterior, *part.interiors))
            for part in polygons
        )
    )


WALL = [
    (panel(90), 24), (bow(24, 18), 60), (ell(60, 40, 12), 14), (trough(50, 40, 10), 12),
    (tee(60, 45, 12), 12), (hook(70, 50, 10), 10), (ring(30, 22), 8), (frame(80, 60, 8), 6),
    (wedge(60, 40), 16), (disc(12), 20), (box(0, 0, 120, 18), 10), (box(0, 0, 180, 20), 4),
    (nut(20), 14), (ell(100, 30, 15), 6), (ring(14, 4), 30), (box(0, 0, 40, 30), 14),
    (trough(90, 70, 12), 5), (tee(100, 80, 16), 5),
]  # fmt: skip
BRACKETS = [
    (ell(90, 90, 18), 20), (ell(70, 120, 14), 12), (wedge(80, 80), 20), (hook(80, 90, 12), 14),
    (trough(80, 60, 9), 16), (tee(90, 70, 12), 12), (box(0, 0, 60, 25), 24), (disc(9), 40),
    (arc(45, 12, 180), 14), (arc(30, 10, 120), 18), (spanner(110, 10), 12), (ring(22, 14), 18),
]  # fmt: skip
BINS = [
    (box(0, 0, 100, 70), 18), (box(0, 0, 70, 50), 24), (frame(120, 90, 6), 10), (nut(16), 40),
    (frame(70, 50, 5), 14), (bow(30, 22), 40), (ring(40, 34), 10), (disc(15), 24),
    (trough(100, 50, 8), 12), (box(0, 0, 150, 12), 14), (wedge(90, 45), 16), (panel(60), 20),
    (ell(50, 50, 9), 26), (tee(60, 60, 10), 14),
]  # fmt: skip
LARGE = [
    (panel(130), 10), (frame(160, 110, 12), 8), (hook(140, 110, 16), 8), (ell(150, 100, 20), 10),
    (arc(70, 16, 200), 8), (trough(120, 90, 14), 8), (spanner(170, 14), 8), (wedge(120, 90), 10),
    (box(0, 0, 90, 60), 16), (tee(110, 90, 18), 10), (disc(25), 20), (bow(40, 26), 30),
    (nut(24), 20), (box(0, 0, 45, 20), 24),
]  # fmt: skip
STONES = stones(
    2, [60, 50, 45, 40, 38, 35, 33, 30, 28, 26, 24, 22, 20, 18, 16, 14],
    [14, 11, 8, 9, 12, 16, 11, 7, 12, 16, 15, 14, 13, 15, 12, 13],
)  # fmt: skip
PEBBLES = stones(
    5, [44, 42, 40, 38, 36, 34, 32, 30, 28, 26, 24, 22, 20, 18, 16, 15, 14, 13, 12, 11],
    [15] * 20,
)  # fmt: skip

CLIP = (0, 0, 20, 15)
MIXES = {
    "wall on 220": (items(WALL), [bed("open", 220, 220, keep_out=[CLIP])], 4.0, 3.0),
    "wall on three": (
        items(WALL),
        [
            bed("small", 180, 180, count=4),
            bed("open", 220, 220),
            bed("big", 300, 300, count=3, keep_out=[(0, 280, 60, 300)]),
        ],
        4.0,
        3.0,
    ),
    "brackets on 250": (items(BRACKETS), [bed("b", 250, 210)], 4.0, 3.0),
    "bins on 220": (items(BINS), [bed("b", 220, 220)], 3.0, 3.0),
    "large on 300": (items(LARGE), [bed("b", 300, 300, keep_out=[CLIP])], 5.0, 4.0),
    "stones on 250": (items(STONES), [bed("b", 250, 210)], 5.0, 3.0),
    "pebbles on 180": (items(PEBBLES), [bed("b", 180, 180)], 4.0, 3.0),
    "brackets on two": (
        items(BRACKETS + BINS[-4:]),
        [bed("a", 235, 235, count=3), bed("b", 256, 256, keep_out=[(0, 0, 18, 28)])],
        4.0,
        2.0,
    ),
}
