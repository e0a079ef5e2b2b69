"""From a filled board to what people read: runs, and who goes to which printer when."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner.schedule.clock import local_time, overlap_s
from planner.schedule.model import Run, Visit

if TYPE_CHECKING:
    from collections.abc import Iterator

    from planner.schedule.board import Board
    from planner.schedule.model import Weekend

    Spot = tuple[int, int]  # s, printer
    Errand = tuple[int, int | None, int | None]  # person, plate to take off, plate to start


def runs_of(weekend: Weekend, board: Board) -> tuple[Run, ...]:
    """Return the runs in order of start, then printer."""
    return tuple(_run(weekend, board, plate) for plate in placed(board))


def _run(weekend: Weekend, board: Board, plate: int) -> Run:
    change = board.second.get(plate)
    return Run(
        plate=weekend.tasks[plate].id,
        machine=weekend.machines[board.machine[plate]].id,
        spool=weekend.spools[board.spool[plate]].id,
        start=local_time(weekend.start, board.start[plate]),
        end=local_time(weekend.start, board.end[plate]),
        hands_on_s=float(board.instance.hands_on_s),
        alone_s=float(_alone_s(board, plate)),
        second_spool=None if change is None else weekend.spools[change.spool].id,
        second_g=0.0 if change is None else change.milligrams / 1000,
        change_at=None if change is None else local_time(weekend.start, change.at_s),
    )


def left_g_of(weekend: Weekend, board: Board) -> tuple[tuple[str, float], ...]:
    """Return what the plan leaves on each spool, from the grams as given."""
    left = {spool.id: spool.grams for spool in weekend.spools}
    grams = {task.id: task.grams for task in weekend.tasks}
    for run in runs_of(weekend, board):
        left[run.spool] -= grams[run.plate] - run.second_g
        if run.second_spool is not None:
            left[run.second_spool] -= run.second_g
    return tuple((spool, max(0.0, left_g)) for spool, left_g in left.items())


def placed(board: Board) -> list[int]:
    """Return the plates that have a place, in order of start, then printer."""
    plates = (plate for plate, end in enumerate(board.end) if end >= 0)
    return sorted(plates, key=lambda j: (board.start[j], board.machine[j], j))


def _alone_s(board: Board, plate: int) -> int:
    start, end = board.start[plate], board.end[plate]
    return end - start - overlap_s(board.instance.presence, start, end)


def visits_of(weekend: Weekend, board: Board) -> tuple[Visit, ...]:
    """Return the visits in order of time: take off one plate, start the next, or one of both.

    A plate is taken off when the next one is started on its printer, or before, if others
    wait for its check. The last plate of each printer is taken off at the first moment
    somebody has time; if nobody has time any more, it has no visit and stays on the printer.
    A plate that two spools feed has a visit at the change, unless its printer changes over.
    """
    errands = _errands(board)
    spool_at: dict[int, int] = {}
    on_printer: dict[int, int] = {}
    visits = []
    for (at, machine), errand in sorted(errands.items()):
        plate, change = errand[2], False
        if plate is not None:
            spool, second = board.spool[plate], board.second.get(plate)
            change = (on_printer.get(machine), spool_at.get(spool)) != (spool, machine)
            change = change or (second is not None and second.person < 0)
            last = spool if second is None else second.spool
            on_printer[machine], spool_at[spool], spool_at[last] = last, machine, machine
        visits.append(_visit(weekend, board, (at, machine), errand, change=change))
    return tuple(sorted((*visits, *_changes(weekend, board)), key=lambda visit: visit.at))


def _changes(weekend: Weekend, board: Board) -> Iterator[Visit]:
    """Yield the visits at which a person changes the spool of a plate that goes on printing."""
    for plate, change in board.second.items():
        if change.person >= 0:
            yield Visit(
                at=local_time(weekend.start, change.at_s),
                until=local_time(weekend.start, change.at_s + board.instance.hands_on_s),
                who=board.instance.who[change.person],
                machine=weekend.machines[board.machine[plate]].id,
                take_off=None,
                start=None,
                spool=weekend.spools[change.spool].id,
                change_spool=True,
                feeds=weekend.tasks[plate].id,
            )


def _errands(board: Board) -> dict[Spot, Errand]:
    """Return what is to be done at each time and printer, and who does it."""
    starts = {(board.start[j], board.machine[j]): (board.person[j], j) for j in placed(board)}
    offs = {}
    last: dict[int, int] = {}
    for plate in placed(board):
        machine = board.machine[plate]
        if machine in last and last[machine] not in board.taken_off:
            offs[board.start[plate], machine] = (board.person[plate], last[machine])
        last[machine] = plate
    for plate, (at, person) in board.taken_off.items():
        offs[at, board.machine[plate]] = (person, plate)
    return {
        spot: (
            (starts.get(spot) or offs[spot])[0],
            offs[spot][1] if spot in offs else None,
            starts[spot][1] if spot in starts else None,
        )
        for spot in starts | offs
    }


def _visit(
    weekend: Weekend,
    board: Board,
    spot: Spot,
    errand: Errand,
    *,
    change: bool,
) -> Visit:
    (at, machine), (person, off, plate) = spot, errand
    second = None if plate is None else board.second.get(plate)
    return Visit(
        at=local_time(weekend.start, at),
        until=local_time(weekend.start, at + board.instance.hands_on_s),
        who=board.instance.who[person],
        machine=weekend.machines[machine].id,
        take_off=None if off is None else weekend.tasks[off].id,
        start=None if plate is None else weekend.tasks[plate].id,
        spool=None if plate is None else weekend.spools[board.spool[plate]].id,
        change_spool=change,
        second_spool=weekend.spools[second.spool].id if second and second.person < 0 else None,
    )
