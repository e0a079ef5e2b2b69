"""Mating parts put together: nothing overlaps and the clearances are those promised."""

from __future__ import annotations

import pytest
from toolwall import board, hung
from toolwall import dimensions as d

# Put in a slot of the panel as seen from the wall: the panel's front is z = 0 and faces down,
# so 'out of the wall' is -z. A part drawn as it hangs has y out of the wall and z upwards.
SLOT_X, SLOT_Y = 37.5, 75.0


def on_panel(hanging, *, drop: float = 0.1):
    """Hang a part drawn as used (y out, z up, x along) in a slot of a panel.

    `drop` lets the neck hover that far above the slot's lower edge; the tongue is centred
    in the slot's width and the back lies 0.1 mm off the panel's front.
    """
    turned = hanging.transform([[-1, 0, 0, 0], [0, 0, 1, 0], [0, -1, 0, 0]])
    x = SLOT_X + d.TONGUE_THICK_MM / 2
    y = SLOT_Y - d.SLOT_TALL_MM / 2 + drop
    return turned.translate((x, y, -0.1))


HUNG = {
    "single hook": hung.upright(hung.hook_single()),
    "double hook": hung.upright(hung.hook_double()),
    "long hook": hung.hook_long(),
    "wrench cradle": hung.wrench_cradle(),
    "shelf bracket": hung.shelf_bracket(),
    "hose cradle": hung.hose_cradle(),
    "hanger": hung.upright(hung.hanger()),
}


@pytest.mark.parametrize("name", HUNG)
def test_hung_part_clears_the_panel(name):
    """Side play is half the gap, grip play what is left behind the panel."""
    part = on_panel(HUNG[name])
    wall = board.panel() + board.panel().translate((0, -d.PITCH_MM, 0))

    assert (part ^ wall).volume() == pytest.approx(0, abs=1e-9)
    assert part.min_gap(wall, 5) == pytest.approx(0.1, abs=1e-6)


@pytest.mark.parametrize("name", HUNG)
def test_lip_hides_behind_the_panel(name):
    """The lip hangs below the slot: pulled outwards, the part meets the panel's back."""
    pulled = on_panel(HUNG[name]).translate((0, 0, -0.5))

    assert (pulled ^ board.panel()).volume() > d.TONGUE_DROP_MM * d.TONGUE_THICK_MM * 0.05


def test_tongue_passes_its_slot():
    """Going in, the whole tongue must pass: its height and thickness with the stated play."""
    tongue = hung.tongue().bounds()

    assert tongue[3] - tongue[1] == pytest.approx(d.SLOT_TALL_MM - d.TONGUE_DROP_GAP_MM)
    assert pytest.approx(d.TONGUE_GAP_MM) == d.SLOT_WIDE_MM - d.TONGUE_THICK_MM


def test_there_is_room_for_the_lip_between_panel_and_wall():
    """Standoff and hanger both leave more than grip play and lip together."""
    assert d.STANDOFF_TALL_MM > d.TONGUE_GRIP_GAP_MM + d.LIP_THICK_MM
    assert d.HANGER_SPACER_MM > d.TONGUE_GRIP_GAP_MM + d.LIP_THICK_MM


def test_key_lies_in_the_pockets_of_two_panels():
    """Clearance all round; the key is a little below the back of the panels."""
    panels = board.panel() + board.panel().translate((d.PITCH_MM, 0, 0))
    floor = d.PANEL_THICK_MM - d.POCKET_DEEP_MM
    key = board.key().rotate((0, 0, 90)).translate((d.PITCH_MM, d.PITCH_MM / 2, floor + 0.1))

    assert (key ^ panels).volume() == pytest.approx(0, abs=1e-9)
    assert key.min_gap(panels, 5) == pytest.approx(0.1, abs=1e-6)
    lifted = key.translate((0, 0, -0.1 + 0.2))
    assert lifted.bounding_box()[5] == pytest.approx(d.PANEL_THICK_MM)
    assert key.translate((1, 0, 0)).min_gap(panels, 5) == 0, "the bow-tie must hold"


