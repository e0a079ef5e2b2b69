"""How ambiguous words are read, said to the user where it mattered."""

from __future__ import annotations

INCH_STRAND = "E under G20 is taken in inches, like the axes"
STRAND_UNDER_G91 = "E under G91 is taken as relative, until G90 or M82"
STRAND_FEED = "the feed of a move of the filament alone is taken as speed of the filament"
RAPID = "G0 is taken to move at the feed in force, like G1, and at full speed before any feed"
MODAL = "lines with coordinates and no G word are taken to repeat the last motion"
DWELL = "G4 P is taken in milliseconds"
PULL = "G10 and G11 without M207 are taken to move 1 mm of filament at 35 mm/s"
AXIS_SPEED = "M203 is taken in mm/s"
UNKNOWN_START = "the head is taken to start at 0, 0, 0: the file does not home"
UNFINISHED = "the last line has no line end: the file may be cut off"
STILL_HOT = "the file ends with the nozzle still heated: it may be cut off"
