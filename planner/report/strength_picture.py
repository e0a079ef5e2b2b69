"""The part from two sides, coloured by the tension across its layers, the weakest layer drawn."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from planner.report.palette import PULLS
from planner.report.svg import element, fmt, label, picture, title
from planner.report.words import plain
from planner.solid.pose import rotation_to_up

if TYPE_CHECKING:
    from collections.abc import Iterable

    from numpy.typing import NDArray

    from planner.handover.orientation import Oriented
    from planner.strength.model import Direction

    Floats = NDArray[np.float64]
    Ints = NDArray[np.int64]

WORTH_SHOWING = 1.05
"""The better direction is drawn as well where it bears so many times as much (invented)."""

_WIDE, _HIGH, _GAP = 320.0, 260.0, 20.0
_HEAD, _FOOT = 26.0, 30.0
_SIDES = ((-35.0, "from the left"), (145.0, "from the right"))
_TILT_DEG = 25.0
_FINE = 4.0
"""Points are written in whole quarters of a unit: half the size, and as sharp as eyes are."""


def strength_picture(found: Oriented, *, own_style: bool = False) -> str:
    """Return an SVG: a row for the direction that is printed, one for a better one if there is.

    Facets are painted from the farthest to the nearest, by the load case with the most
    tension on the layers. `own_style` makes it a file that stands alone.
    """
    rows = _rows(found)
    most = max([one.layer_tension_mpa for one, _, _ in rows] + [1e-9])
    facets_mm = found.orientation.painted.facets_mm.astype(np.float64)
    drawn: list[str] = []
    down = 0.0
    for one, tension, words in rows:
        row, high = _row(facets_mm, tension, one, most_mpa=most, words=words)
        drawn.append(element("g", *row, transform=f"translate(0 {fmt(down)})"))
        down += high
    wide = 2 * _WIDE + _GAP
    return picture(
        *drawn,
        element("g", *_scale(most, wide), transform=f"translate(0 {fmt(down)})"),
        name=f"{plain(found.name)}: tension across the layers",
        width=wide,
        height=down + 46,
        px_width=wide,
        own_style=own_style,
    )


def _rows(found: Oriented) -> list[tuple[Direction, Floats, str]]:
    """Return direction, tension per facet and words of each row; what is printed comes first."""
    orientation = found.orientation
    given, best = orientation.as_given, orientation.practical
    painted = orientation.painted
    own = (given, painted.given_mpa.astype(np.float64), "as given")
    other = (best, painted.practical_mpa.astype(np.float64), "for comparison")
    if found.turned:
        return [(best, other[1], "turned so"), (given, own[1], "as it was")]
    return [own, other] if orientation.cost >= WORTH_SHOWING else [own]


def _row(
    facets_mm: Floats, tension: Floats, one: Direction, *, most_mpa: float, words: str
) -> tuple[list[str], float]:
    """Return what is drawn of one direction, both sides to one scale, and how high it is."""
    turn = rotation_to_up(one.up)
    facets = facets_mm @ turn.T
    step = np.clip(tension / most_mpa * PULLS, 0, PULLS - 1).astype(np.int64)
    weakest = turn @ np.array(one.weakest_mm)
    eyes = [_towards(azimuth) for azimuth, _ in _SIDES]
    spans = [np.ptp((facets @ eye.T).reshape(-1, 3)[:, :2], axis=0) for eye in eyes]
    wide_mm, high_mm = np.maximum(np.max(spans, axis=0), 1e-9).tolist()
    scale = min(_WIDE / wide_mm, _HIGH / high_mm)
    high = high_mm * scale
    heading = (
        f"{one.name} up ({words}): at most {one.layer_tension_mpa:.3g} MPa across the layers, "
        f"predicted factor {one.safety_factor:.2g}"
    )
    views = [
        element(
            "g",
            *_view(facets, step, eye, weakest=weakest, scale=scale, high=high),
            label(side, x=_WIDE / 2, y=high + 16, class_="soft", text_anchor="middle"),
            font_size=13,
            transform=f"translate({fmt(number * (_WIDE + _GAP))} {fmt(_HEAD)})",
        )
        for number, (eye, (_, side)) in enumerate(zip(eyes, _SIDES, strict=True))
    ]
    return [label(heading, x=0, y=16, font_size=14), *views], _HEAD + high + _FOOT


def _view(
    facets: Floats, step: Ints, eye: Floats, *, weakest: Floats, scale: float, high: float
) -> list[str]:
    """Return the facets of one side, farthest first, then the weakest layer and place."""
    seen = facets @ eye.T
    normal = np.cross(seen[:, 1] - seen[:, 0], seen[:, 2] - seen[:, 0])
    facing = normal[:, 2] > 0
    low, top = seen[..., :2].min(axis=(0, 1)), seen[..., :2].max(axis=(0, 1))
    aside = (_WIDE - float(top[0] - low[0]) * scale) / 2

    def place(points: Floats) -> Floats:
        flat = (points[..., :2] - low) * scale
        return np.stack([aside + flat[..., 0], high - flat[..., 1]], axis=-1)

    order = np.flatnonzero(facing)[np.argsort(seen[facing, :, 2].mean(axis=1), kind="stable")]
    shade = _shade(facets[order])
    drawn = _painted(place(seen[order]), step[order], shade)
    x, y = place(weakest @ eye.T)
    mark = element(
        "circle", title("the weakest place"), cx=float(x), cy=float(y), r=5, class_="weak"
    )
    return [*drawn, _layer(place(_cut(facets, float(weakest[2])) @ eye.T)), mark]


def _towards(azimuth_deg: float) -> Floats:
    """Return the rotation to (right, upwards, towards the eye) of an eye a little above."""
    turn, tilt = np.radians(azimuth_deg), np.radians(_TILT_DEG)
    away = np.array([np.sin(turn) * np.cos(tilt), -np.cos(turn) * np.cos(tilt), np.sin(tilt)])
    right = np.array([np.cos(turn), np.sin(turn), 0.0])
    return np.array([right, np.cross(away, right), away])


def _shade(facets: Floats) -> Ints:
    """Return 0 for what faces up, 1 and 2 for the sides: a shape shows where no colour does."""
    normal = np.cross(facets[:, 1] - facets[:, 0], facets[:, 2] - facets[:, 0])
    normal /= np.maximum(np.linalg.norm(normal, axis=1), 1e-12)[:, None]
    sides = np.where(np.abs(normal[:, 0]) > np.abs(normal[:, 1]), 2, 1)
    shade: Ints = np.where(normal[:, 2] > 0.6, 0, sides)
    return shade


def _cut(facets: Floats, level: float) -> Floats:
    """Return (s, 2, 3) pieces of the outline of the layer at this height."""
    above = facets[..., 2] > level
    count = above.sum(axis=1)
    cut = (count > 0) & (count < 3)
    crossed, above, count = facets[cut], above[cut], count[cut]
    # Each of them has one corner by itself, above or below.
    first = np.argmax(above == (count == 1)[:, None], axis=1)
    order = (first[:, None] + np.arange(3)) % 3
    a, b, c = np.moveaxis(np.take_along_axis(crossed, order[:, :, None], axis=1), 1, 0)

    def at(end: Floats) -> Floats:
        share = (level - a[:, 2]) / (end[:, 2] - a[:, 2])
        place: Floats = a + share[:, None] * (end - a)
        return place

    pieces: Floats = np.stack([at(b), at(c)], axis=1)
    return pieces


def _layer(pieces: Floats) -> str:
    line = "".join(f"M{_whole(piece)}" for piece in pieces)
    return element(
        "path",
        title("the weakest layer"),
        d=line or "M0 0",
        class_="layer",
        transform=f"scale({fmt(1 / _FINE, 4)})",
    )


def _painted(facets: Floats, step: Ints, shade: Ints) -> list[str]:
    """Return paths in painting order; neighbours in it of one colour share a path."""
    colour = step * 3 + shade
    starts = np.flatnonzero(np.diff(colour, prepend=-1))
    paths = [
        element(
            "path",
            d="".join(f"M{_whole(facet)}z" for facet in facets[first:past]),
            class_=f"pull-{step[first] + 1}-{shade[first]}",
        )
        for first, past in zip(starts, [*starts[1:], len(colour)], strict=True)
    ]
    return [element("g", *paths, transform=f"scale({fmt(1 / _FINE, 4)})", class_="pulled")]


def _whole(points: Floats) -> str:
    """Write points in whole steps: the first, then how far on each lies."""
    places = np.rint(points * _FINE).astype(np.int64)
    steps = np.diff(places, axis=0)
    return f"{places[0, 0]} {places[0, 1]}l{_run(steps.ravel().tolist())}"


def _run(numbers: Iterable[int]) -> str:
    """Write numbers with a blank between them unless a minus parts them.

    >>> _run([3, -4, 0])
    '3-4 0'
    """
    return "".join(f"{'' if n < 0 else ' '}{n}" for n in numbers).strip()


def _scale(most_mpa: float, wide: float) -> list[str]:
    """Return the legend: one box per step, with the tension where it begins."""
    each = (wide - 320.0) / PULLS
    left = 260.0
    drawn = [
        element("path", d=f"M0 21h{fmt(20)}", class_="layer"),
        label("weakest layer", x=26, y=25, font_size=13),
        element("circle", cx=134, cy=21, r=5, class_="weak"),
        label("weakest place", x=144, y=25, font_size=13),
    ]
    for number in range(PULLS):
        x = left + number * each
        box = {"x": x, "y": 10, "width": each, "height": 12}
        drawn.append(element("rect", class_=f"pull-{number + 1}-0", **box))
        starts = f"{most_mpa * number / PULLS:.2g}"
        drawn.append(label(starts, x=x, y=38, text_anchor="middle", font_size=13))
    end = label(f"{most_mpa:.2g} MPa", x=left + PULLS * each, y=38, text_anchor="middle")
    return [*drawn, element("g", end, font_size=13)]
