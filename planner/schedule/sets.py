"""Which sets of plates a filled board completes, and what the others miss."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from planner.schedule.clock import local_time

if TYPE_CHECKING:
    from planner.schedule.board import Board
    from planner.schedule.model import Weekend


def sets_done(weekend: Weekend, board: Board) -> tuple[str, ...]:
    """Return the sets of which every plate ends in time, in the order given."""
    return tuple(name for name, _ in weekend.sets if not _misses(weekend, board, name))


def sets_missed(weekend: Weekend, board: Board) -> tuple[tuple[str, str], ...]:
    """Return (set, what it misses) for the others, and for those lost from the beginning."""
    misses = ((name, _misses(weekend, board, name)) for name, _ in weekend.sets)
    missed = tuple((name, "; ".join(words)) for name, words in misses if words)
    return (*missed, *weekend.sets_lost)


def _misses(weekend: Weekend, board: Board, name: str) -> list[str]:
    members = [plate for plate, task in enumerate(weekend.tasks) if name in task.sets]
    late_after_s = board.instance.late_after_s
    out = [weekend.tasks[plate].id for plate in members if board.end[plate] < 0]
    late = [plate for plate in members if board.end[plate] > late_after_s]
    after = _after(weekend, late_after_s) if late else ""
    words = [f"{_listed(out)} without a place"] if out else []
    for plate in late:
        end = local_time(weekend.start, board.end[plate])
        words.append(f"{weekend.tasks[plate].id} ends {end:%a %d %b %H:%M}, {after}")
    return words


def _after(weekend: Weekend, late_after_s: int) -> str:
    """Say after what: attendance may end before the deadline, or there may be none."""
    due = local_time(weekend.start, late_after_s)
    if weekend.deadline is not None and weekend.deadline - due < timedelta(seconds=1):
        return f"after the deadline, {due:%a %d %b %H:%M}"
    return f"after {due:%a %d %b %H:%M}, the last time that somebody can take it off"


def _listed(names: list[str]) -> str:
    """Return the first few names.

    >>> _listed(["a", "b"]), _listed(["a", "b", "c", "d", "e"])
    ('a, b', 'a, b, c and 2 more')
    """
    if len(names) <= 3:
        return ", ".join(names)
    return f"{', '.join(names[:3])} and {len(names) - 3} more"
