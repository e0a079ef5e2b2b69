"""Toolpaths made for the tests: nothing here came out of a program for printing."""

from __future__ import annotations

import math

from hypothesis import strategies as st

DECIMALS = st.integers(-300_000, 300_000).map(lambda n: f"{n / 1000:.3f}")
SMALL = st.integers(-50, 400).map(lambda n: f"{n / 100:g}")


def _motion(word):
    axes = st.fixed_dictionaries(
        {}, optional={"X": DECIMALS, "Y": DECIMALS, "Z": SMALL, "E": SMALL}
    )
    feeds = st.sampled_from(["", "", "F1800", "F600.5"])
    return st.tuples(st.just(word), axes, feeds).map(
        lambda parts: " ".join([parts[0], *(k + v for k, v in parts[1].items()), parts[2]]).strip()
    )


MOTIONS = st.sampled_from(["G1", "G1", "G1", "G0", "G01"]).flatmap(_motion)
MODAL = _motion("").filter(bool)
MODES = st.sampled_from(
    (
        *("G90", "G91", "G20", "G21", "M82", "M83", "G28", "G28 X", "G28 Y0 Z0"),
        *("G92 E0", "G92 X10 Y-3.5", "G92 Z1", "F1200", "M220 S80", "M221 S95"),
        *("G4 P250", "G4 S2", "M400", "G10", "G11", "G91 G1 X2 Y1 F900", "G20 G1 X1"),
        *("M105", "M204 S800", "M106 S128", "", "; a remark"),
    )
)
TOOLPATHS = st.lists(st.one_of(MOTIONS, MOTIONS, MODAL, MODES), min_size=1, max_size=60).map(
    lambda lines: "\n".join(["G1 X1 F3000", *lines, ""])
)
"""Toolpaths in which every move has a motion word and a feed to fall back on."""


def dressed(text, choice):
    """Return the same toolpath in other clothes: case, blanks, remarks, line ends, line numbers.

    `choice` is a list of whole numbers that decides how each line looks.
    """
    lines = []
    for number, line in enumerate(text.splitlines()):
        kind = choice[number % len(choice)] % 6
        lines.append(
            {
                0: line,
                1: line.lower(),
                2: "  " + line.replace(" ", ""),
                3: f"{line} ; G1 X5 (not a move)",
                4: f"(first G28) {line}\t(done)",
                5: _numbered(number, line),
            }[kind]
        )
    end = ["\n", "\r\n", "\r"][choice[0] % 3]
    return end.join(lines) + end


def _numbered(number, line):
    bare = f"N{number} {line.split(';')[0]}"
    return f"{bare}*{checksum(bare)}"


def checksum(text):
    """Exclusive or of all bytes."""
    total = 0
    for byte in text.encode():
        total ^= byte
    return total


def plate(layers=3, sides=40, radius=20.0, layer=0.2, strand_per_mm=0.033):
    """Return a round wall with retractions, z-hops, absolute E that starts anew on each layer."""
    lines = ["; a plate", "G21", "G90", "M82", "M140 S60", "M104 S205", "G28", "M190 S60"]
    lines += ["M109 S205", "G92 E0", "M204 P1000 T1500", "M205 X8 Y8"]
    for level in range(layers):
        z, fed = (level + 1) * layer, 0.8
        lines += [f"G0 X{110 + radius:.3f} Y110 Z{z + 0.4:.2f} F9000", f"G0 Z{z:.2f}"]
        lines += ["G1 E0.8 F2100", "G1 F1800", "M106 S255" if level else "M107"]
        for side in range(1, sides + 1):
            angle = 2 * math.pi * side / sides
            fed += strand_per_mm * 2 * radius * math.sin(math.pi / sides)
            x, y = 110 + radius * math.cos(angle), 110 + radius * math.sin(angle)
            lines.append(f"G1 X{x:.3f} Y{y:.3f} E{fed:.5f}")
        lines += [f"G1 E{fed - 0.8:.5f} F2100", "G92 E0"]
    lines += ["M104 S0", "M140 S0", "M107", "G91", "G1 Z5 F600", "G90", "M84"]
    return "\n".join(lines) + "\n"
