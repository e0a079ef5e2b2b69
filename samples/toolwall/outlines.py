"""Flat outlines from which the parts are drawn; lengths in mm."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

from manifold3d import CrossSection, JoinType, Manifold

from toolwall import dimensions as d

if TYPE_CHECKING:
    from collections.abc import Sequence


def rectangle(x_min_mm: float, y_min_mm: float, x_max_mm: float, y_max_mm: float) -> CrossSection:
    """Return an upright rectangle given by two opposite corners."""
    size = (x_max_mm - x_min_mm, y_max_mm - y_min_mm)
    return CrossSection.square(size).translate((x_min_mm, y_min_mm))


def centred(x_mm: float, y_mm: float, wide_mm: float, tall_mm: float) -> CrossSection:
    """Return a rectangle about a centre."""
    return CrossSection.square((wide_mm, tall_mm), center=True).translate((x_mm, y_mm))


def polygon(*corners: tuple[float, float]) -> CrossSection:
    """Return a polygon from its corners, counter-clockwise."""
    return CrossSection([list(corners)])


def disc(x_mm: float, y_mm: float, radius_mm: float) -> CrossSection:
    """Return a many-sided disc."""
    return CrossSection.circle(radius_mm, d.ROUND_SEGMENTS).translate((x_mm, y_mm))


def stroke(path: Sequence[tuple[float, float]], radius_mm: float) -> CrossSection:
    """Return the trace of a disc drawn along straight pieces."""
    discs = [disc(x, y, radius_mm) for x, y in path]
    shape = CrossSection()
    for first, second in pairwise(discs):
        shape += CrossSection.batch_hull([first, second])
    return shape


def filleted(shape: CrossSection, radius_mm: float) -> CrossSection:
    """Return the shape with its inner corners rounded: grown and shrunk again."""
    grown = shape.offset(radius_mm, JoinType.Miter, 4.0)
    return grown.offset(-radius_mm, JoinType.Round, 2.0, d.ROUND_SEGMENTS).simplify(0.005)


def rounded(shape: CrossSection, radius_mm: float) -> CrossSection:
    """Return the shape with its outer corners rounded: shrunk and grown again."""
    shrunk = shape.offset(-radius_mm, JoinType.Miter, 4.0)
    return shrunk.offset(radius_mm, JoinType.Round, 2.0, d.ROUND_SEGMENTS).simplify(0.005)


def bow_tie() -> CrossSection:
    """Return the bow-tie that two facing pockets make, its waist on the seam (y = 0)."""
    waist, end, reach = d.KEY_WAIST_MM / 2, d.KEY_END_MM / 2, d.KEY_REACH_MM
    return polygon(
        (-end, -reach), (end, -reach), (waist, 0), (end, reach), (-end, reach), (-waist, 0)
    )


def tongue() -> CrossSection:
    """Return a tongue seen from the side: the panel's front is x = 0, the wall lies at -x.

    The neck's lower edge is y = 0; the lip hangs below it, with a corner cut to lead in.
    """
    back, lead = -d.NECK_LONG_MM - d.LIP_THICK_MM, 1.0
    return polygon(
        (0, 0),
        (0, d.NECK_TALL_MM),
        (back + lead, d.NECK_TALL_MM),
        (back, d.NECK_TALL_MM - lead),
        (back, -d.TONGUE_DROP_MM + lead),
        (back + lead, -d.TONGUE_DROP_MM),
        (-d.NECK_LONG_MM, -d.TONGUE_DROP_MM),
        (-d.NECK_LONG_MM, 0),
    )


def block(corner_mm: tuple[float, float, float], size_mm: tuple[float, float, float]) -> Manifold:
    """Return a box from its lowest corner and its size."""
    return Manifold.cube(size_mm).translate(corner_mm)


def chamfered(wide_mm: float, deep_mm: float, tall_mm: float, *, at_top: bool) -> Manifold:
    """Return a plate centred on the z axis, chamfered along its upper or lower edges."""
    cut = d.EDGE_CHAMFER_MM
    big, small = (wide_mm, deep_mm), (wide_mm - 2 * cut, deep_mm - 2 * cut)
    body = CrossSection.square(big, center=True).extrude(tall_mm - cut)
    scale = (small[0] / big[0], small[1] / big[1])
    rim = CrossSection.square(big, center=True).extrude(cut, scale_top=scale)
    plate = body + rim.translate((0, 0, tall_mm - cut))
    return plate if at_top else plate.mirror((0, 0, 1)).translate((0, 0, tall_mm))


def upright(flat: Manifold) -> Manifold:
    """Turn a profile drawn lying down into the position of use.

    The profile's x (out of the wall) becomes y, its y (up) becomes z, its z becomes x: a
    cyclic exchange of axes, so nothing is mirrored.
    """
    return flat.transform([[0, 0, 1, 0], [1, 0, 0, 0], [0, 1, 0, 0]])
