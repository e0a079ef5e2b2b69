"""What hangs on the board: hooks, cradles, the shelf bracket, bins, racks and the rail.

A profile is drawn with the panel's front at x = 0, outwards +x and upwards +y, then made as
thick as it needs to be. The tongue lies flush with one side, so that side can be printed
flat on the bed and the layers run along the load instead of across it.
"""

from __future__ import annotations

from manifold3d import CrossSection, Manifold

from toolwall import dimensions as d
from toolwall.outlines import (
    block,
    centred,
    disc,
    filleted,
    polygon,
    rectangle,
    rounded,
    stroke,
    tongue,
    upright,
)


def _with_tongue(body: CrossSection, thick_mm: float) -> Manifold:
    return body.extrude(thick_mm) + tongue().extrude(d.TONGUE_THICK_MM)


def hook_single() -> Manifold:
    """Return a hook for one tool, drawn lying on its side."""
    back = rounded(rectangle(0, -26, 6, 16), 2)
    arm = stroke([(4, -19), (34, -19), (40, -8)], 3.6)
    brace = polygon((4, -26), (4, -40), (7, -40), (30, -21), (30, -18), (4, -18))
    return _with_tongue(_pressed(filleted(back + arm + brace, 3)), 9)


def hook_double() -> Manifold:
    """Return a hook with a long upper and a short lower arm, drawn lying on its side."""
    back = rounded(rectangle(0, -50, 6, 16), 2)
    upper = stroke([(4, -6), (44, -6), (50, 5)], 3.6)
    lower = stroke([(4, -42), (24, -42), (29, -33)], 3.6)
    return _with_tongue(_pressed(filleted(back + upper + lower, 4)), 9)


def hook_long() -> Manifold:
    """Return the hook for a wheel, drawn as it hangs (y out of the wall, z up).

    The front of its tip is flat, so it can also be stood on that.
    """
    back = rounded(rectangle(0, -34, 6, 20), 2)
    arm = rectangle(3, -12, 92, -2)
    brace = polygon((3, -34), (6, -34), (50, -12), (50, -8), (3, -8))
    crown = polygon((3, -6), (28, -6), (6, 20), (3, 20))
    tip = rounded(rectangle(86, -26, 96, 18), 2) + rectangle(94, -22, 96, 14)
    body = filleted(back + arm + brace + crown + tip, 4)
    return upright(_with_tongue(_pressed(body), 12))


def wrench_cradle() -> Manifold:
    """Return a deep flat cradle for long-handled wrenches, drawn as it hangs."""
    back = rounded(rectangle(0, -44, 6, 16), 2)
    trough = stroke([(4, -38), (34, -38), (36, -12)], 4)
    flare = stroke([(36, -12), (41, -6)], 4)
    return upright(_with_tongue(_pressed(filleted(back + trough + flare, 4)), 16))


def _pressed(body: CrossSection) -> CrossSection:
    """Cut off what would reach into the panel: the back lies flat against it."""
    return body ^ rectangle(0, -200, 400, 200)


def shelf_bracket() -> Manifold:
    """Return a bracket with a gusset and a flange for the board, drawn as it hangs."""
    top, low, reach, thick = 22.0, -74.0, 122.0, 5.0
    gusset = polygon((0, low), (8, low), (reach, top - 10), (reach, top), (0, top))
    window = rounded(polygon((18, -44), (80, 4), (18, 4)), 5)
    flange = rectangle(0, top - thick, reach, top)
    heel = rectangle(0, low, thick, top)
    web = (gusset - window).extrude(thick) + (flange + heel).extrude(22)
    tongues = tongue() + tongue().translate((0, -d.SLOT_PITCH_UP_MM))
    return upright(web + tongues.extrude(d.TONGUE_THICK_MM))


def hose_cradle() -> Manifold:
    """Return the saddle for inner tubes and hoses, drawn as it hangs."""
    radius, shell, wide = 32.0, 4.0, 40.0
    x, y = 40.0, -30.0
    upper = rectangle(0, y, 100, 100)
    saddle = (disc(x, y, radius) ^ upper) - disc(x, y, radius - shell)
    back = rectangle(0, -44, 5, 16)
    lip = rectangle(x + radius - shell, y, x + radius - 0.5, y + 4)
    rim = _pressed(filleted(saddle + back + lip, 2))
    # The web ends in the middle of the shell, so that no two faces nearly coincide.
    web = (disc(x, y, radius - shell / 2) ^ upper) + polygon((2, -42), (x, y), (2, y))
    return upright(_with_tongue(rim, wide) + web.extrude(d.TONGUE_THICK_MM))


def hanger() -> Manifold:
    """Return the flat link between the panel and anything that has slots in its back.

    A tongue drops behind the panel; on the other side a lip points up, over which the
    slot of a bin is lowered. The spacer leaves room for lips between a rail and the panel.
    """
    spacer, neck = d.HANGER_SPACER_MM, d.HUNG_WALL_MM + d.TONGUE_GRIP_GAP_MM
    front = spacer + neck
    body = rectangle(0, -10, spacer, 16)
    hold = rectangle(spacer, 0, front, d.NECK_TALL_MM)
    lip = polygon(
        (front, 0),
        (front + d.LIP_THICK_MM, 0),
        (front + d.LIP_THICK_MM, d.TONGUE_TALL_MM - 1),
        (front + d.LIP_THICK_MM - 1, d.TONGUE_TALL_MM),
        (front, d.TONGUE_TALL_MM),
    )
    return _with_tongue(body + hold + lip, d.TONGUE_THICK_MM)


