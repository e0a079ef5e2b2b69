"""The board itself: panels, keys, standoffs, caps, trims and the coupon to try fits with.

Everything is drawn as it is best printed: panels lie on their front, so the blind pockets
for the keys open upwards and no ceiling has to be bridged.
"""

from __future__ import annotations

from manifold3d import CrossSection, JoinType, Manifold

from toolwall import dimensions as d
from toolwall.outlines import block, bow_tie, centred, chamfered, disc, polygon, rectangle


def panel(columns: int = 4) -> Manifold:
    """Return a panel with two rows of `columns` slots; the front is z = 0.

    Its nominal outline, seams included, runs from (0, 0) to (25 x columns, 100).
    """
    wide, tall = columns * d.SLOT_PITCH_ACROSS_MM, d.PITCH_MM
    plate = chamfered(
        wide - d.SEAM_GAP_MM, tall - d.SEAM_GAP_MM, d.PANEL_THICK_MM, at_top=False
    ).translate((wide / 2, tall / 2, 0))
    through = _slots(columns) + _notches(wide, tall)
    return (
        plate
        - through.extrude(3 * d.PANEL_THICK_MM).translate((0, 0, -d.PANEL_THICK_MM))
        - _pockets(wide, tall)
    )


def _slots(columns: int) -> CrossSection:
    shape = CrossSection()
    for column in range(columns):
        for row in range(2):
            x = (column + 0.5) * d.SLOT_PITCH_ACROSS_MM
            y = (row + 0.5) * d.SLOT_PITCH_UP_MM
            shape += centred(x, y, d.SLOT_WIDE_MM, d.SLOT_TALL_MM)
    return shape


def _notches(wide_mm: float, tall_mm: float) -> CrossSection:
    side = 2 * d.NOTCH_MM
    corners = [(x, y) for x in (0.0, wide_mm) for y in (0.0, tall_mm)]
    shape = CrossSection()
    for x, y in corners:
        shape += centred(x, y, side, side)
    return shape


def _pockets(wide_mm: float, tall_mm: float) -> Manifold:
    """Return what is cut from the back for half a bow-tie in the middle of each edge."""
    lying, standing = bow_tie(), bow_tie().rotate(90)
    shape = (
        lying.translate((wide_mm / 2, 0))
        + lying.translate((wide_mm / 2, tall_mm))
        + standing.translate((0, tall_mm / 2))
        + standing.translate((wide_mm, tall_mm / 2))
    )
    return shape.extrude(2 * d.POCKET_DEEP_MM).translate(
        (0, 0, d.PANEL_THICK_MM - d.POCKET_DEEP_MM)
    )


def key() -> Manifold:
    """Return a bow-tie key: the pocket's outline, shrunk by the clearance."""
    return bow_tie().offset(-d.KEY_GAP_MM, JoinType.Miter, 4.0).extrude(d.KEY_THICK_MM)


def standoff() -> Manifold:
    """Return the pillar behind the corners of four panels, its foot on z = 0."""
    foot, wide, flare = d.STANDOFF_WIDE_MM - 6, d.STANDOFF_WIDE_MM, d.STANDOFF_TALL_MM / 2
    flaring = CrossSection.square((foot, foot), center=True).extrude(
        flare, scale_top=(wide / foot, wide / foot)
    )
    table = CrossSection.square((wide, wide), center=True).extrude(d.STANDOFF_TALL_MM - flare)
    boss = CrossSection.square((d.BOSS_WIDE_MM, d.BOSS_WIDE_MM), center=True)
    pillar = (
        flaring
        + table.translate((0, 0, flare))
        + boss.extrude(d.BOSS_TALL_MM).translate((0, 0, d.STANDOFF_TALL_MM))
    )
    return pillar - _screw_hole()


