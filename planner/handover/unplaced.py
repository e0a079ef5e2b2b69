"""Why a copy is on no plate: its size, a limit of the job, or nobody there for so long."""

from __future__ import annotations

from dataclasses import replace
from math import inf
from typing import TYPE_CHECKING

from planner.handover.beds import rosters, without_hours
from planner.handover.share import fits

if TYPE_CHECKING:
    from planner.handover.groups import Group
    from planner.handover.model import ReadyPart
    from planner.job.model import Job

HOUR_S = 3600.0


def why_on_no_plate(job: Job, group: Group, ready: ReadyPart, *, cap_s: float, shared: bool) -> str:
    """Return the first reason that holds on every printer of the group.

    `cap_s` is the longest plate that was wanted; `shared` says that the part has to share a
    plate with others.
    """
    if not group.machines:
        return "no printer takes it: see the findings"
    beds = rosters(job, group, cap_s=inf)
    endless = {key: replace(roster, limit_s=inf) for key, roster in beds.items()}
    for allowed, why in (
        (endless, "too large for"),
        (without_hours(job, beds), "a longer print than hours_per_plate allows on"),
        (beds, "too long a print for the hours in which somebody is there, on"),
        (
            rosters(job, group, cap_s=cap_s),
            f"left for the sake of others: longer than {cap_s / HOUR_S:g} h on",
        ),
    ):
        if not any(fits(job, ready, roster) for roster in allowed.values()):
            return f"{why} every printer that suits it"
    beside = " with all that must share it" if shared else ""
    return f"too much for one plate{beside}, on every printer that suits it"
