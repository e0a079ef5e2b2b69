"""One wall with the screws of one pattern: where they go, what they bear, whether they hold."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import ceil
from typing import TYPE_CHECKING

import numpy as np

from planner.strength.fixings import FACTOR
from planner.wall.mounting.boards import boards
from planner.wall.mounting.burdens import burdens
from planner.wall.mounting.keepaway import reasons
from planner.wall.mounting.places import places, taken
from planner.wall.mounting.share import share
from planner.wall.mounting.studs import on_stud

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from planner.job.layout.model import Anchor, Pattern, Walls, WallShape
    from planner.wall.model import Panelling
    from planner.wall.mounting.boards import Boards
    from planner.wall.mounting.burdens import Burdens
    from planner.wall.mounting.places import Places
    from planner.wall.mounting.share import Shared

    Bools = NDArray[np.bool_]
    Floats = NDArray[np.float64]

SAFE = 1.0 + 1e-9
"""Share of what an anchor may bear from which on it is overloaded, with a hair for rounding."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Ground:
    """One wall before any screw: its junctions, what may not be drilled and why, its loads."""

    panelling: Panelling
    anchor: Anchor | None
    where: Places
    why: Sequence[str]
    stud: Bools
    boards: Boards
    load: Burdens

    @property
    def wall(self) -> WallShape:
        """The wall as the user told it."""
        return self.panelling.wall

    @property
    def factor(self) -> float:
        """What the rated load is divided by."""
        return self.anchor.factor if self.anchor else FACTOR

    @property
    def rated_n(self) -> float | None:
        """What the maker says one anchor bears, None if unknown."""
        return self.anchor.rated_n if self.anchor else None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Tried:
    """The screws (n,) of one pattern and what they bear; `left_out` are (place, reason)."""

    ground: Ground
    pattern: Pattern
    screws: Places
    stud: Bools
    left_out: Sequence[tuple[float, float, str]]
    shared: Shared

    @property
    def worst(self) -> int | None:
        """Number of the screw that bears most, None where none is known to bear anything."""
        total_n = self.shared.total_n
        return int(np.argmax(total_n)) if np.any(total_n > 0) else None

    @property
    def rating_n(self) -> int:
        """Rated load that anchors must have at least, whole newtons."""
        worst_n = 0.0 if self.worst is None else float(self.shared.total_n[self.worst])
        return ceil(worst_n * self.ground.factor - 1e-9)

    @property
    def used(self) -> Floats | None:
        """Share of what its anchor may bear that each screw bears, (n,)."""
        rated_n = self.ground.rated_n
        return None if rated_n is None else self.shared.total_n * self.ground.factor / rated_n

    @property
    def most_used(self) -> float | None:
        """The largest share, None if the anchor's rated load is unknown."""
        return None if self.used is None else float(np.max(self.used, initial=0.0))

    @property
    def stands(self) -> bool:
        """Every board has two screws or more to tip against."""
        return not (self.shared.unheld or self.shared.single)

    @property
    def holds(self) -> bool:
        """It stands, and no screw is known to be overloaded."""
        return self.stands and (self.most_used or 0.0) <= SAFE

    def without_the_worst(self) -> Tried:
        """Let the screw that bears most slip out of the wall."""
        keep = np.arange(len(self.screws)) != self.worst
        return _hung(self, self.screws.only(keep), self.stud[keep])


def ground(panelling: Panelling, walls: Walls) -> Ground:
    """Look at one wall before screws are chosen."""
    wall, where = panelling.wall, places(panelling)
    found = boards(panelling, walls.system.pitch_mm[1])
    return Ground(
        panelling=panelling,
        anchor=walls.anchor,
        where=where,
        why=reasons(
            where,
            wall,
            edge_mm=walls.anchor.edge_mm if walls.anchor else 0.0,
            band_mm=walls.band_mm,
        ),
        stud=(
            on_stud(where.x_mm, wall.studs_mm)
            if wall.studs_mm
            else np.zeros(len(where), dtype=bool)
        ),
        boards=found,
        load=burdens(wall, walls, found),
    )


def tried(ground: Ground, pattern: Pattern) -> Tried:
    """Put in the screws of a pattern and share the loads over them."""
    where = ground.where
    clear = np.array([not why for why in ground.why], dtype=bool)
    wanted = taken(where, pattern, good=clear & ground.stud)
    keep = wanted & clear
    left_out = [
        (float(where.x_mm[number]), float(where.y_mm[number]), ground.why[number])
        for number in np.flatnonzero(wanted & ~clear).tolist()
    ]
    screws = where.only(keep)
    return Tried(
        ground=ground,
        pattern=pattern,
        screws=screws,
        stud=ground.stud[keep],
        left_out=left_out,
        shared=_shared(ground, screws),
    )


def _hung(before: Tried, screws: Places, stud: Bools) -> Tried:
    shared = _shared(before.ground, screws)
    return replace(before, screws=screws, stud=stud, shared=shared)


def _shared(ground: Ground, screws: Places) -> Shared:
    rated_n = ground.rated_n or 1.0  # unknown: any will do, the forces do not depend on it
    return share(screws, ground.boards, ground.load, bears_n=rated_n / ground.factor)
