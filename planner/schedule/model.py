"""The weekend as a problem and as a plan; durations in s, times aware."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from datetime import datetime

    from planner.job.model import Blocked, Window


@dataclass(frozen=True, slots=True, kw_only=True)
class PlateTask:
    """A plate to be printed once.

    `seconds` maps the machines that can print it to the time from the moment the person has
    started it until it can be taken off.
    `material`, `colour` (None = any) and `grams` say what it eats. `gate` names plates
    that must be finished and checked (`check_s` later) before this one may start.
    `priority`: lower is wanted earlier. `sets` names what is complete only with this plate.
    """

    id: str
    seconds: tuple[tuple[str, float], ...]
    material: str
    colour: str | None
    grams: float
    gate: tuple[str, ...] = ()
    check_s: float = 0.0
    priority: int = 0
    sets: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class MachineSlot:
    """A printer, and whether it may run while nobody is there.

    No run overlaps what is `blocked` (quiet hours, maintenance); its plates may be taken off
    then. The last `cool_down_s` of the seconds of each plate it only cools. One that
    `changes_over` goes on by itself from a spool that ends to a second one of the same
    material and colour.
    """

    id: str
    unattended: bool
    blocked: tuple[Blocked, ...] = ()
    cool_down_s: float = 0.0
    changes_over: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class SpoolLevel:
    """A spool with what is left on it.

    It has to dry for `drying_s` before it feeds, from the first moment somebody is there.
    """

    id: str
    material: str
    colour: str
    grams: float
    drying_s: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Weekend:
    """The problem: start, plates, machines, spools, attendance, and the hands-on time.

    `sets` are (name, value in units of the user's own): worth that once all plates which name
    the set are done, nothing before. `sets_lost` are (name, reason) of those that no plan
    completes, since something of them is on no plate.
    """

    start: datetime
    deadline: datetime | None
    tasks: tuple[PlateTask, ...]
    machines: tuple[MachineSlot, ...]
    spools: tuple[SpoolLevel, ...]
    attendance: tuple[Window, ...]
    hands_on_s: float
    sets: tuple[tuple[str, float], ...] = ()
    sets_lost: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """One plate on one machine at one time. `start` is when the person begins to set it up.

    First comes the hands-on time (take off the old plate, change the spool, start), then the
    machine prints, from `start` + `hands_on_s` to `end`, when the plate is free to be taken
    off. Machine and spool are in use from `start` to `end`; after that the plate waits on
    the machine for the next visit. `alone_s` is how long of that nobody is in attendance.

    A plate that no spool can feed alone has a `second_spool`, of the same material and colour,
    in use as long as the first: that one feeds to its end, at `change_at`, the second the last
    `second_g`. A machine that does not change over by itself waits at `change_at` while a
    person changes the spools, so its run lasts longer by the hands-on time.
    """

    plate: str
    machine: str
    spool: str
    start: datetime
    end: datetime
    hands_on_s: float
    alone_s: float
    second_spool: str | None = None
    second_g: float = 0.0
    change_at: datetime | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Visit:
    """A person at a machine: take off one plate (or nothing), start another (or nothing).

    `feeds` is the plate that goes on printing from `spool` after this visit, which does
    nothing else. `second_spool` is to be put on besides `spool`, for a machine that changes
    over to it by itself.
    """

    at: datetime
    until: datetime
    who: str
    machine: str
    take_off: str | None
    start: str | None
    spool: str | None
    change_spool: bool
    second_spool: str | None = None
    feeds: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class WeekendPlan:
    """The answer: runs, visits, what could not be placed and why, and how good it is.

    `lower_bound` is a finish that no plan can beat; `bound_by` says which argument gave it.
    `spool_left_g` is what remains on each spool. `remarks` are sentences on what the plan
    leaves open: plates that nobody takes off any more, spools to be put to dry, the moments
    at which somebody changes spools.
    `sets_done` are the sets of which every plate ends by the deadline and before the last
    moment at which it could be taken off; `sets_missed` the others, with the reason.
    """

    runs: tuple[Run, ...]
    visits: tuple[Visit, ...]
    unscheduled: tuple[tuple[str, str], ...]
    finish: datetime | None
    lower_bound: datetime | None
    bound_by: str
    spool_left_g: tuple[tuple[str, float], ...]
    remarks: tuple[str, ...] = ()
    sets_done: tuple[str, ...] = ()
    sets_missed: tuple[tuple[str, str], ...] = ()
