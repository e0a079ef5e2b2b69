"""Screws for all walls: where they go, what each bears, and what to heed."""

from __future__ import annotations

from typing import TYPE_CHECKING, get_args

import numpy as np

from planner.job.layout.model import Pattern
from planner.strength.fixings import CAUTIONS
from planner.wall.model import Fixing, FixingShare, Mounting, Skipped
from planner.wall.mounting.keepaway import CABLES, may_run
from planner.wall.mounting.notes import notes
from planner.wall.mounting.share import ASSUMPTIONS
from planner.wall.mounting.tried import ground, tried

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from planner.job.layout.model import Walls
    from planner.wall.model import Counted, Panelling
    from planner.wall.mounting.tried import Tried

ALSO_CAUTIONS = (
    (
        "the strips kept free are British rules for new work: elsewhere, in old houses and where "
        "a thin wall has sockets on its other side, cables run otherwise; never drill above, "
        "below or beside an outlet, and expect pipes and gas too (mpaq.com.au; CIPHE and UK "
        "Power Networks, Think before you drill)"
    ),
    "this is for upright walls: none of it holds for a ceiling or over a bed",
)

ALSO_ASSUMPTIONS = (
    (
        "strips up, down and sideways from sockets, switches and pipes cross the whole wall and "
        "are as wide as the cut-out at least; a pipe drawn long runs on its own way only"
    ),
    "least distances count from the wall's outline and from cut-outs, not from cells left out",
)


def mount(counted: Counted) -> Mounting:
    """Place the screws of the pattern on every wall and check what they bear.

    A junction too near an edge, or where cables or pipes may run, is skipped with its reason;
    the other screws bear its load. Never raises: a wall that cannot be held so is told in
    `notes`, in sentences that begin "stop", which come first.
    """
    walls = counted.walls
    found, told = [], []
    for panelling in counted.panellings:
        chosen, every = _every_pattern(panelling, walls)
        found.append(chosen)
        told += list(notes(chosen, every))
    loads = [share for one in found for share in _shares(one)]
    loads.sort(key=lambda one: -np.hypot(one.shear_n, one.pull_n))
    return Mounting(
        fixings=tuple(fixing for one in found for fixing in _fixings(one)),
        skipped=tuple(skipped for one in found for skipped in _skipped(one)),
        loads=tuple(loads),
        notes=tuple(sorted([*_of_all(walls, found), *told], key=lambda note: note[:5] != "stop:")),
        assumptions=(*ASSUMPTIONS, *ALSO_ASSUMPTIONS),
        cautions=(*CAUTIONS, *ALSO_CAUTIONS),
    )


def _every_pattern(panelling: Panelling, walls: Walls) -> tuple[Tried, list[Tried]]:
    """Try the pattern that was asked for and, where something is hung, the others too."""
    bare = ground(panelling, walls)
    chosen = tried(bare, walls.pattern)
    if not np.any(bare.load.weight_n > 0):
        return chosen, []
    patterns: tuple[Pattern, ...] = get_args(Pattern)
    return chosen, [chosen if one == walls.pattern else tried(bare, one) for one in patterns]


def _fixings(found: Tried) -> list[Fixing]:
    screws, name = found.screws, found.ground.wall.name
    columns = (screws.x_mm, screws.y_mm, screws.column, screws.row, found.stud)
    return [
        Fixing(wall=name, x_mm=x, y_mm=y, column=column, row=row, stud=stud)
        for x, y, column, row, stud in zip(*(each.tolist() for each in columns), strict=True)
    ]


def _skipped(found: Tried) -> list[Skipped]:
    name = found.ground.wall.name
    return [Skipped(wall=name, x_mm=x, y_mm=y, why=why) for x, y, why in found.left_out]


def _shares(found: Tried) -> list[FixingShare]:
    """Tell what each screw bears; nothing where nothing is known to hang."""
    if found.worst is None:
        return []
    shared, used = found.shared, found.used
    return [
        FixingShare(
            fixing=fixing,
            shear_n=float(shared.shear_n[number]),
            pull_n=float(shared.pull_n[number]),
            used=None if used is None else float(used[number]),
        )
        for number, fixing in enumerate(_fixings(found))
        if shared.known[number]
    ]


def _of_all(walls: Walls, found: Sequence[Tried]) -> Iterator[str]:
    """Tell what holds for all walls alike."""
    if walls.anchor is None:
        yield "no anchor is described: no least distance from edges is kept, no load compared"
    elif walls.anchor.rated_n is None:
        yield f"anchor '{walls.anchor.name}': its rated load is not said, so none is compared"
    if any(may_run(why) for one in found for *_, why in one.left_out):
        yield (
            "find cables and pipes with a detector before you drill anywhere; the strips kept "
            f"free follow {CABLES}"
        )
