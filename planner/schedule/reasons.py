"""Why a plate has no place in the plan, in one sentence each."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner.schedule.clock import NEVER, local_time
from planner.schedule.missing import no_spool

if TYPE_CHECKING:
    from planner.schedule.board import Board
    from planner.schedule.model import PlateTask, Weekend


def unscheduled(weekend: Weekend, board: Board) -> tuple[tuple[str, str], ...]:
    """Return (plate, reason) for every plate without a place, in the order given."""
    return tuple(
        (task.id, _reason(weekend, board, plate))
        for plate, task in enumerate(weekend.tasks)
        if board.end[plate] < 0
    )


def _reason(weekend: Weekend, board: Board, plate: int) -> str:
    return (
        _no_printer(weekend.tasks[plate])
        or _nobody(board)
        or no_spool(weekend, board, plate)
        or _gate_shut(weekend, board, plate)
        or _too_long(board, plate)
        or _too_late(weekend, board, plate)
    )


def _no_printer(task: PlateTask) -> str:
    return "" if task.seconds else "no printer can take it"


def _nobody(board: Board) -> str:
    """Say that no window has room for the hands-on time."""
    hands_on_s = board.instance.hands_on_s
    stretches = [stretch for stretches in board.instance.people for stretch in stretches]
    if not stretches:
        return "nobody is there to start it"
    if max(b - a for a, b in stretches) < hands_on_s:
        return f"nobody is there for the {_span(hands_on_s)} of hands-on time at a stretch"
    return ""


def _gate_shut(weekend: Weekend, board: Board, plate: int) -> str:
    shut = [gate for gate in board.instance.gates[plate] if board.end[gate] < 0]
    if shut:
        return f"it waits for the check of {weekend.tasks[shut[0]].id}, which has no place"
    if any(gate not in board.taken_off for gate in board.instance.gates[plate]):
        return "nobody is there to take off and check the plates it waits for"
    return ""


def _too_long(board: Board, plate: int) -> str:
    """Say that only printers which must not run alone can take it, and nobody stays so long."""
    instance = board.instance
    if any(instance.kinds[kind].unattended for kind, _ in instance.options[plate]):
        return ""
    run_s = min(seconds for _, seconds in instance.options[plate])
    stay_s = max(b - a for a, b in instance.presence)
    if run_s <= stay_s:
        return ""
    return (
        f"it takes {_takes(board, run_s)} on a printer that must not run alone, "
        f"and the longest presence is {_span(stay_s)}"
    )


def _too_late(weekend: Weekend, board: Board, plate: int) -> str:
    instance = board.instance
    takes = _takes(board, min(seconds for _, seconds in instance.options[plate]))
    if instance.latest_end_s != NEVER and weekend.deadline is not None:
        end = _clock(weekend, instance.latest_end_s)
        return (
            f"its {takes} find no room that ends by the deadline, {end}, "
            "and nobody is there afterwards"
        )
    leave = _clock(weekend, instance.presence[-1][1])
    return f"no printer is free for its {takes} before attendance ends, {leave}"


def left_on_remark(weekend: Weekend, board: Board, plate: int) -> str:
    """Say of a plate that nobody takes off in the end when it ends, and why it stays."""
    end_s, leave_s = board.end[plate], board.instance.presence[-1][1]
    end, leave = _clock(weekend, end_s), _clock(weekend, leave_s)
    why = (
        f"nobody is there after {leave} to take it off"
        if end_s >= leave_s
        else f"nobody has time to take it off before attendance ends, {leave}"
    )
    name, machine = weekend.tasks[plate].id, weekend.machines[board.machine[plate]].id
    return f"{name} stays on {machine}: it ends {end}, and {why}"


def _takes(board: Board, run_s: int) -> str:
    """Return how long a run is, the hands-on time by itself."""
    hands_on_s = board.instance.hands_on_s
    if hands_on_s == 0:
        return _span(run_s)
    return f"{_span(run_s - hands_on_s)} and {_span(hands_on_s)} of hands-on time"


def _clock(weekend: Weekend, second: int) -> str:
    return f"{local_time(weekend.start, second):%a %d %b %H:%M}"


def _span(seconds: float) -> str:
    """Return a span in hours and minutes.

    >>> _span(34_200), _span(480)
    ('9 h 30 min', '8 min')
    """
    hours, minutes = divmod(round(seconds / 60), 60)
    return f"{hours} h {minutes:02d} min" if hours else f"{minutes} min"
