"""What the reports of a weekend read: the problem, the plan made for it, and what is known more.

A weekend of plates made elsewhere has no parts, pictures or prices; the same reports tell it.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from functools import cached_property
from types import MappingProxyType
from typing import TYPE_CHECKING

from planner.handover.weekend import weekend_of
from planner.report.words import contents, plain, zone_of

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import tzinfo

    from planner.handover.model import Plan, PlannedPlate
    from planner.schedule.model import PlateTask, Run, Weekend, WeekendPlan

Span = tuple[datetime, datetime]
NEAR = timedelta(hours=48)
"""A deadline this long after all is done is still shown; invented, as is the next."""
AFTER = timedelta(hours=6)
"""Somebody's hours that last this much longer than all else are shown to their end."""


@dataclass(frozen=True, kw_only=True)  # without slots: what is looked up is kept
class Roster:
    """A weekend and the plan for it, told in the time of `zone`.

    `plates` has what is known of a plate besides what the schedule asks for; it is empty for
    plates made elsewhere.
    """

    name: str
    zone: tzinfo
    weekend: Weekend
    made: WeekendPlan
    plates: Mapping[str, PlannedPlate] = field(default_factory=lambda: MappingProxyType({}))

    @cached_property
    def tasks(self) -> dict[str, PlateTask]:
        """The plates by name."""
        return {task.id: task for task in self.weekend.tasks}

    @cached_property
    def runs(self) -> dict[str, Run]:
        """The runs by plate."""
        return {run.plate: run for run in self.made.runs}

    @cached_property
    def waiting(self) -> dict[str, list[PlateTask]]:
        """The plates that wait for the check of another, by that one's name."""
        waiting: dict[str, list[PlateTask]] = {}
        for task in self.weekend.tasks:
            for gate in task.gate:
                waiting.setdefault(gate, []).append(task)
        return waiting

    @cached_property
    def filaments(self) -> dict[str, str]:
        """What is on each spool: "petg, black"."""
        return {s.id: plain(f"{s.material}, {s.colour}") for s in self.weekend.spools}

    def contents(self, plate: str) -> str:
        """Say what lies on a plate, or at least what it is printed from."""
        if plate in self.plates:
            return contents(self.plates[plate])
        task = self.tasks[plate]
        return plain(f"{task.material}, {task.colour or 'any colour'}")

    def filament(self, spool: str) -> str:
        """Say what is on a spool; nothing of one that is not on the shelf."""
        return self.filaments.get(spool, "")

    @property
    def span(self) -> Span:
        """The whole hours that hold every run and visit, a near deadline and who is there then.

        Hours of attendance long after all is done, and a far deadline, would leave no room
        for the bars.
        """
        runs, weekend = self.made.runs, self.weekend
        ends = [run.end for run in runs] + [visit.until for visit in self.made.visits]
        if not ends:
            ends = [weekend.start + timedelta(hours=1), *(w.end for w in weekend.attendance[:3])]
        last = max(ends)
        if weekend.deadline is not None and weekend.deadline - last <= NEAR:
            last = max(last, weekend.deadline)
        there = [w.end for w in weekend.attendance if w.start < last and w.end - last <= AFTER]
        first = min([weekend.start, *(run.start for run in runs)]).astimezone(self.zone)
        # Half an hour after the end, so that a line there is not on the edge of a picture.
        last = max([last, *there]).astimezone(self.zone) + timedelta(minutes=30)
        return first.replace(minute=0, second=0, microsecond=0), last


def roster_of_plan(plan: Plan) -> Roster:
    """Return the weekend of a plan, with all that is known of its plates."""
    return Roster(
        name=plan.job.name,
        zone=zone_of(plan),
        weekend=weekend_of(plan.job, plan.plates),
        made=plan.weekend,
        plates={plate.id: plate for plate in plan.plates},
    )


def roster_of_weekend(name: str, weekend: Weekend, made: WeekendPlan) -> Roster:
    """Return a weekend of plates made elsewhere; `name` heads its reports."""
    return Roster(name=name, zone=weekend.start.tzinfo or UTC, weekend=weekend, made=made)


def days_of(span: Span, zone: tzinfo) -> tuple[Span, ...]:
    """Cut a span at every local midnight: whole days, so that their hours can be compared.

    A day on which the clocks change has 23 or 25 hours.
    """
    date = span[0].astimezone(zone).date()
    days: list[Span] = []
    while True:
        dawn = datetime(date.year, date.month, date.day, tzinfo=zone)
        if dawn.timestamp() >= span[1].timestamp():
            return tuple(days)
        date += timedelta(days=1)
        days.append((dawn, datetime(date.year, date.month, date.day, tzinfo=zone)))
