"""What contradicts itself in a weekend, one sentence each; the file's name is the caller's."""

from __future__ import annotations

from collections import Counter
from graphlib import CycleError, TopologicalSorter
from math import isfinite
from typing import TYPE_CHECKING, NamedTuple

from planner.errors import Problem

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from planner.schedule.model import MachineSlot, PlateTask, SpoolLevel, Weekend

LONGEST_S = 366 * 24 * 3600.0  # a run or a check of over a year is a slip of the unit
HEAVIEST_G = 1e6  # a tonne of filament, likewise


def weekend_faults(weekend: Weekend, file: str = "weekend") -> tuple[Problem, ...]:
    """Return what makes a weekend impossible to plan with."""
    hands_on = _Number("hands_on_min", weekend.hands_on_s, 0.0, 24 * 3600.0, "s")
    plates = plate_faults(weekend.tasks, weekend.machines, weekend.spools, weekend.sets, file)
    return (*_out_of_range([hands_on], file), *plates)


def plate_faults(
    tasks: tuple[PlateTask, ...],
    machines: tuple[MachineSlot, ...],
    spools: tuple[SpoolLevel, ...],
    sets: tuple[tuple[str, float], ...],
    file: str,
) -> tuple[Problem, ...]:
    """Return what is wrong with plates, printers, spools and sets; places are the file's."""
    return (
        *_repeats(file, "plates", (task.id for task in tasks)),
        *_repeats(file, "printers", (machine.id for machine in machines)),
        *_repeats(file, "spools", (spool.id for spool in spools)),
        *_repeats(file, "sets", (name for name, _ in sets), each="sets"),
        *_out_of_range(_numbers(tasks, machines, spools, sets), file),
        *_unknown_printers(tasks, [machine.id for machine in machines], file),
        *_gate_faults(tasks, file),
        *_set_faults(tasks, [name for name, _ in sets], file),
    )


def _repeats(
    file: str, place: str, names: Iterable[str], *, each: str = "{place}[{index}].id"
) -> Iterator[Problem]:
    """Name what comes again, at its second place."""
    names = list(names)
    for name, times in Counter(names).items():
        if times > 1:
            again = names.index(name, names.index(name) + 1)
            yield Problem(
                file=file,
                place=each.format(place=place, index=again),
                found=f"{name!r} {times} times",
                expected="each id once",
                remedy="give every one its own id",
            )


class _Number(NamedTuple):
    place: str
    value: float
    least: float
    most: float
    unit: str


def _numbers(
    tasks: tuple[PlateTask, ...],
    machines: tuple[MachineSlot, ...],
    spools: tuple[SpoolLevel, ...],
    sets: tuple[tuple[str, float], ...],
) -> Iterator[_Number]:
    for i, task in enumerate(tasks):
        place = f"plates[{i}]"
        for machine, seconds in task.seconds:
            yield _Number(f"{place}.seconds.{machine}", seconds, 1e-3, LONGEST_S, "s")
        yield _Number(f"{place}.check_min", task.check_s, 0.0, LONGEST_S, "s")
        yield _Number(f"{place}.grams", task.grams, 0.0, HEAVIEST_G, "g")
    for i, spool in enumerate(spools):
        yield _Number(f"spools[{i}].grams", spool.grams, 0.0, HEAVIEST_G, "g")
        yield _Number(f"spools[{i}].drying_h", spool.drying_s, 0.0, LONGEST_S, "s")
    for i, slot in enumerate(machines):
        yield _Number(f"printers[{i}].cool_down_min", slot.cool_down_s, 0.0, LONGEST_S, "s")
    for name, value in sets:
        yield _Number(f"sets.{name}", value, 0.0, 1e9, "units")


def _out_of_range(numbers: Iterable[_Number], file: str) -> Iterator[Problem]:
    """Name every number that is not finite, negative or far beyond use."""
    for number in numbers:
        if not (isfinite(number.value) and number.least <= number.value <= number.most):
            yield Problem(
                file=file,
                place=number.place,
                found=f"{number.value:g} {number.unit}",
                expected=f"a number from {number.least:g} to {number.most:.0f} {number.unit}",
                remedy="correct the number",
            )


def _unknown_printers(
    tasks: tuple[PlateTask, ...], known: list[str], file: str
) -> Iterator[Problem]:
    names = ", ".join(known) or "the printers, of which there are none"
    for i, task in enumerate(tasks):
        for machine, _ in task.seconds:
            if machine not in known:
                yield Problem(
                    file=file,
                    place=f"plates[{i}].seconds",
                    found=f"printer {machine!r}",
                    expected=f"one of {names}",
                    remedy="name a printer of the list, or add this one to it",
                )


def _set_faults(tasks: tuple[PlateTask, ...], known: list[str], file: str) -> Iterator[Problem]:
    for i, task in enumerate(tasks):
        for name in task.sets:
            if name not in known:
                yield Problem(
                    file=file,
                    place=f"plates[{i}].set",
                    found=f"set {name!r}",
                    expected=f"one of {', '.join(known) or 'the sets, of which there are none'}",
                    remedy="add it to sets with its value, or correct the name",
                )
    held = {name for task in tasks for name in task.sets}
    for name in known:
        if name not in held:
            yield Problem(
                file=file,
                place=f"sets.{name}",
                found="no plate of this set",
                expected="one plate at least that names it",
                remedy=f'write "set": "{name}" to its plates, or take the set out',
            )


def _gate_faults(tasks: tuple[PlateTask, ...], file: str) -> Iterator[Problem]:
    known = {task.id for task in tasks}
    unknown = [(i, gate) for i, task in enumerate(tasks) for gate in task.gate if gate not in known]
    for plate, gate in unknown:
        yield Problem(
            file=file,
            place=f"plates[{plate}].gate",
            found=f"plate {gate!r}",
            expected="the id of another plate",
            remedy="correct the id, or leave the gate out",
        )
    if not unknown:
        yield from _cycle(tasks, file)


def _cycle(tasks: tuple[PlateTask, ...], file: str) -> Iterator[Problem]:
    """Name a ring of plates that wait for each other, all of it."""
    try:
        TopologicalSorter({task.id: task.gate for task in tasks}).prepare()
    except CycleError as error:
        ring: list[str] = error.args[1]  # each one waits for the one before it
        yield Problem(
            file=file,
            place="plates",
            found="plates that wait for each other: " + " waits for ".join(reversed(ring)),
            expected="gates that lead back to a plate that waits for none",
            remedy="take one of these gates out",
        )
