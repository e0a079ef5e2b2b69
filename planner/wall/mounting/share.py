"""What each screw of a wall bears: all together, and again round every load by itself.

A board that were rigid would share a heavy shelf over every screw of the wall. Printed panels
are not, so each load is also hung, with all else nearby, on the screws of the panels within
one cell of it alone. Of both figures each screw gets the worse. Both are the moment balance
of `planner.strength.fixings`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from planner.strength.fixings import needed_alike, pulls_n

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from planner.wall.mounting.boards import Boards
    from planner.wall.mounting.burdens import Burdens
    from planner.wall.mounting.places import Places

    Bools = NDArray[np.bool_]
    Floats = NDArray[np.float64]
    Ints = NDArray[np.int64]
    At = tuple[int, int]

ASSUMPTIONS = (
    (
        "panels that hang together are rigid and turn about their lower edge (moment balance as "
        "for bolts under an eccentric load, Shigley's Mechanical Engineering Design, from memory)"
    ),
    (
        "each load, with all that hangs and weighs within one cell of it, is also hung on the "
        "screws there alone, turning about the lower edge of those panels; each screw is "
        "counted with the worse of both figures (a rule of our own for boards that give way)"
    ),
    "where fewer than two screws are so near, the circle is widened until two are in it",
    "the board's own weight is half its thickness in front of the wall",
    "all screws are alike, also those in studs; a sideways turn of the board is left out",
)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Shared:
    """Shear and pull of the screws, (n,) each, and how many alike each would take (n,).

    `unheld` are the boards, by their first cell, without a screw above their lower edge; what
    they weigh is in no figure, and screws of no other board are not `known`. `single` have but
    one. `far` are loaded cells without two screws within one cell.
    """

    shear_n: Floats
    pull_n: Floats
    needed: Ints
    known: Bools
    unheld: tuple[At, ...]
    single: tuple[At, ...]
    far: tuple[At, ...]

    @property
    def total_n(self) -> Floats:
        """Shear and pull added up in one."""
        return np.hypot(self.shear_n, self.pull_n)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Board:
    """One board: its cells by mask, its screws (n,), and where something hangs on it.

    `number_at` is the number of the screw at [row, column] of a junction, -1 for none.
    """

    mask: Bools
    screws: Places
    number_at: Ints
    boards: Boards
    load: Burdens
    loaded: Sequence[At]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Case:
    """A block of cells of one board, the numbers of its screws, and the lowest row of panels."""

    block: tuple[slice, slice]
    screws: Ints
    row: int


def share(screws: Places, boards: Boards, load: Burdens, *, bears_n: float) -> Shared:
    """Share the loads of one wall over its screws, board by board.

    A screw that holds two boards bears both. `bears_n` is what one may bear, for `needed`.
    """
    borne, needed = np.zeros((2, len(screws))), np.zeros(len(screws), dtype=np.int64)
    known = np.zeros(len(screws), dtype=bool)
    unheld, single, far = [], [], []
    loaded, number_at = _by_board(boards, load), np.full_like(boards.label, -1)
    held = boards.screws(screws)
    for number, (first, mine) in enumerate(zip(boards.firsts, held, strict=True), start=1):
        above = int(np.sum(screws.row[mine] >= first[1]))
        if not above:
            unheld.append(first)
            continue
        if above == 1:
            single.append(first)
        number_at[screws.row[mine], screws.column[mine]] = np.arange(len(mine))
        board = _Board(
            mask=boards.label == number,
            screws=screws.only(mine),
            number_at=number_at,
            boards=boards,
            load=load,
            loaded=loaded.get(number, ()),
        )
        worst, alone = _one_board(board, first[1], bears_n)
        number_at[screws.row[mine], screws.column[mine]] = -1
        far += alone
        known[mine] = True
        borne[:, mine] += worst[:2]
        needed[mine] = np.maximum(needed[mine], worst[2].astype(np.int64))
    return Shared(
        shear_n=borne[0],
        pull_n=borne[1],
        needed=needed,
        known=known,
        unheld=tuple(unheld),
        single=tuple(single),
        far=tuple(far),
    )


def _by_board(boards: Boards, load: Burdens) -> dict[int, list[At]]:
    found: dict[int, list[At]] = {}
    for cell in load.loaded:
        found.setdefault(boards.of(cell), []).append(cell)
    return found


def _one_board(board: _Board, lowest: int, bears_n: float) -> tuple[Floats, list[At]]:
    """Worst shear, pull and number needed (3, n), and the loads whose screws are far."""
    number = np.arange(len(board.screws))
    whole = _Case(block=(slice(None), slice(None)), screws=number, row=lowest)
    worst = np.zeros((3, len(number)))
    _worse(worst, board, whole, bears_n)
    far = []
    for cell in board.loaded:
        reach, case = _round_load(board, cell)
        if case is not None:
            _worse(worst, board, case, bears_n)
        if reach > 1:
            far.append(cell)
    return worst, far


def _round_load(board: _Board, cell: At) -> tuple[int, _Case | None]:
    """Take in cells round a load until two screws hold them; tell how far that is."""
    column, row = cell
    window = board.number_at[max(0, row - 2) : row + 2, max(0, column - 2) : column + 2]
    case = _patch(board, cell, np.sort(window[window >= 0]), 1)
    if case is not None:
        return 1, case
    ring = _ring(board.screws, cell)
    for reach in np.unique(ring[ring > 1]).tolist():
        case = _patch(board, cell, np.flatnonzero(ring <= reach), reach)
        if case is not None:
            return reach, case
    return len(board.mask), None


def _patch(board: _Board, cell: At, near: Ints, reach: int) -> _Case | None:
    """Hang the panels within `reach` cells on the screws there; None if too few hold them."""
    column, row = cell
    below, left = max(0, row - reach), max(0, column - reach)
    block = (slice(below, row + reach + 1), slice(left, column + reach + 1))
    lowest = below + int(np.argmax(np.any(board.mask[block], axis=1)))
    if np.sum(board.screws.row[near] >= lowest) < 2:
        return None
    return _Case(block=block, screws=near, row=lowest)


def _worse(worst: Floats, board: _Board, case: _Case, bears_n: float) -> None:
    """Keep for each screw of the case the worse of what it has and what the case gives it."""
    inside = board.mask[case.block]
    weight_n = float(np.sum(board.load.weight_n[case.block][inside]))
    moment_nmm = float(np.sum(board.load.moment_nmm[case.block][inside]))
    shear_n = weight_n / len(case.screws)
    arms_mm = board.screws.y_mm[case.screws] - board.boards.edge_mm(case.row)
    pull_n = pulls_n(arms_mm, moment_nmm)
    total_n = np.hypot(shear_n, pull_n)
    more = total_n > np.hypot(*worst[:2, case.screws])
    which = case.screws[more]
    worst[0, which], worst[1, which] = shear_n, pull_n[more]
    worst[2, which] = needed_alike(len(case.screws), float(np.max(total_n)) / bears_n)


def _ring(screws: Places, cell: At) -> Ints:
    """How many cells round `cell` must be taken in until a screw (n,) is at their corner."""
    column, row = cell
    across = np.maximum(column - 1 - screws.column, screws.column - column)
    upward = np.maximum(row - 1 - screws.row, screws.row - row)
    ring: Ints = np.maximum(np.maximum(across, upward), 0)
    return ring
