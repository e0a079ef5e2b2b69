"""What must be said of the screws of one wall, in sentences; those that begin "stop" forbid."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from planner.wall.mounting.keepaway import ROOM_EDGE_MM, by_room_edges, may_run
from planner.wall.mounting.studs import REACH_MM, STUD_MM, best_shift
from planner.wall.mounting.tried import SAFE

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from planner.wall.mounting.tried import Ground, Tried

SHOWN = 3
"""So many cells are named before "and n more" (invented)."""


def notes(found: Tried, others: Sequence[Tried]) -> Iterator[str]:
    """Tell what is wrong, what the worst screw bears, and what else to heed.

    `others` is the same wall with every pattern, this one too; empty where nothing is hung.
    """
    name = f"wall '{found.ground.wall.name}'"
    yield from _unfit(found, name)
    yield from _unweighed(found.ground, name)
    yield from _worst(found, name)
    yield from _choice(others, name)
    yield from _slip(found, name)
    yield from _far(found, name)
    yield from _left_out(found, name)
    yield from _studs(found, name)
    yield from _room_edges(found, name)


def _unfit(found: Tried, name: str) -> Iterator[str]:
    shared, ground = found.shared, found.ground
    if ground.load.astray:
        yield f"stop: {name}: something hangs over {_cells(ground.load.astray)}, without a panel"
    if not len(found.screws):
        yield (
            f"stop: {name} has no screw: all {len(found.left_out)} places of the pattern "
            f"'{found.pattern}' are left out ({_whys(found)})"
        )
        return
    if shared.unheld:
        yield (
            f"stop: {name}: nothing keeps the panels from tipping off the wall at "
            f"{_cells(shared.unheld)}: no screw sits above their lower edge"
        )
    if shared.single:
        yield (
            f"stop: {name}: the panels at {_cells(shared.single)} tip against one screw alone: "
            "never hang a load on one (ETAG 020 part 5, foreword)"
        )


def _unweighed(ground: Ground, name: str) -> Iterator[str]:
    hung = ground.wall.hung
    silent = sum(each.count for each in hung if each.force_n <= 0)
    if not np.any(ground.load.weight_n > 0):
        yield (
            f"{name}: not said what its panels and what hangs there weigh, so no load is "
            "checked (1 kg weighs 9.8 N)"
        )
    elif silent:
        yield (
            f"{name}: {silent} of {sum(each.count for each in hung)} accessories were counted "
            "as weightless, for nothing was said of their load"
        )


def _worst(found: Tried, name: str) -> Iterator[str]:
    if found.worst is None:
        return
    shared, screws, worst = found.shared, found.screws, found.worst
    bears = (
        f"the worst, {_at(screws.x_mm[worst], screws.y_mm[worst])}, bears "
        f"{shared.shear_n[worst]:.3g} N downwards and {shared.pull_n[worst]:.3g} N outwards"
    )
    anchor, used = found.ground.anchor, found.most_used
    if used is None or anchor is None:
        yield (
            f"{name}: {_screws(len(screws))}; {bears}: take anchors rated {found.rating_n} N or "
            f"more in this wall (factor {found.ground.factor:g} is in it)"
        )
        return
    may = f"what anchor '{anchor.name}' may bear ({anchor.rated_n:g} N / {anchor.factor:g})"
    if used <= SAFE:
        yield f"{name}: {_screws(len(screws))}; {bears}, {used:.2f} of {may}"
        return
    over = int(np.sum(found.shared.total_n * anchor.factor > SAFE * (anchor.rated_n or 0.0)))
    yield (
        f"stop: {name}: {over} of {_screws(len(screws))} overloaded; {bears}, {used:.2f} times "
        f"{may}: hang less there, take anchors rated {found.rating_n} N or more, or "
        f"{int(shared.needed[worst])} screws where this one shares"
    )


def _choice(others: Sequence[Tried], name: str) -> Iterator[str]:
    if not any(other.worst is not None for other in others):
        return
    told = "; ".join(f"{other.pattern}: {_judged(other)}" for other in others)
    fit = [other for other in others if other.holds and not other.shared.far]
    best = min(fit, key=lambda other: len(other.screws)) if fit else None
    if others[0].ground.rated_n is None:
        yield f"{name}, choice of screws by the rated load each needs: {told}"
    else:
        end = f"fewest that hold, near every load: {best.pattern}" if best else "none will do"
        yield f"{name}, choice of screws by share of what an anchor may bear: {told}; {end}"


def _judged(other: Tried) -> str:
    count = _screws(len(other.screws))
    if not other.stands:
        return f"{count}, some panels not held"
    used, far = other.most_used, ", none near some loads" if other.shared.far else ""
    bears = f"{other.rating_n} N" if used is None else f"worst {used:.2f}"
    return f"{count}, {bears}{far}"


def _slip(found: Tried, name: str) -> Iterator[str]:
    """Tell where neighbours could not take over from the worst screw, as they must."""
    if found.worst is None or not found.holds:
        return
    after = found.without_the_worst()
    if not after.stands:
        yield f"{name}: if its worst screw slips, the panels there tip off the wall: add screws"
    elif after.most_used is None:
        yield (
            f"{name}: if its worst screw slips, its neighbours can take over with anchors rated "
            f"{after.rating_n} N or more"
        )
    elif after.most_used > SAFE:
        yield (
            f"{name}: if its worst screw slips, a neighbour bears {after.most_used:.2f} times what "
            f"its anchor may: rated {after.rating_n} N or more it could take over (as ETAG 020 "
            "part 5, foreword, wants of plastic anchors)"
        )


def _far(found: Tried, name: str) -> Iterator[str]:
    if found.shared.far:
        yield (
            f"{name}: loads over {_cells(found.shared.far)} have no two screws within one cell: "
            "the board gives way between screws; add some near them"
        )


def _left_out(found: Tried, name: str) -> Iterator[str]:
    if found.left_out:
        yield (
            f"{name}: {_screws(len(found.left_out))} of the pattern left out ({_whys(found)}); the "
            "others bear what they would have borne, and it is in their figures"
        )


def _studs(found: Tried, name: str) -> Iterator[str]:
    studs_mm = found.ground.wall.studs_mm
    if not studs_mm or not len(found.screws):
        return
    meet, count = int(np.sum(found.stud)), len(found.screws)
    yield (
        f"{name}: {meet} of {_screws(count)} meet a stud, within {REACH_MM:g} mm of its middle "
        f"(studs are {STUD_MM:g} to 45 mm wide: common practice, no source); probe for the "
        "edges; the others need anchors for hollow walls, rated for this one"
    )
    left, right = found.ground.panelling.margins_mm[:2]
    shift, more = best_shift(found.screws.x_mm, studs_mm, left_mm=left, right_mm=right)
    if more > meet:
        way = "right" if shift > 0 else "left"
        offset = found.ground.panelling.offset_mm[0] + shift
        yield (
            f"{name}: {abs(shift):.0f} mm further {way} (x of the offset {offset:.0f} mm) {more} "
            "of them would meet one; cut-outs may then take other cells, so count again"
        )


def _room_edges(found: Tried, name: str) -> Iterator[str]:
    wall = found.ground.wall
    near = int(np.sum(by_room_edges(found.screws, wall, ("left", "right", "top"))))
    if near and not wall.meets:
        yield (
            f"{name}: {_screws(near)} within {ROOM_EDGE_MM:g} mm of its top or sides: where those "
            f"are a ceiling or a room's corner, cables may run there: say so under "
            "meets, and none is put there"
        )


def _whys(found: Tried) -> str:
    run = sum(may_run(why) for *_, why in found.left_out)
    told = (
        (len(found.left_out) - run, "in cut-outs or too near an edge"),
        (run, "where cables or pipes may run"),
    )
    return ", ".join(f"{count} {why}" for count, why in told if count)


def _screws(count: int) -> str:
    return "1 screw" if count == 1 else f"{count} screws"


def _cells(cells: Iterable[tuple[int, int]]) -> str:
    cells = list(cells)
    named = ", ".join(f"({column}, {row})" for column, row in cells[:SHOWN])
    more = f" and {len(cells) - SHOWN} more" if len(cells) > SHOWN else ""
    return f"cell{'s' if len(cells) > 1 else ''} {named}{more}"


def _at(x_mm: float, y_mm: float) -> str:
    return f"at ({x_mm:.0f}, {y_mm:.0f}) mm"
