"""What the drawings of one wall show, gathered and numbered once for all of them."""

from __future__ import annotations

from collections import Counter, defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING

from planner.report.wall.bands import bands_of
from planner.report.wall.runs import runs_of

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from planner.report.wall.bands import Band
    from planner.report.wall.sheet.marks import Segment
    from planner.wall.model import Counted, Fixing, Mounting, Panelling, Skipped
    from planner.wall.order.model import Kit

Numbered = tuple[int, "Fixing"]

_SPOTS = ("cell", "shared edge", "free edge", "junction", "fixing", "cells")


STOP_WORDS = "Stop, do not drill yet: the command wall says why"
"""What a drawing of a wall says that must not be mounted as it was told."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Subject:
    """One wall to draw; places in mm from its bottom left corner, the datum.

    `numbers` and `stages` are by part, and the same on all walls of a job; `counts` are of
    this wall. `shared` and `free` are the edges of cells, joined to lines as long as they run.
    At `stacked` spots several parts sit on top of each other. `kits` are those whose cells lie
    on this wall; `stops` the sentences that forbid to mount it so.
    """

    panelling: Panelling
    pitch_mm: tuple[float, float]
    fixings: tuple[Numbered, ...]
    skipped: tuple[Skipped, ...]
    bands: tuple[Band, ...]
    numbers: Mapping[str, int]
    stages: Mapping[str, int]
    counts: Mapping[str, int]
    shared: tuple[Segment, ...]
    free: tuple[Segment, ...]
    stacked: frozenset[str]
    kits: tuple[Kit, ...] = ()
    stops: tuple[str, ...] = ()

    @property
    def name(self) -> str:
        """The wall's name."""
        return self.panelling.wall.name

    @property
    def size_mm(self) -> tuple[float, float]:
        """Width and height of the wall."""
        return self.panelling.wall.width_mm, self.panelling.wall.height_mm


def subjects(
    counted: Counted,
    mounting: Mounting,
    stage_of: Mapping[str, int] | None = None,
    kits: Sequence[Kit] = (),
) -> tuple[Subject, ...]:
    """Return what is to be drawn of every wall, in the order of the walls.

    `stage_of` gives parts their stage of the assembly, 1 where nothing is said; the bags of
    `kits` are marked where they begin.
    """
    numbers, pitch_mm = part_numbers(counted), counted.walls.system.pitch_mm
    stages = {part: (stage_of or {}).get(part, 1) for part in numbers}
    return tuple(
        Subject(
            panelling=panelling,
            pitch_mm=pitch_mm,
            fixings=numbered_fixings(mounting, panelling.wall.name),
            skipped=tuple(left for left in mounting.skipped if left.wall == panelling.wall.name),
            bands=bands_of(panelling.wall, counted.walls.band_mm),
            numbers=numbers,
            stages=stages,
            counts=_counts(panelling),
            shared=runs_of((e for e in panelling.edges if e.shared), pitch_mm),
            free=runs_of((e for e in panelling.edges if not e.shared), pitch_mm),
            stacked=_stacked(panelling),
            kits=tuple(kit for kit in kits if kit.cells and kit.wall == panelling.wall.name),
            stops=tuple(
                note
                for note in mounting.notes
                if note.startswith(f"stop: wall '{panelling.wall.name}'")
            ),
        )
        for panelling in counted.panellings
    )


def numbered_fixings(mounting: Mounting, wall: str) -> tuple[Numbered, ...]:
    """Return the screws of a wall with numbers from 1, row by row from the bottom left."""
    mine = (fixing for fixing in mounting.fixings if fixing.wall == wall)
    ordered = sorted(mine, key=lambda fixing: (round(fixing.y_mm, 2), fixing.x_mm))
    return tuple(enumerate(ordered, start=1))


def part_numbers(counted: Counted) -> dict[str, int]:
    """Give every part of the walls a number from 1: the system's by their spots, then the rest."""
    spots: dict[str, int] = {}
    for panelling in counted.panellings:
        for placed in panelling.placed:
            rank = len(_SPOTS) if placed.hung else _SPOTS.index(placed.spot)
            spots[placed.part] = min(rank, spots.get(placed.part, rank))
        for part in _counts(panelling):
            spots.setdefault(part, len(_SPOTS))
    ordered = sorted(spots, key=lambda part: (spots[part], part))
    return {part: number for number, part in enumerate(ordered, start=1)}


def hung_by_cell(panelling: Panelling) -> dict[tuple[int, int], tuple[str, ...]]:
    """Return what hangs over which cell, in the order told; a thing twice where two hang."""
    found: defaultdict[tuple[int, int], list[str]] = defaultdict(list)
    for hung in panelling.wall.hung:
        found[hung.cell] += [hung.thing] * hung.count
    return {cell: tuple(things) for cell, things in found.items()}


def _stacked(panelling: Panelling) -> frozenset[str]:
    first: dict[tuple[str, float, float], str] = {}
    found = set()
    for placed in (each for each in panelling.placed if not each.hung):
        if first.setdefault((placed.spot, placed.x_mm, placed.y_mm), placed.part) != placed.part:
            found.add(placed.spot)
    return frozenset(found)


def _counts(panelling: Panelling) -> dict[str, int]:
    """Return what the wall needs of each part: as counted, accessories as told."""
    counts = {count.part: count.count for count in panelling.counts}
    placed = Counter(placed.part for placed in panelling.placed)
    hung: Counter[str] = Counter()
    for each in panelling.wall.hung:
        hung[each.thing] += each.count
    everything = sorted(counts.keys() | placed.keys() | hung.keys())
    return {part: counts.get(part) or max(placed[part], hung[part]) for part in everything}
