"""Which plates make what the job puts a value on complete."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from planner.handover.model import PlannedPlate
    from planner.job.model import Assembly, Job
    from planner.schedule.model import WeekendPlan


@dataclass(frozen=True, slots=True, kw_only=True)
class Sets:
    """The sets that can be complete, with their value; those that cannot, with the reason.

    `of_plate` maps a plate to the sets that want a part of it.
    """

    values: tuple[tuple[str, float], ...]
    lost: tuple[tuple[str, str], ...]
    of_plate: Mapping[str, tuple[str, ...]]


def sets_of(
    job: Job, plates: Sequence[PlannedPlate], left_out: Sequence[tuple[str, int, str]]
) -> Sets:
    """Return the sets of these plates: parts and assemblies with a value.

    A set needs every plate with one of its parts, since nobody knows which copies will be
    the good ones. Parts that are `left_out` (part, copies, reason) of the plates lose it.
    """
    wanted = _valued(job)
    of_plate: dict[str, tuple[str, ...]] = {}
    for plate in plates if wanted else ():
        on_plate = {placement.id for placement in plate.placements}
        of_plate[plate.id] = tuple(n for n, (_, parts) in wanted.items() if on_plate & parts)
    held = {name for names in of_plate.values() for name in names}
    missing = {part: f"{count} of {part} on no plate" for part, count, _ in left_out}
    lost = {
        name: "; ".join(missing[part] for part in sorted(parts & missing.keys()))
        for name, (_, parts) in wanted.items()
    }
    return Sets(
        values=tuple((n, value) for n, (value, _) in wanted.items() if n in held and not lost[n]),
        lost=tuple((name, why) for name, why in lost.items() if why),
        of_plate={p: tuple(n for n in names if not lost[n]) for p, names in of_plate.items()},
    )


def with_lost(
    job: Job, weekend: WeekendPlan, left_out: Sequence[tuple[str, int, str]]
) -> WeekendPlan:
    """Return the weekend with the sets missed of which a part is among what is `left_out`."""
    lost = dict(sets_of(job, (), left_out).lost)
    told = tuple(each for each in weekend.sets_missed if each[0] not in lost)
    done = tuple(name for name in weekend.sets_done if name not in lost)
    return replace(weekend, sets_done=done, sets_missed=(*told, *lost.items()))


def value_done(job: Job, weekend: WeekendPlan) -> float:
    """Return the value of all that is complete in time, in the job's own units."""
    values = {name: value for name, (value, _) in _valued(job).items()}
    return sum(values.get(name, 0.0) for name in weekend.sets_done)


def _valued(job: Job) -> dict[str, tuple[float, set[str]]]:
    """Return name -> (value, names of all parts in it) of what has a value above 0."""
    parts = {p.name: (p.value, {p.name}) for p in job.parts.values() if p.value}
    assemblies = {
        a.name: (a.value, _parts_in(job.assemblies, a)) for a in job.assemblies.values() if a.value
    }
    return {**parts, **assemblies}


def _parts_in(assemblies: Mapping[str, Assembly], assembly: Assembly) -> set[str]:
    """Return the names of the parts in an assembly, and in those that it contains."""
    inside: set[str] = set()
    todo, seen = [assembly.name], {assembly.name}
    while todo:
        for name in assemblies[todo.pop()].contains:
            if name not in assemblies:
                inside.add(name)
            elif name not in seen:
                seen.add(name)
                todo.append(name)
    return inside
