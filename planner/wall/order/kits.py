"""Parts sorted into bags: a stretch of a course each, then what hangs on the board."""

from __future__ import annotations

from collections import Counter, defaultdict
from itertools import pairwise
from math import ceil
from types import MappingProxyType
from typing import TYPE_CHECKING

from planner.wall.order.graph import mounting_order
from planner.wall.order.model import Kit, Order

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Mapping, Sequence

    from planner.wall.model import Counted, Fixing, Panelling, Placed

    Place = tuple[int, int]

CELLS_IN_A_BAG = 12
"""A course longer than this is shared out over several bags; our own choice."""

ON_THE_BOARD = "what comes onto the board"


def order_of(
    counted: Counted,
    fixings: Sequence[Fixing] = (),
    *,
    stage_of: Mapping[str, int] = MappingProxyType({}),
) -> Order:
    """Return the kits of all walls: wall by wall, courses from below, accessories last.

    A part at an edge or a junction comes with the first panel that touches it, so that it is at
    hand when it is wanted; one at a shared edge with the second, which closes the edge. What
    hangs on the board, is counted without a place, or is of a later stage than the first part
    of the board follows in a bag per assembly stage (`stage_of`, 1 where it says nothing; what
    is bought is of the first).
    """
    kits: list[Kit] = []
    cells: list[tuple[str, tuple[Place, ...]]] = []
    stage_of = _with_bought(counted, stage_of)
    with_panels = _with_panels(counted, stage_of)
    for panelling in counted.panellings:
        order = mounting_order((cell.column, cell.row) for cell in panelling.cells)
        cells.append((panelling.wall.name, order))
        own = [one for one in fixings if one.wall == panelling.wall.name]
        kits += _kits_of(counted, panelling, order, own, with_panels, begin=len(kits) + 1)
    packed = Counter[str]()
    for kit in kits:
        packed.update(dict(kit.parts))
    rest: dict[int, Counter[str]] = defaultdict(Counter)
    for part, count in (Counter(dict(counted.quantities)) - packed).items():
        rest[stage_of.get(part, 1)][part] = count
    kits += _hung(rest, begin=len(kits) + 1)
    return Order(kits=tuple(kits), cells=tuple(cells))


def _hung(rest: Mapping[int, Counter[str]], *, begin: int) -> list[Kit]:
    return [
        Kit(
            number=begin + number,
            name=ON_THE_BOARD if len(rest) == 1 else f"{ON_THE_BOARD}, stage {stage}",
            wall="",
            cells=(),
            parts=tuple(sorted(parts.items())),
        )
        for number, (stage, parts) in enumerate(sorted(rest.items()))
    ]


def _with_bought(counted: Counted, stage_of: Mapping[str, int]) -> Mapping[str, int]:
    """Return the stages, and for what is bought, and so in no job, that of the first panels."""
    rules = counted.walls.system.rules
    printed = {rule.part for rule in rules if rule.part is not None and not rule.bought}
    first = min((stage_of.get(part, 1) for part in printed), default=1)
    return {**{rule.part: first for rule in rules if rule.part and rule.bought}, **stage_of}


def _with_panels(counted: Counted, stage_of: Mapping[str, int]) -> set[str]:
    """Return the parts of the board that go up with its panels: those of its first stage."""
    names = {rule.part for rule in counted.walls.system.rules if rule.part is not None}
    first = min((stage_of.get(name, 1) for name in names), default=1)
    return {name for name in names if stage_of.get(name, 1) == first}


def _kits_of(
    counted: Counted,
    panelling: Panelling,
    order: Sequence[Place],
    fixings: Iterable[Fixing],
    with_panels: Collection[str],
    *,
    begin: int,
) -> list[Kit]:
    bags = _bags(order)
    bag_of = {cell: number for number, cells in enumerate(bags) for cell in cells}
    parts: list[Counter[str]] = [Counter() for _ in bags]
    pitch_mm = counted.walls.system.pitch_mm
    for placed in panelling.placed:
        if placed.part not in with_panels:
            continue
        bag = _bag_of(placed, panelling, pitch_mm, bag_of)
        if bag is not None:
            parts[bag][placed.part] += 1
    screws = Counter(_first_bag(_round(one.column, one.row), bag_of) for one in fixings)
    name = panelling.wall.name
    return [
        Kit(
            number=begin + number,
            name=_name(cells),
            wall=name,
            cells=tuple(cells),
            parts=tuple(sorted(parts[number].items())),
            screws=screws[number],
        )
        for number, cells in enumerate(bags)
    ]


def _bags(order: Sequence[Place]) -> list[list[Place]]:
    """Cut each course into stretches of like length, none longer than a bag holds."""
    courses: Mapping[int, list[Place]] = defaultdict(list)
    for column, row in order:
        courses[row].append((column, row))
    bags: list[list[Place]] = []
    for row in sorted(courses):
        course = courses[row]
        pieces = ceil(len(course) / CELLS_IN_A_BAG)
        cuts = [len(course) * piece // pieces for piece in range(pieces + 1)]
        bags += [course[a:b] for a, b in pairwise(cuts)]
    return bags


def _bag_of(
    placed: Placed,
    panelling: Panelling,
    pitch_mm: tuple[float, float],
    bag_of: Mapping[Place, int],
) -> int | None:
    """Return the bag of a part of the board; None where its place says nothing."""
    if placed.spot == "cell":
        return None if placed.cell is None else bag_of.get(placed.cell)
    across, up = _grid(placed, panelling, pitch_mm)
    if placed.spot == "shared edge":
        return max(
            (bag_of[cell] for cell in _beside(placed, across, up) if cell in bag_of), default=None
        )
    if placed.spot == "free edge":
        return _first_bag(_beside(placed, across, up), bag_of)
    if placed.spot in ("junction", "fixing"):
        return _first_bag(_round(round(across), round(up)), bag_of)
    return None


def _grid(
    placed: Placed, panelling: Panelling, pitch_mm: tuple[float, float]
) -> tuple[float, float]:
    """Return the place in pitches from the grid's bottom left corner."""
    left_mm, low_mm = panelling.offset_mm
    return (placed.x_mm - left_mm) / pitch_mm[0], (placed.y_mm - low_mm) / pitch_mm[1]


def _beside(placed: Placed, across: float, up: float) -> tuple[Place, Place]:
    """Return the two cells, there or not, on either side of an edge given by its middle."""
    if placed.upright:
        row = int(up) + 1
        return (round(across), row), (round(across) + 1, row)
    column = int(across) + 1
    return (column, round(up)), (column, round(up) + 1)


def _round(column: int, row: int) -> tuple[Place, ...]:
    """Return the four cells, there or not, round a junction."""
    return tuple((c, r) for r in (row, row + 1) for c in (column, column + 1))


def _first_bag(cells: Iterable[Place], bag_of: Mapping[Place, int]) -> int | None:
    return min((bag_of[cell] for cell in cells if cell in bag_of), default=None)


def _name(cells: Sequence[Place]) -> str:
    row, first, last = cells[0][1], cells[0][0], cells[-1][0]
    return f"course {row}, columns {first} to {last}" if last > first else f"course {row}"
