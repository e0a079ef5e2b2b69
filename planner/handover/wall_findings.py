"""What a plan has to say of the walls of its job."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner.audit.model import Finding
from planner.handover.walls import STOP
from planner.settings.model import Level

if TYPE_CHECKING:
    from planner.handover.walls import Built
    from planner.job.model import Job

SOURCE = "moment balance of screws and panels, as told by the command wall"


def wall_findings(job: Job, walls: Built | None) -> tuple[Finding, ...]:
    """Warn of walls that must not be mounted as they were told; note what else is remarkable.

    Nothing for a job without walls.
    """
    if job.walls is None or walls is None:
        return ()
    where, look = str(job.walls.path), f"look at it with platewright wall {job.path}"
    unsafe = [
        Finding(
            rule="wall",
            level=Level.WARN,
            part="",
            where=where,
            found=note.removeprefix(f"{STOP}: "),
            expected="every panel held by screws that bear no more than their anchors may",
            why="a board that comes off the wall hurts somebody, and its plates were in vain",
            remedy=f"hang less, or change pattern, anchor or offset; {look}",
            source=SOURCE,
        )
        for note in walls.mounting.notes
        if note.startswith(STOP)
    ]
    remarkable = [
        Finding(
            rule="wall",
            level=Level.NOTE,
            part="",
            where=where,
            found=remark,
            expected="one piece without doubles",
            why="it was counted as it is told, which may not be what you mean",
            remedy=f"correct the wall, or leave it so; {look}",
            source="the shape of the wall",
        )
        for remark in walls.counted.remarks
    ]
    return (*unsafe, *remarkable)
