"""What an invented plate is made of, and what is true of it."""

from __future__ import annotations

from dataclasses import dataclass, field
from math import pi


@dataclass(frozen=True, kw_only=True)
class Recipe:
    """How to lay and how to write a plate; lengths in mm, speeds in mm/s."""

    name: str
    shapes: tuple = ()
    layer: float = 0.2
    first: float = 0.2
    offset: float = 0.0
    heights: tuple[float, ...] = ()
    width: float = 0.45
    outer_width: float | None = None
    first_width: float | None = None
    bead: str = "rectangle"
    flow: float = 1.0
    walls: int = 3
    top: int = 4
    bottom: int = 3
    infill: float = 0.2
    pattern: str = "lines"
    every: int = 1
    joined: bool = False
    solid_concentric: bool = False
    alternating: bool = False
    inner_first: bool = True
    fuzz: float = 0.0
    support: bool = False
    support_gap: int = 1
    brim: int = 0
    skirt: int = 0
    raft: int = 0
    raft_gap: float = 0.15
    ironing: bool = False
    spiral: bool = False
    in_turn: bool = False
    coast: float = 0.0
    strand: str = "relative"
    reset: bool = True
    strand_unit: str = "mm"
    diameter: float = 1.75
    inches: bool = False
    arcs: bool = False
    relative: bool = False
    pull: str = "E"
    hop: float = 0.0
    numbers: bool = False
    lies: bool = False
    modal: bool = False
    zero_words: bool = True
    nozzle: float = 210.0
    first_nozzle: float | None = None
    bed: float = 60.0
    fan: float = 1.0
    fan_from: int = 2
    speeds: dict = field(
        default_factory=lambda: {
            "outer": 40.0,
            "inner": 60.0,
            "solid": 70.0,
            "sparse": 80.0,
            "support": 70.0,
            "brim": 30.0,
            "raft": 40.0,
            "iron": 25.0,
            "travel": 150.0,
            "first": 25.0,
        }
    )
    gain: float = 1500.0
    corner: float | None = 8.0

    def section(self, width, height):
        """Area of a laid line, flow left out."""
        if self.bead == "rectangle":
            return width * height
        return (width - height) * height + pi * height**2 / 4

    def spacing(self, width, height):
        """Distance of lines that fill a layer wholly."""
        return self.section(width, height) / height


@dataclass(frozen=True, kw_only=True)
class Truth:
    """What is true of a plate as written."""

    layer: float
    first_commanded: float
    first_fed: float
    heights: tuple[float, ...]
    width: float
    walls: tuple[int, ...]
    thin: tuple[bool, ...]
    top: tuple[int | None, ...]
    bottom: tuple[int | None, ...]
    infill: tuple[float | None, ...]
    support: bool
    brim_mm: float
    raft: bool
    spiral: bool
    ironing: bool
    in_turn: bool
    parts: int
    filament_mm: float
    moves: list
    """(line, start, end, strand, speed) of every move, for an outside clock."""