def bin_open(wide_mm: float, deep_mm: float, tall_mm: float, slots_at_mm: float) -> Manifold:
    """Return an open bin standing on z = 0, its back at y = 0, centred on x = 0.

    The front is lower than the back so that small parts can be raked out; slots for two
    hangers sit at x = -+`slots_at_mm`.
    """
    front, rim = 0.55 * tall_mm, 0.45 * deep_mm
    outer = polygon((0, 0), (deep_mm, 0), (deep_mm, front), (rim, tall_mm), (0, tall_mm))
    inner = rectangle(d.HUNG_WALL_MM, d.BIN_FLOOR_MM, deep_mm - d.BIN_WALL_MM, tall_mm + 1)
    shell = outer.extrude(wide_mm) - inner.extrude(wide_mm - 2 * d.BIN_WALL_MM).translate(
        (0, 0, d.BIN_WALL_MM)
    )
    body = upright(shell).translate((-wide_mm / 2, 0, 0))
    return body - _hung_slots((-slots_at_mm, slots_at_mm), tall_mm - 5)


def _hung_slots(at_x_mm: tuple[float, ...], top_mm: float) -> Manifold:
    """Return the cutters for slots through a back of `HUNG_WALL_MM` at y = 0."""
    cut = Manifold()
    for x in at_x_mm:
        cut += block(
            (x - d.SLOT_WIDE_MM / 2, -5, top_mm - d.SLOT_TALL_MM),
            (d.SLOT_WIDE_MM, 5 + d.HUNG_WALL_MM + 2, d.SLOT_TALL_MM),
        )
    return cut


def bin_small() -> Manifold:
    """Return a bin two slots wide."""
    return bin_open(48, 62, 46, 12.5)


def bin_large() -> Manifold:
    """Return a bin four slots wide."""
    return bin_open(98, 84, 62, 37.5)


def spoke_holder() -> Manifold:
    """Return a tall box with three cells for loose spokes, each with a window in front."""
    wide, deep, tall, cells = 56.0, 26.0, 72.0, 3
    wall, floor = d.BIN_WALL_MM, 2.0
    room = (wide - (cells + 1) * wall) / cells
    box = block((-wide / 2, 0, 0), (wide, deep, tall))
    for cell in range(cells):
        x = -wide / 2 + wall + cell * (room + wall)
        inside = (room, deep - d.HUNG_WALL_MM - wall, tall)
        box -= block((x, d.HUNG_WALL_MM, floor), inside)
        box -= block((x + room / 2 - 3, deep - 5, 12), (6, 10, 42))
    return box - _hung_slots((-12.5, 12.5), tall - 5)


def screwdriver_rack() -> Manifold:
    """Return a shelf with open U-shaped notches, a slotted flange and two end gussets."""
    wide, deep, thick, tall = 98.0, 44.0, 5.0, 34.0
    shelf = rectangle(-wide / 2, 0, wide / 2, deep)
    for number in range(5):
        x = -38.0 + 19 * number
        shelf -= stroke([(x, 20), (x, deep + 10)], 4.5)
    flange = block((-wide / 2, 0, 0), (wide, d.HUNG_WALL_MM, tall))
    end = upright(polygon((0, 0), (deep, 0), (deep, thick + 2), (4, tall), (0, tall)).extrude(3))
    ends = end.translate((-wide / 2, 0, 0)) + end.translate((wide / 2 - 3, 0, 0))
    return shelf.extrude(thick) + flange + ends - _hung_slots((-37.5, 37.5), tall - 4)


def rail() -> Manifold:
    """Return a slotted strip that two hangers carry in front of the panels, back on z = 0.

    The end slots are thinned to the wall that a hanger takes; the slots between have the
    panel's thickness and take any tongue.
    """
    slots, tall = 6, 36.0
    long = slots * d.SLOT_PITCH_ACROSS_MM + 4
    outline = rounded(rectangle(0, 0, long, tall), 3)
    strip = outline.extrude(d.PANEL_THICK_MM)
    for number in range(slots):
        x = 2 + (number + 0.5) * d.SLOT_PITCH_ACROSS_MM
        hole = centred(x, tall / 2, d.SLOT_WIDE_MM, d.SLOT_TALL_MM)
        strip -= hole.extrude(60).translate((0, 0, -20))
        if number in (0, slots - 1):
            strip -= block((x - 6, 3, d.HUNG_WALL_MM), (12, tall - 6, 5))
    return strip


def label_plate() -> Manifold:
    """Return a plate to write on, front on z = 0, with a plain tongue to push in a slot."""
    face = rounded(rectangle(-24, -11, 24, 11), 3).extrude(2)
    peg = centred(0, 0, d.TONGUE_THICK_MM, d.TONGUE_TALL_MM - 1).extrude(7)
    return face + peg
