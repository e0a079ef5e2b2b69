"""Each visit as the steps of a list to tick off, with what comes after it."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import groupby
from typing import TYPE_CHECKING

from planner.audit.words import listed
from planner.report import words
from planner.report.words import are, mass, plain

if TYPE_CHECKING:
    from datetime import datetime

    from planner.report.roster import Roster
    from planner.schedule.model import PlateTask, Run, Visit

NAMED_MAX = 4
"""More plates than this are counted and not named: invented."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Errand:
    """One visit: when, who, where, what to do in which order, and what follows."""

    at: datetime
    until: datetime
    who: str
    machine: str
    steps: tuple[str, ...]
    alone: str
    """How long the plate then runs with nobody there; empty if it does not."""
    after: str


def errands_by_day(roster: Roster) -> tuple[tuple[str, tuple[Errand, ...]], ...]:
    """Return the visits of every local day, in order of time."""
    visits = roster.made.visits
    later: list[Visit | None] = [*visits[1:], None]
    made = [_errand(roster, visit, after) for visit, after in zip(visits, later, strict=False)]
    grouped = groupby(made, key=lambda errand: words.day(errand.at, roster.zone))
    return tuple((day, tuple(errands)) for day, errands in grouped)


def _errand(roster: Roster, visit: Visit, after: Visit | None) -> Errand:
    run = None if visit.start is None else roster.runs.get(visit.start)
    return Errand(
        at=visit.at,
        until=visit.until,
        who=plain(visit.who),
        machine=plain(visit.machine),
        steps=tuple(plain(step) for step in (*_off(roster, visit), *_on(roster, visit, run))),
        alone="" if run is None else alone_words(run),
        after=_after(roster, visit, after),
    )


def alone_words(run: Run) -> str:
    """Say how long a plate runs while nobody is there; empty if somebody always is."""
    if run.alone_s <= 0:
        return ""
    return f"{plain(run.plate)} runs {words.hours(run.alone_s)} with nobody there"


def check_words(roster: Roster, plate: str) -> str:
    """Say how long the first articles on a plate are to be tried, and who waits for it."""
    waiting = roster.waiting.get(plate, [])
    check_s = max((task.check_s for task in waiting), default=0.0)
    if not waiting:
        return ""
    how_long = f" for {words.hours(check_s)}" if check_s else ""
    return plain(f"Check {plate}{how_long} before {_named(waiting)} may start")


def gate_words(task: PlateTask) -> str:
    """Say which plates are to be checked before this one; empty if none is."""
    if not task.gate:
        return ""
    return plain(f"Only once {listed(task.gate)} {are(len(task.gate))} found to fit")


def _named(tasks: list[PlateTask]) -> str:
    if len(tasks) <= NAMED_MAX:
        return listed(tuple(task.id for task in tasks))
    return f"{words.thing(len(tasks), 'other plate')}"


def _off(roster: Roster, visit: Visit) -> list[str]:
    if visit.take_off is None:
        return []
    check = check_words(roster, visit.take_off)
    return [
        f"Take off {visit.take_off}: {roster.contents(visit.take_off)}",
        *([check] if check else []),
    ]


def _on(roster: Roster, visit: Visit, run: Run | None) -> list[str]:
    steps = []
    if visit.spool is not None and (visit.change_spool or visit.feeds):
        steps.append(f"Put on spool {visit.spool} ({roster.filament(visit.spool)})")
    if visit.second_spool is not None:
        steps.append(f"Make ready spool {visit.second_spool}, which feeds after it")
    if visit.feeds is not None:
        steps.append(f"Let {visit.feeds} go on")
    if visit.start is not None:
        grams = mass(roster.tasks[visit.start].grams)
        kept = visit.spool is not None and not visit.change_spool
        spool = f" from {visit.spool}, which is on it" if kept else ""
        steps.append(f"Start {visit.start}{spool}: {roster.contents(visit.start)}, {grams}")
    if run is not None:
        until = words.when(run.end, roster.zone)
        took = words.hours((run.end - run.start).total_seconds())
        steps.append(f"It is done at {until}, after {took}")
    return steps


def _after(roster: Roster, visit: Visit, after: Visit | None) -> str:
    if after is None:
        return "This was the last visit"
    zone = roster.zone
    same_day = words.day(visit.at, zone) == words.day(after.at, zone)
    moment = words.clock(after.at, zone) if same_day else words.when(after.at, zone)
    gap_s = after.at.timestamp() - visit.until.timestamp()
    how_long = f"in {words.hours(gap_s)}" if gap_s >= 60 else "at once"
    return plain(f"Next {how_long}: {moment}, {after.machine}")
