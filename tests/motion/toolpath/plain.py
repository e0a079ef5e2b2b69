"""A toolpath interpreter as one would write it first: line by line, word by word.

Written from the meaning of the words (NISTIR 6556 and the firmware command lists of the trade),
not from the package: an outside check of its running sums and forward fills.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field

WORD = re.compile(r"([A-Z])([-+]?(?:\d+\.?\d*|\.\d+)?)")


@dataclass
class Move:
    """One move, lengths in mm, feed in mm/s."""

    line: int
    start: tuple[float, float, float]
    end: tuple[float, float, float]
    strand: float
    deposit: float
    feed: float
    rests: bool


@dataclass
class Interpreter:
    """State of the machine; `moves` grows line by line."""

    place: dict = field(default_factory=lambda: dict.fromkeys("XYZE", 0.0))
    origin: dict = field(default_factory=lambda: dict.fromkeys("XYZE", 0.0))
    moves: list = field(default_factory=list)
    dwell: float = 0.0
    unit: float = 1.0
    relative: bool = False
    strand_relative: bool = False
    strand_follows: bool = False
    feed: float | None = None
    feed_share: float = 1.0
    flow_share: float = 1.0
    strand: float = 0.0
    furthest: float = 0.0
    motion: int | None = None
    rests: bool = True
    pulled: bool = False

    def run(self, text):
        """Interpret all lines."""
        for number, line in enumerate(text.splitlines(), 1):
            bare = re.sub(r"\([^)]*\)?|;.*", "", line).upper().replace(" ", "").replace("\t", "")
            self.line(number, WORD.findall(bare.split("*")[0]))
        return self

    def line(self, number, words):
        """Interpret one line: modes first, then what moves (the order of NISTIR 6556)."""
        gs = [float(v) for k, v in words if k == "G"]
        ms = [float(v) for k, v in words if k == "M"]
        values = {k: float(v) if v else None for k, v in words if k not in "GMN"}
        for g in gs:
            self.mode(g)
        for m in ms:
            self.machine(m, values)
        if "F" in values and not ms:
            self.feed = values["F"] * self.unit / 60
        motions = [g for g in gs if g in {0, 1}]
        self.motion = motions[-1] if motions else self.motion
        if 28 in gs:
            self.home(values)
        elif 92 in gs:
            self.count(values)
        elif 4 in gs:
            self.dwell += values.get("S", 0) + values.get("P", 0) / 1000
            self.rests = True
        elif 10 in gs or 11 in gs:
            self.pull(number, back=10 in gs)
        elif not ms and any(axis in values for axis in "XYZE"):
            self.move(number, values)

    def mode(self, g):
        """G20, G21, G90, G91."""
        self.unit = {20: 25.4, 21: 1.0}.get(g, self.unit)
        if g in {90, 91}:
            self.relative = self.strand_follows = g == 91

    def machine(self, m, values):
        """M82, M83, M220, M221, M400."""
        if m in {82, 83}:
            self.strand_relative = m == 83
            self.strand_follows = self.strand_follows and m == 83
        if m == 220:
            self.feed_share = values["S"] / 100
        if m == 221:
            self.flow_share = values["S"] / 100
        if m == 400:
            self.rests = True

    def home(self, values):
        """G28: the axes named, or all, are at 0 in every count."""
        named = [axis for axis in "XYZ" if axis in values] or list("XYZ")
        for axis in named:
            self.place[axis] = self.origin[axis] = 0.0
        self.rests = True

    def count(self, values):
        """G92: the place stays, its coordinates change."""
        for axis in "XYZE":
            if axis in values:
                self.origin[axis] += self.place[axis] - values[axis] * self.unit
                self.place[axis] = values[axis] * self.unit

    def pull(self, number, *, back):
        """G10 and G11 move 1 mm at 35 mm/s; a second one does nothing."""
        if back != self.pulled:
            here = self.here()
            self.moves.append(
                Move(number, here, here, -1.0 if back else 1.0, 0.0, 35.0, self.rests)
            )
            self.pulled, self.rests = back, False

    def here(self):
        """Place of the machine."""
        return tuple(self.place[axis] + self.origin[axis] for axis in "XYZ")

    def move(self, number, values):
        """G0 and G1."""
        start, strand = self.here(), self.place["E"]
        for axis in "XYZE":
            if axis in values:
                adds = self.relative if axis != "E" else self.strand_relative or self.strand_follows
                value = values[axis] * self.unit
                self.place[axis] = self.place[axis] + value if adds else value
        fed = (self.place["E"] - strand) * self.flow_share
        self.strand += fed
        deposit = max(0.0, self.strand - self.furthest)
        self.furthest = max(self.furthest, self.strand)
        if start != self.here() or fed:
            feed = float("inf") if self.feed is None else self.feed * self.feed_share
            move = Move(number, start, self.here(), fed, deposit, feed, self.rests)
            self.moves.append(move)
            self.rests = False
