"""Sizes that several parts share, in mm; each says where it comes from.

'Invented' means chosen for the demonstration. Clearances are 'common practice, no source':
0.2 to 0.3 mm for parts that shall sit tight, 0.4 to 0.6 mm for parts that shall slide.
"""

from __future__ import annotations

# The board, invented: a hand's width of pitch, thick enough for four walls beside a slot.
PITCH_MM = 100.0
PANEL_THICK_MM = 5.0
SLOT_PITCH_ACROSS_MM = 25.0
SLOT_PITCH_UP_MM = 50.0
NOTCH_MM = 7.0
"""Side of the square cut out of each corner: four of them make room for a standoff."""
EDGE_CHAMFER_MM = 0.8
"""Takes up the spread of a first layer (common practice, no source)."""

# Gaps between parts, common practice, no source.
SEAM_GAP_MM = 0.4
"""Between neighbouring panels; half of it is taken off each edge."""
TONGUE_GAP_MM = 0.4
"""Slot width over tongue thickness: slides in by hand."""
TONGUE_DROP_GAP_MM = 0.6
"""Slot height over tongue height: the tongue is tilted a little as it goes in."""
TONGUE_GRIP_GAP_MM = 0.3
"""Between the lip of a tongue and the back of the panel."""
KEY_GAP_MM = 0.15
"""Per side, all round a bow-tie key: pressed in by thumb."""
BOSS_GAP_MM = 0.2
"""Per side, between a standoff's boss and the four notches."""

# Tongue and slot, invented.
TONGUE_THICK_MM = 4.0
TONGUE_TALL_MM = 17.4
TONGUE_DROP_MM = 5.0
"""How far the lip hangs behind the panel once the part has been let down."""
LIP_THICK_MM = 4.0
SLOT_WIDE_MM = TONGUE_THICK_MM + TONGUE_GAP_MM
SLOT_TALL_MM = TONGUE_TALL_MM + TONGUE_DROP_GAP_MM
NECK_TALL_MM = TONGUE_TALL_MM - TONGUE_DROP_MM
NECK_LONG_MM = PANEL_THICK_MM + TONGUE_GRIP_GAP_MM

# Bow-tie keys, invented; pockets are blind, from the back, so the front stays plain.
KEY_WAIST_MM = 8.0
KEY_END_MM = 14.0
KEY_REACH_MM = 9.0
"""From the seam to the end of the pocket, in each panel."""
POCKET_DEEP_MM = 3.0
KEY_THICK_MM = POCKET_DEEP_MM - 0.2  # lies a little below the back, common practice

# Standoffs, invented; the screw is a 5 mm countersunk wood screw.
STANDOFF_WIDE_MM = 24.0
STANDOFF_TALL_MM = 10.0
"""Room behind the panel; more than a lip is thick, so that tongues can drop."""
BOSS_WIDE_MM = 2 * (NOTCH_MM - BOSS_GAP_MM)
BOSS_TALL_MM = PANEL_THICK_MM - 0.2  # the cap shall press on the panels, not on the boss
SCREW_HOLE_MM = 5.4
SCREW_HEAD_MM = 10.4
CAP_THICK_MM = 3.4

# Things that hang on hangers rather than by tongues of their own, invented.
HUNG_WALL_MM = 3.2
HANGER_SPACER_MM = 6.0
"""From the panel to what hangs on a hanger: more than grip play and a lip."""
BIN_WALL_MM = 1.6
BIN_FLOOR_MM = 1.6
TRIM_WIDE_MM = 12.0

ROUND_SEGMENTS = 32
"""Straight pieces per full circle; their sagitta is 0.5 % of the radius: r (1 - cos(pi/32))."""
