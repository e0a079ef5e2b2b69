"""The weekend as a problem and as a plan; durations in s, times aware."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from datetime import datetime

    from planner.job.model import Window


@dataclass(frozen=True, slots=True, kw_only=True)
class PlateTask:
    """A plate to be printed once.

    `seconds` maps the machines that can print it to the time from the moment the person has
    started it until it can be taken off.
    `material`, `colour` (None = any) and `grams` say what it eats. `gate` names plates
    that must be finished and checked (`check_s` later) before this one may start.
    `priority`: lower is wanted earlier.
    """

    id: str
    seconds: tuple[tuple[str, float], ...]
    material: str
    colour: str | None
    grams: float
    gate: tuple[str, ...] = ()
    check_s: float = 0.0
    priority: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class MachineSlot:
    """A printer, and whether it may run while nobody is there."""

    id: str
    unattended: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class SpoolLevel:
    """A spool with what is left on it."""

    id: str
    material: str
    colour: str
    grams: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Weekend:
    """The problem: start, plates, machines, spools, attendance, and the hands-on time."""

    start: datetime
    deadline: datetime | None
    tasks: tuple[PlateTask, ...]
    machines: tuple[MachineSlot, ...]
    spools: tuple[SpoolLevel, ...]
    attendance: tuple[Window, ...]
    hands_on_s: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """One plate on one machine at one time. `start` is when the person begins to set it up.

    First comes the hands-on time (take off the old plate, change the spool, start), then the
    machine prints, from `start` + `hands_on_s` to `end`, when the plate is free to be taken
    off. Machine and spool are in use from `start` to `end`; after that the plate waits on
    the machine for the next visit. `alone_s` is how long of that nobody is in attendance.
    """

    plate: str
    machine: str
    spool: str
    start: datetime
    end: datetime
    hands_on_s: float
    alone_s: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Visit:
    """A person at a machine: take off one plate (or nothing), start another (or nothing)."""

    at: datetime
    until: datetime
    who: str
    machine: str
    take_off: str | None
    start: str | None
    spool: str | None
    change_spool: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class WeekendPlan:
    """The answer: runs, visits, what could not be placed and why, and how good it is.

    `lower_bound` is a finish that no plan can beat; `bound_by` says which argument gave it.
    `spool_left_g` is what remains on each spool. `remarks` are sentences on what the plan
    leaves open: plates that nobody takes off any more.
    """

    runs: tuple[Run, ...]
    visits: tuple[Visit, ...]
    unscheduled: tuple[tuple[str, str], ...]
    finish: datetime | None
    lower_bound: datetime | None
    bound_by: str
    spool_left_g: tuple[tuple[str, float], ...]
    remarks: tuple[str, ...] = ()
