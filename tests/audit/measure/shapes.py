"""Shapes for invented plates: a shape gives its cut, a shapely area, at any height."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from shapely import Point, Polygon, affinity, box, unary_union


@dataclass(frozen=True)
class Slab:
    """An area from one height to another."""

    area: object
    low: float
    high: float


@dataclass(frozen=True)
class Shape:
    """Slabs stacked on each other; `cut` joins those that reach a height."""

    slabs: tuple[Slab, ...]

    @property
    def height(self):
        """Top of the highest slab."""
        return max(slab.high for slab in self.slabs)

    def cut(self, z):
        """Area at a height."""
        met = [slab.area for slab in self.slabs if slab.low < z < slab.high]
        return unary_union(met) if met else Polygon()

    def moved(self, x, y, turn=0.0):
        """Return the shape turned about its origin (degrees) and moved."""
        return Shape(
            tuple(
                Slab(
                    affinity.translate(affinity.rotate(s.area, turn, origin=(0, 0)), x, y),
                    s.low,
                    s.high,
                )
                for s in self.slabs
            )
        )


@dataclass(frozen=True)
class Cone:
    """A round part that narrows evenly: every layer differs."""

    x: float
    y: float
    radius: float
    top: float
    height: float

    def cut(self, z):
        """Disc at a height."""
        if not 0 < z < self.height:
            return Polygon()
        radius = self.radius + (self.top - self.radius) * z / self.height
        return Point(self.x, self.y).buffer(radius, quad_segs=24)

    def moved(self, x, y, turn=0.0):
        """Return it moved."""
        return Cone(self.x + x, self.y + y, self.radius, self.top, self.height)


def disc(radius, x=0.0, y=0.0, sides=96):
    """Return a regular polygon close to a circle."""
    angle = np.arange(sides) * 2 * np.pi / sides
    return Polygon(np.column_stack([x + radius * np.cos(angle), y + radius * np.sin(angle)]))


def block(wide, deep, high):
    return Shape((Slab(box(0, 0, wide, deep), 0, high),))


def drilled(wide, deep, high, holes):
    """Return a block with round holes (x, y, radius)."""
    area = box(0, 0, wide, deep)
    for x, y, radius in holes:
        area = area.difference(disc(radius, x, y))
    return Shape((Slab(area, 0, high),))


def cylinder(radius, high):
    return Shape((Slab(disc(radius), 0, high),))


def ring(outer, inner, high):
    return Shape((Slab(disc(outer).difference(disc(inner)), 0, high),))


def steps(wide, deep, highs):
    """Return a stair: equal treads along x, each of its own height."""
    run = wide / len(highs)
    return Shape(
        tuple(
            Slab(box(i * run, 0, wide, deep), highs[i - 1] if i else 0, h)
            for i, h in enumerate(highs)
        )
    )


def angle(wide, deep, high, web):
    """Return an L seen from above."""
    return Shape((Slab(box(0, 0, wide, web).union(box(0, 0, web, deep)), 0, high),))


def table(wide, deep, high, leg, plate):
    """Return a plate on one leg at its side: it overhangs."""
    return Shape(
        (Slab(box(0, 0, leg, deep), 0, high), Slab(box(0, 0, wide, deep), high - plate, high))
    )


def nested(high):
    """Return rings inside each other on one plate: islands in holes, one part."""
    base = Slab(box(-20, -20, 20, 20), 0, 2.4)
    outer = box(-20, -20, 20, 20).difference(box(-13, -13, 13, 13))
    inner = box(-7, -7, 7, 7)
    return Shape((base, Slab(outer, 2.4, high), Slab(inner, 2.4, high)))


def hollow(wide, deep, high, rim, floor):
    """Return a closed box with a cavity inside."""
    whole = box(0, 0, wide, deep)
    return Shape(
        (
            Slab(whole, 0, floor),
            Slab(whole.difference(whole.buffer(-rim, join_style="mitre")), floor, high - floor),
            Slab(whole, high - floor, high),
        )
    )


def pocket(wide, deep, high, rim, floor):
    """Return an open tray."""
    whole = box(0, 0, wide, deep)
    return Shape(
        (
            Slab(whole, 0, floor),
            Slab(whole.difference(whole.buffer(-rim, join_style="mitre")), floor, high),
        )
    )


def comb(teeth, thick, gap, deep, high):
    """Return thin ribs on a solid back: sections where few walls fit."""
    back = box(0, 0, teeth * (thick + gap), 8)
    ribs = [box(i * (thick + gap), 0, i * (thick + gap) + thick, deep) for i in range(teeth)]
    return Shape((Slab(unary_union([back, *ribs]), 0, high),))
