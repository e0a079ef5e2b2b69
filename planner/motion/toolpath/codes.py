"""Which words mean what: G words of ISO 6983 and NISTIR 6556, M words of the extruder trade.

The M words stand in the firmware command lists of the trade; they have no standard.
"""

from __future__ import annotations

MOTION = (0, 1, 2, 3)
ARCS = (2, 3)
SETTING = (17, 18, 19, 20, 21, 40, 49, 54, 80, 90, 91, 91.1, 94)
"""G words that set a mode and leave the axis words of their line to a motion."""
DWELL, PULL, PUSH, HOME, COUNT_FROM = 4, 10, 11, 28, 92
LEVEL = (29, 30, 32, 33, 34)
"""Probing and levelling: takes time that no file states, as homing does."""

REFUSED = {
    5: "a spline",
    5.1: "a spline",
    5.2: "a spline",
    5.3: "a spline",
    6: "a direct move of motors",
    90.1: "arc centres as absolute positions",
    92.1: "a change of the origin",
    92.2: "a change of the origin",
    92.3: "a change of the origin",
    93: "feed as inverse time",
    95: "feed per revolution",
}
"""G words that move or redefine motion in a way that is not read: better refused than wrong."""

STRAND_ABSOLUTE, STRAND_RELATIVE = 82, 83
NOZZLE, BED = (104, 109), (140, 190)
FAN_ON, FAN_OFF = 106, 107
VOLUMETRIC, GAIN_BY_AXIS, SPEED_BY_AXIS, GAIN, CORNER, PULL_SETTING = 200, 201, 203, 204, 205, 207
FEED_PERCENT, FLOW_PERCENT = 220, 221
PAUSE = (0, 1, 25, 226, 600, 601)
NOZZLE_WAIT = (109, 116)
HEAT_AND_WAIT = (109, 116, 190, 191)
REST = (*PAUSE, *HEAT_AND_WAIT, 400)
"""M words at which the head stands still before the file goes on."""

KNOWN_G = {*MOTION, *SETTING, DWELL, PULL, PUSH, HOME, COUNT_FROM, *LEVEL}
KNOWN_M = {
    *(STRAND_ABSOLUTE, STRAND_RELATIVE, *NOZZLE, *BED, FAN_ON, FAN_OFF),
    *(VOLUMETRIC, GAIN_BY_AXIS, SPEED_BY_AXIS, GAIN, CORNER, PULL_SETTING),
    *(FEED_PERCENT, FLOW_PERCENT, *REST),
    *(2, 17, 18, 30, 84),  # end of program, motors on and off
    *(20, 21, 23, 24, 26, 27, 28, 29, 31, 73, 75, 76, 77, 105, 110, 114, 115, 117, 118),  # talk
    *(141, 302, 500, 501, 502, 503),  # chamber, cold strand, stored settings
}
"""M words that are followed, or that change neither path nor time nor strand."""
