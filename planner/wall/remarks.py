"""What is to be said of a wall that can be built all the same."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from planner.document.wording import shown
from planner.wall.naming import cell_name, cells_named

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from planner.job.layout.model import WallShape
    from planner.wall.graph import Place


def remarks_on(wall: WallShape, groups: Sequence[Sequence[Place]]) -> tuple[str, ...]:
    """Return sentences on cells that hang apart, cells that were drawn in vain, and doubles."""
    name = f"the wall {shown(wall.name)}"
    return (*_apart(name, groups), *_in_vain(name, wall, groups), *_doubles(name, wall))


def _apart(name: str, groups: Sequence[Sequence[Place]]) -> Iterator[str]:
    for number, group in enumerate(groups[1:], start=2):
        cells = "1 cell" if len(group) == 1 else f"{len(group)} cells"
        yield (
            f"{name} is in {len(groups)} pieces that share no edge: piece {number} has {cells}, "
            f"{cells_named(group)}; level each piece by itself"
        )


def _in_vain(name: str, wall: WallShape, groups: Sequence[Sequence[Place]]) -> Iterator[str]:
    there = {cell for group in groups for cell in group}
    lost = sorted((wall.mask or frozenset()) - there, key=lambda cell: (cell[1], cell[0]))
    if lost:
        yield f"{name} has no cell where one is drawn and a cut-out lies: {cells_named(lost)}"


def _doubles(name: str, wall: WallShape) -> Iterator[str]:
    things: dict[Place, list[str]] = {}
    for each in wall.hung:
        things.setdefault(each.cell, []).append(each.thing)
    for cell, hung in sorted(things.items(), key=lambda item: (item[0][1], item[0][0])):
        if len(hung) > 1:
            told = ", ".join(
                f"{n} {thing}" if n > 1 else thing for thing, n in Counter(hung).items()
            )
            yield f"{name} has several things on {cell_name(cell)} ({told}): check that they fit"