def test_boss_fills_the_hole_where_four_panels_meet():
    """The boss stays a little below the front, so the cap clamps panels and not the boss."""
    four = [board.panel().translate((x, y, 0)) for x in (0, d.PITCH_MM) for y in (0, d.PITCH_MM)]
    panels = four[0] + four[1] + four[2] + four[3]
    turned = board.standoff().rotate((180, 0, 0))
    standoff = turned.translate((d.PITCH_MM, d.PITCH_MM, d.PANEL_THICK_MM + d.STANDOFF_TALL_MM))

    assert (standoff ^ panels).volume() == pytest.approx(0, abs=1e-9)
    assert standoff.bounding_box()[2] == pytest.approx(0.2)
    pushed = standoff.translate((d.BOSS_GAP_MM + 0.05, 0, 0))
    assert (pushed ^ panels).volume() > 0
    assert (standoff.translate((d.BOSS_GAP_MM - 0.05, 0, 0)) ^ panels).volume() == pytest.approx(
        0, abs=1e-9
    )


def test_trim_tab_lies_in_the_pocket_of_the_edge():
    """Seen from the wall: the trim's back is flush with the panel's back."""
    trim = board.trim_edge().rotate((0, 180, 0)).translate((d.PITCH_MM, 0, d.PANEL_THICK_MM))
    panel = board.panel()

    assert (trim ^ panel).volume() == pytest.approx(0, abs=1e-9)
    assert trim.min_gap(panel, 5) == pytest.approx(d.KEY_GAP_MM, abs=0.06)


def test_hooks_hang_in_the_rail_as_in_a_panel():
    """The slots between the ends have the panel's thickness; nothing of the hook overlaps."""
    hook = on_panel(hung.upright(hung.hook_single()))
    rail = hung.rail().transform([[1, 0, 0, 0], [0, 1, 0, 0], [0, 0, -1, d.PANEL_THICK_MM]])
    placed = rail.translate((SLOT_X - 2 - 37.5, SLOT_Y - 18, 0))

    assert (hook ^ placed).volume() == pytest.approx(0, abs=1e-9)
    assert hook.min_gap(placed, 5) == pytest.approx(0.1, abs=1e-6)


CARRIED = {  # what hangs on hangers: the part, the x of a slot, the height of its top
    "small bin": (hung.bin_small(), -12.5, 46 - 5),
    "large bin": (hung.bin_large(), 37.5, 62 - 5),
    "spoke holder": (hung.spoke_holder(), -12.5, 72 - 5),
    "screwdriver rack": (hung.screwdriver_rack(), -37.5, 34 - 4),
    # The rail is drawn lying, its back down: its y becomes up, its z out of the wall.
    "rail": (
        hung.rail().transform([[-1, 0, 0, 0], [0, 0, 1, 0], [0, 1, 0, 0]]),
        -14.5,
        18 + d.SLOT_TALL_MM / 2,
    ),
}


@pytest.mark.parametrize("name", CARRIED)
def test_carried_part_hangs_on_a_hanger(name):
    """A slot, lowered over the hanger's lip, rests on the neck; the lip then holds it."""
    part, at_x, slot_top = CARRIED[name]
    hanger = hung.upright(hung.hanger()).translate(
        (at_x - d.TONGUE_THICK_MM / 2, -d.HANGER_SPACER_MM - 0.1, 0)
    )
    hung_up = part.translate((0, 0, d.NECK_TALL_MM - slot_top + 0.1))

    assert (hanger ^ hung_up).volume() == pytest.approx(0, abs=1e-9)
    assert hanger.min_gap(hung_up, 5) == pytest.approx(0.1, abs=1e-6)
    assert (hanger.translate((0, -1, 0)) ^ hung_up).volume() > 0


def test_coupon_slots_grow_rung_by_rung():
    """A 4 mm gauge passes rung k only if it is under the tongue's thickness plus its gap."""
    coupon = board.fit_coupon()
    for rung, gap in enumerate(board.COUPON_GAPS_MM):
        for extra, passes in ((-0.02, True), (0.02, False)):
            wide = d.TONGUE_THICK_MM + gap + extra
            gauge = hung.block((12 + 20 * rung - wide / 2, 4, -5), (wide, 16, 20))
            free = (gauge ^ coupon).volume() < 1e-9
            assert free is passes, f"rung {rung}, gauge {wide:.2f} mm"