def cap() -> Manifold:
    """Return the plate that clamps the corners from the front, with a countersunk hole."""
    plate = chamfered(d.STANDOFF_WIDE_MM, d.STANDOFF_WIDE_MM, d.CAP_THICK_MM, at_top=True)
    deep = (d.SCREW_HEAD_MM - d.SCREW_HOLE_MM) / 2  # a 90 degree countersink
    sink = Manifold.cylinder(
        deep, d.SCREW_HOLE_MM / 2, d.SCREW_HEAD_MM / 2, d.ROUND_SEGMENTS
    ).translate((0, 0, d.CAP_THICK_MM - deep))
    return plate - _screw_hole() - sink


def _screw_hole() -> Manifold:
    return disc(0, 0, d.SCREW_HOLE_MM / 2).extrude(60).translate((0, 0, -20))


def trim_edge() -> Manifold:
    """Return the strip along a panel's free edge, back on z = 0; its tab fills a pocket."""
    long, wide = d.PITCH_MM, d.TRIM_WIDE_MM
    strip = chamfered(long - d.SEAM_GAP_MM, wide, d.PANEL_THICK_MM, at_top=True)
    strip = strip.translate((long / 2, -wide / 2, 0))
    half = bow_tie().offset(-d.KEY_GAP_MM, JoinType.Miter, 4.0)
    tab = (half ^ rectangle(-20, -1, 20, 20)).translate((long / 2, 0))
    notches = centred(0, 0, 2 * d.NOTCH_MM, 2 * d.NOTCH_MM)
    notches += notches.translate((long, 0))
    return strip + tab.extrude(d.KEY_THICK_MM) - notches.extrude(60).translate((0, 0, -20))


def trim_corner() -> Manifold:
    """Return the piece between two trims, held by the cap at the corner of the wall."""
    wide = d.TRIM_WIDE_MM
    outline = (
        rectangle(-wide / 2, -wide, 0, 0)
        + rectangle(-wide, -wide / 2, 0, 0)
        + disc(-wide / 2, -wide / 2, wide / 2)
    )
    return (outline - centred(0, 0, 2 * d.NOTCH_MM, 2 * d.NOTCH_MM)).extrude(d.PANEL_THICK_MM)


def wedge() -> Manifold:
    """Return the wedge that fills a slot above a tongue, so that it cannot be lifted out."""
    thin, thick = d.TONGUE_DROP_MM, d.TONGUE_DROP_MM + d.TONGUE_DROP_GAP_MM
    shank = polygon((0, 0), (12, 0), (12, thin), (0, thick))
    head = rectangle(-3, -2, 0, thick + 2)
    return (shank + head).extrude(d.TONGUE_THICK_MM - 0.1)


COUPON_GAPS_MM = (0.2, 0.3, 0.4, 0.6)
"""Slot width over tongue thickness, rung by rung, marked by one to four grooves."""
COUPON_KEY_GAPS_MM = (0.05, 0.15, 0.25)
"""Clearance per side of the three key pockets that take the same key."""


def fit_coupon() -> Manifold:
    """Return a plate to try fits with: a ladder of slots, three key pockets and a tongue."""
    plate = rectangle(0, 0, 84, 46)
    tab = rectangle(84, 14.3, 96, 14.3 + d.TONGUE_TALL_MM)
    slots = CrossSection()
    marks = Manifold()
    for rung, gap in enumerate(COUPON_GAPS_MM):
        x = 12.0 + 20 * rung
        slots += centred(x, 12, d.TONGUE_THICK_MM + gap, d.SLOT_TALL_MM)
        for mark in range(rung + 1):
            marks += block((x - 4.5 + 2.4 * mark, 23, d.PANEL_THICK_MM - 0.6), (1.2, 4, 2))
    body = plate.extrude(d.PANEL_THICK_MM) + tab.extrude(d.TONGUE_THICK_MM)
    cut = slots.extrude(60).translate((0, 0, -20))
    return body - cut - marks - _coupon_pockets()


def _coupon_pockets() -> Manifold:
    shape = CrossSection()
    for number, gap in enumerate(COUPON_KEY_GAPS_MM):
        grown = bow_tie().offset(gap - d.KEY_GAP_MM, JoinType.Miter, 4.0)
        shape += grown.translate((14.0 + 28 * number, 46))
    return shape.extrude(20).translate((0, 0, d.PANEL_THICK_MM - d.POCKET_DEEP_MM))
