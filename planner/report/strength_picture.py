"""The part from two sides, coloured by the tension across its layers, the weakest layer drawn."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from planner.report.svg import element, fmt, label, title
from planner.solid.pose import rotation_to_up
from planner.strength.field import as_tensors

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from planner.handover.orientation import Oriented
    from planner.strength.field import StressField

    Floats = NDArray[np.float64]

STEPS = ("#3b6ea8", "#7fa8cf", "#c9d8e3", "#f0d9a0", "#e59a55", "#b3312c")
"""From no tension to the most: blue to red by way of pale, told apart without red and green."""

MOST_FACETS = 5000
"""Triangles are cut up until there are about so many: keeps a picture near 100 kB."""

_WIDE, _HIGH, _GAP = 320.0, 300.0, 20.0
_SIDES = ((-35.0, "from the left"), (145.0, "from the right"))
_TILT_DEG = 25.0


def strength_picture(found: Oriented, *, up: tuple[float, float, float] | None = None) -> str:
    """Return an SVG of the part standing in a build direction (the one as given if None).

    Facets are painted from the farthest to the nearest, by the load case with the most
    tension on the layers.
    """
    orientation = found.orientation
    chosen = (
        orientation.as_given
        if up is None
        else min(orientation.directions, key=lambda one: -float(np.dot(one.up, up)))
    )
    axis = np.array(chosen.up)
    field = max(orientation.fields, key=lambda one: float(layer_tension(one, axis).max()))
    facets, tension = _facets(found, field, axis)
    turn = rotation_to_up(chosen.up)
    most = max(chosen.layer_tension_mpa, 1e-9)
    level = float(np.dot(chosen.weakest_mm, axis))
    views = [
        element(
            "g",
            *_view(facets @ turn.T, tension / most, azimuth, level=level),
            label(words, x=_WIDE / 2, y=_HIGH + 14, text_anchor="middle", font_size=11),
            transform=f"translate({fmt(number * (_WIDE + _GAP))} 24)",
        )
        for number, (azimuth, words) in enumerate(_SIDES)
    ]
    wide, high = 2 * _WIDE + _GAP, _HIGH + 90
    heading = f"{found.name}: tension across the layers, {chosen.name} up"
    return element(
        "svg",
        title(heading),
        label(heading, x=wide / 2, y=14, text_anchor="middle", font_size=13),
        *views,
        *_scale(most, wide),
        xmlns="http://www.w3.org/2000/svg",
        viewBox=f"0 0 {fmt(wide)} {fmt(high)}",
        font_family="sans-serif",
        fill="#51606c",
        role="img",
    )


def layer_tension(field: StressField, up: Floats) -> Floats:
    """Return (surface,): tension across layers at the surface points, 0 where it is pressure."""
    stress = as_tensors(field.stress_mpa[: field.surface])
    tension: Floats = np.maximum(np.einsum("i,nij,j->n", up, stress, up), 0.0)
    return np.where(field.counts[: field.surface], tension, 0.0)


def _facets(found: Oriented, field: StressField, up: Floats) -> tuple[Floats, Floats]:
    """Return (f, 3, 3) facets, large triangles cut up, and the tension at each."""
    from scipy.spatial import cKDTree  # noqa: PLC0415  kept out of the start-up path

    solid = found.solid
    facets = solid.vertices_mm[solid.triangles]
    limit_mm = max(float(np.ptp(solid.vertices_mm, axis=0).max()) / 45, 1.5 * field.brick_mm)
    while len(facets) < MOST_FACETS:
        sides = np.linalg.norm(np.roll(facets, -1, axis=1) - facets, axis=2)
        long = sides.max(axis=1) > limit_mm
        if not long.any():
            break
        facets = np.concatenate([facets[~long], _halved(facets[long], sides[long])])
    _, nearest = cKDTree(field.points_mm[: field.surface]).query(facets.mean(axis=1))
    return facets, layer_tension(field, up)[nearest]


def _halved(facets: Floats, sides: Floats) -> Floats:
    """Cut triangles in two across their longest side."""
    order = (np.argmax(sides, axis=1)[:, None] + np.arange(3)) % 3
    a, b, c = np.moveaxis(np.take_along_axis(facets, order[:, :, None], axis=1), 1, 0)
    middle = (a + b) / 2
    return np.concatenate([np.stack([a, middle, c], 1), np.stack([middle, b, c], 1)])


def _view(facets: Floats, share: Floats, azimuth_deg: float, *, level: float) -> list[str]:
    """Return the polygons of one side, farthest first, and the weakest layer as a frame."""
    eye = _towards(azimuth_deg)
    seen = facets @ eye.T
    normal = np.cross(seen[:, 1] - seen[:, 0], seen[:, 2] - seen[:, 0])
    facing = normal[:, 2] > 0
    low, high = seen[..., :2].min(axis=(0, 1)), seen[..., :2].max(axis=(0, 1))
    scale = float(min(_WIDE / max(high[0] - low[0], 1e-9), _HIGH / max(high[1] - low[1], 1e-9)))
    aside = (_WIDE - float(high[0] - low[0]) * scale) / 2

    def place(points: Floats) -> Floats:
        flat = (points[..., :2] - low) * scale
        return np.stack([aside + flat[..., 0], _HIGH - flat[..., 1]], axis=-1)

    order = np.flatnonzero(facing)[np.argsort(seen[facing, :, 2].mean(axis=1), kind="stable")]
    colour = np.minimum((np.clip(share, 0, 1) * len(STEPS)).astype(int), len(STEPS) - 1)
    drawn = _painted(place(seen[order]), colour[order])
    corners = facets.reshape(-1, 3)
    x, y = (np.array([corners[:, axis].min(), corners[:, axis].max()]) for axis in (0, 1))
    frame = np.array([[x[i], y[j], level] for i, j in ((0, 0), (1, 0), (1, 1), (0, 1))])
    outline = _points(place(frame @ eye.T))
    drawn.append(
        element(
            "polygon",
            title("the weakest layer"),
            points=outline,
            fill="none",
            stroke="#17222c",
            stroke_width=1.2,
            stroke_dasharray="5 3",
        )
    )
    return drawn


def _towards(azimuth_deg: float) -> Floats:
    """Return the rotation to (right, upwards, towards the eye) of an eye a little above."""
    turn, tilt = np.radians(azimuth_deg), np.radians(_TILT_DEG)
    away = np.array([np.sin(turn) * np.cos(tilt), -np.cos(turn) * np.cos(tilt), np.sin(tilt)])
    right = np.array([np.cos(turn), np.sin(turn), 0.0])
    return np.array([right, np.cross(away, right), away])


def _painted(facets: Floats, colour: NDArray[np.int64]) -> list[str]:
    """Return paths in painting order; neighbours in it of one colour share a path."""
    starts = np.flatnonzero(np.diff(colour, prepend=-1))
    drawn = []
    for first, past in zip(starts, [*starts[1:], len(colour)], strict=True):
        paint = STEPS[colour[first]]
        line = "".join(f"M{_points(facet)}Z" for facet in facets[first:past])
        drawn.append(element("path", d=line, fill=paint, stroke=paint, stroke_width=0.6))
    return drawn


def _points(points: Floats) -> str:
    return " ".join(f"{fmt(x, 1)},{fmt(y, 1)}" for x, y in points)


def _scale(most_mpa: float, wide: float) -> list[str]:
    """Return the legend: one box per step, with the tension where it begins."""
    each = wide / (2 * len(STEPS))
    drawn = []
    for number, colour in enumerate(STEPS):
        x = wide / 4 + number * each
        drawn.append(element("rect", x=x, y=_HIGH + 48, width=each, height=10, fill=colour))
        starts = f"{most_mpa * number / len(STEPS):.3g}"
        drawn.append(label(starts, x=x, y=_HIGH + 72, text_anchor="middle", font_size=10))
    drawn.append(label(f"{most_mpa:.3g} MPa", x=wide * 0.75, y=_HIGH + 72, font_size=10))
    drawn.append(label("dashed: the weakest layer", x=0, y=_HIGH + 72, font_size=10))
    return drawn
