"""Why a plate has no place in the plan, in one sentence each."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from planner.schedule.board import Board
from planner.schedule.clock import NEVER, local_time
from planner.schedule.missing import no_spool

if TYPE_CHECKING:
    from planner.schedule.instance import Instance
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
        or _blocked(weekend, board, plate)
        or _damp(weekend, board, plate)
        or _no_change(board, plate)
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


def _blocked(weekend: Weekend, board: Board, plate: int) -> str:
    """Say that the plate would fit, were it not for quiet hours and maintenance.

    Asked of an empty workshop, so that it is not the other plates which are in the way.
    """
    instance, options = board.instance, board.instance.options[plate]
    if not any(instance.kinds[kind].blocked for kind, _ in options):
        return ""
    free = replace(instance, kinds=tuple(replace(kind, blocked=()) for kind in instance.kinds))
    if _fits_alone(instance, options) or not _fits_alone(free, options):
        return ""
    kinds = [instance.kinds[kind] for kind, _ in options]
    slots = [weekend.machines[machine] for kind in kinds for machine in kind.machines]
    why = " and ".join(dict.fromkeys(each.why for slot in slots for each in slot.blocked))
    takes = _takes(board, min(seconds for _, seconds in options))
    return f"outside {why} there is no stretch for its {takes} that somebody is there to start"


def _fits_alone(instance: Instance, options: tuple[tuple[int, int], ...]) -> bool:
    """Return whether the first plate of all could be such a one."""
    empty = Board(instance, keep_spool=True)
    firsts = (
        (empty.first_visit(0, seconds, kind, instance.kinds[kind].machines[0]), seconds)
        for kind, seconds in options
    )
    return any(start + seconds <= instance.latest_end_s for (start, _), seconds in firsts)


def _damp(weekend: Weekend, board: Board, plate: int) -> str:
    """Say that every spool which could feed it alone is still drying at the last visit."""
    instance, need_mg = board.instance, board.instance.milligrams[plate]
    able = [s for s in instance.spools_for[plate] if instance.spool_milligrams[s] >= need_mg]
    last_s = max((last for _, lasts in instance.hands for last in lasts), default=NEVER)
    if not able or min(instance.spool_ready_s[spool] for spool in able) <= last_s:
        return ""
    first = min(able, key=lambda spool: instance.spool_ready_s[spool])
    dry = _clock(weekend, instance.spool_ready_s[first])
    last = _clock(weekend, last_s)
    return f"{weekend.spools[first].id} is dry from {dry} on, and the last visit can be {last}"


def _no_change(board: Board, plate: int) -> str:
    """Say that it takes two spools, and nobody is there to change them."""
    instance = board.instance
    fullest_mg = max(board.left_mg[spool] for spool in instance.spools_for[plate])
    by_itself = any(instance.kinds[kind].changes_over for kind, _ in instance.options[plate])
    if by_itself or instance.milligrams[plate] <= fullest_mg:
        return ""
    return (
        "no spool has enough for it, and there is no time for it on two: its printers do not "
        "change over by themselves, so somebody must be there when the first one ends"
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


def drying_remarks(weekend: Weekend, board: Board) -> tuple[str, ...]:
    """Say which of the spools in use are to be put to dry, when, and from when on they feed."""
    seconds = [change.spool for change in board.second.values()]
    used = {spool for spool in (*board.spool, *seconds) if spool >= 0}
    remarks = []
    for i, spool in enumerate(weekend.spools):
        if i in used and spool.drying_s:
            begin = _clock(weekend, board.instance.presence[0][0])
            ready = _clock(weekend, board.instance.spool_ready_s[i])
            remarks.append(f"put {spool.id} to dry at {begin}: it feeds from {ready} on")
    return tuple(remarks)


def change_remarks(weekend: Weekend, board: Board) -> tuple[str, ...]:
    """Say when somebody must be at a printer that waits for its second spool."""
    return tuple(
        f"{weekend.spools[board.spool[plate]].id} ends on "
        f"{weekend.machines[board.machine[plate]].id} at about {_clock(weekend, change.at_s)}, "
        f"an estimate: be there before to put on {weekend.spools[change.spool].id}"
        for plate, change in sorted(board.second.items(), key=lambda item: item[1].at_s)
        if change.person >= 0
    )


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
