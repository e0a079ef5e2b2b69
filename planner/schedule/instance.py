"""The weekend in small integers, as the search wants it: indices, seconds, milligrams."""

from __future__ import annotations

from dataclasses import dataclass
from graphlib import TopologicalSorter
from math import ceil, floor
from typing import TYPE_CHECKING

from planner.schedule.clock import (
    NEVER,
    Stretch,
    inner_stretch,
    joined,
    outer_stretch,
    seconds_after,
)

if TYPE_CHECKING:
    from planner.schedule.model import MachineSlot, PlateTask, SpoolLevel, Weekend


_Likeness = tuple[bool, tuple[Stretch, ...], int, bool, tuple[float, ...]]

Hands = tuple[tuple[int, ...], tuple[int, ...]]
"""The first and the last moments of the stretches in which hands-on work can begin."""


VALUE_PARTS = 1000
"""Values of sets are told apart to a thousandth of the user's unit."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Kind:
    """Printers that are alike: same seconds for every plate, same leave to run alone.

    No run overlaps the `blocked` stretches. `any_time`: it may run alone and is never blocked.
    """

    machines: tuple[int, ...]
    unattended: bool
    blocked: tuple[Stretch, ...] = ()
    cool_down_s: int = 0
    changes_over: bool = False
    any_time: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Instance:
    """The problem in integers; every tuple is indexed by plate unless it says otherwise.

    `options[j]` is ((kind, seconds), ...), the hands-on time included; `spools_for[j]` the
    spools of the right material and colour; `weights[j]` what it costs to leave the plate
    out: a plate of a lower priority number outweighs all plates of higher numbers together,
    late ones, which end after `late_after_s`, counting half. `sets` are (cost, plates): what
    it costs if one of these plates is left out or late; the cheapest of them outweighs all
    `weights` together. `gates_first` is all plates in an order in which none comes before
    what it waits for. `spool_ready_s` is when each spool is dry, `spool_alike` the same number
    for spools of one material and colour. `people[p]` are the stretches in
    which person p is there, `presence` those with anybody there, `hands[p]` those in which p
    can begin hands-on work. No run may end after `latest_end_s`.
    """

    options: tuple[tuple[tuple[int, int], ...], ...]
    milligrams: tuple[int, ...]
    spools_for: tuple[tuple[int, ...], ...]
    gates: tuple[tuple[int, ...], ...]
    gates_first: tuple[int, ...]
    is_gate: tuple[bool, ...]
    check_s: tuple[int, ...]
    priorities: tuple[int, ...]
    weights: tuple[int, ...]
    kinds: tuple[Kind, ...]
    spool_milligrams: tuple[int, ...]
    spool_ready_s: tuple[int, ...]
    spool_alike: tuple[int, ...]
    sets: tuple[tuple[int, tuple[int, ...]], ...]
    who: tuple[str, ...]
    people: tuple[tuple[Stretch, ...], ...]
    presence: tuple[Stretch, ...]
    hands: tuple[Hands, ...]
    hands_on_s: int
    late_after_s: int
    latest_end_s: int

    @property
    def plates(self) -> range:
        """The indices of the plates."""
        return range(len(self.options))


def instance_of(weekend: Weekend) -> Instance:
    """Return the weekend in integers, every rounding on the safe side.

    Runs and hands-on time are rounded up to whole seconds, windows inwards, grams up and
    spools down.
    """
    people = _people(weekend)
    presence = joined(stretch for stretches in people.values() for stretch in stretches)
    kinds, kind_of = _kinds(weekend)
    index = {task.id: j for j, task in enumerate(weekend.tasks)}
    gates = tuple(tuple(index[gate] for gate in task.gate) for task in weekend.tasks)
    hands_on_s = ceil(weekend.hands_on_s)
    hands = tuple(_hands(stretches, hands_on_s) for stretches in people.values())
    weights = _weights(weekend.tasks)
    named = {gate for chain in gates for gate in chain}
    deadline_s = (
        None if weekend.deadline is None else floor(seconds_after(weekend.start, weekend.deadline))
    )
    fed_by = _spools_for(weekend)
    return Instance(
        options=tuple(_options(task, kind_of, hands_on_s) for task in weekend.tasks),
        milligrams=tuple(ceil(task.grams * 1000) for task in weekend.tasks),
        spools_for=tuple(fed_by[task.material, task.colour] for task in weekend.tasks),
        gates=gates,
        gates_first=_gates_first(gates),
        is_gate=tuple(j in named for j in range(len(gates))),
        check_s=tuple(ceil(task.check_s) for task in weekend.tasks),
        priorities=tuple(task.priority for task in weekend.tasks),
        weights=weights,
        kinds=kinds,
        spool_milligrams=tuple(floor(spool.grams * 1000) for spool in weekend.spools),
        spool_ready_s=_spool_ready_s(weekend.spools, presence),
        spool_alike=_spool_alike(weekend.spools),
        sets=_sets(weekend, weights),
        who=tuple(people),
        people=tuple(people.values()),
        presence=presence,
        hands=hands,
        hands_on_s=hands_on_s,
        late_after_s=_late_after_s(deadline_s, hands),
        latest_end_s=_latest_end_s(deadline_s, presence),
    )


def _people(weekend: Weekend) -> dict[str, tuple[Stretch, ...]]:
    """Return name -> stretches of presence, in the order in which the names come up."""
    raw: dict[str, list[Stretch]] = {}
    for window in weekend.attendance:
        stretch = inner_stretch(weekend.start, window.start, window.end)
        raw.setdefault(window.who, []).append(stretch)
    return {who: joined(stretches) for who, stretches in raw.items()}


def _hands(stretches: tuple[Stretch, ...], hands_on_s: int) -> Hands:
    """Return from when to when the hands-on time can begin, for each stretch that has room."""
    roomy = [(begin, end) for begin, end in stretches if end - begin >= hands_on_s]
    return tuple(begin for begin, _ in roomy), tuple(end - hands_on_s for _, end in roomy)


def _late_after_s(deadline_s: int | None, hands: tuple[Hands, ...]) -> int:
    """Return the deadline, or the last moment at which anybody can take a plate off."""
    last_visit_s = max((last for _, lasts in hands for last in lasts), default=NEVER)
    return last_visit_s if deadline_s is None else min(deadline_s, last_visit_s)


def _latest_end_s(deadline_s: int | None, presence: tuple[Stretch, ...]) -> int:
    """Return the deadline if nobody comes after it, for a late plate would be of no use."""
    if deadline_s is None or (presence and presence[-1][1] > deadline_s):
        return NEVER
    return deadline_s


def _kinds(weekend: Weekend) -> tuple[tuple[Kind, ...], dict[str, int]]:
    """Group the printers that are alike, so that the search tries one of each."""
    columns = {machine.id: [0.0] * len(weekend.tasks) for machine in weekend.machines}
    for j, task in enumerate(weekend.tasks):
        for machine, seconds in task.seconds:
            columns[machine][j] = seconds
    groups: dict[_Likeness, list[int]] = {}
    for i, slot in enumerate(weekend.machines):
        groups.setdefault(_likeness(weekend, slot, columns), []).append(i)
    kinds = tuple(
        Kind(
            machines=tuple(members),
            unattended=unattended,
            blocked=blocked,
            cool_down_s=cool_down_s,
            changes_over=changes_over,
            any_time=unattended and not blocked,
        )
        for (unattended, blocked, cool_down_s, changes_over, _), members in groups.items()
    )
    of = {weekend.machines[i].id: k for k, kind in enumerate(kinds) for i in kind.machines}
    return kinds, of


def _likeness(weekend: Weekend, machine: MachineSlot, columns: dict[str, list[float]]) -> _Likeness:
    blocked = joined(outer_stretch(weekend.start, each.start, each.end) for each in machine.blocked)
    seconds = tuple(columns[machine.id])
    return machine.unattended, blocked, ceil(machine.cool_down_s), machine.changes_over, seconds


def _options(
    task: PlateTask, kind_of: dict[str, int], hands_on_s: int
) -> tuple[tuple[int, int], ...]:
    found = {kind_of[machine]: hands_on_s + ceil(s) for machine, s in task.seconds}
    return tuple(sorted(found.items(), key=lambda option: (option[1], option[0])))


def _gates_first(gates: tuple[tuple[int, ...], ...]) -> tuple[int, ...]:
    """Return the plates so that each comes after its gates."""
    if not any(gates[gate] for chain in gates for gate in chain):  # no gate waits itself
        return tuple(sorted(range(len(gates)), key=lambda plate: bool(gates[plate])))
    return tuple(TopologicalSorter(dict(enumerate(gates))).static_order())


def _spools_for(weekend: Weekend) -> dict[tuple[str, str | None], tuple[int, ...]]:
    """Return the spools that suit each material and colour that a plate asks for."""
    return {
        (material, colour): tuple(
            i
            for i, spool in enumerate(weekend.spools)
            if spool.material == material and colour in (None, spool.colour)
        )
        for material, colour in {(task.material, task.colour) for task in weekend.tasks}
    }


def _spool_ready_s(
    spools: tuple[SpoolLevel, ...], presence: tuple[Stretch, ...]
) -> tuple[int, ...]:
    """Return when each spool can feed: at once, or dried from when somebody is there."""
    first_s = presence[0][0] if presence else 0
    return tuple(first_s + ceil(each.drying_s) if each.drying_s else 0 for each in spools)


def _spool_alike(spools: tuple[SpoolLevel, ...]) -> tuple[int, ...]:
    looks = [(spool.material, spool.colour) for spool in spools]
    return tuple(looks.index(look) for look in looks)


def _sets(weekend: Weekend, weights: tuple[int, ...]) -> tuple[tuple[int, tuple[int, ...]], ...]:
    """Return the sets that are worth something, in units that outweigh all `weights`."""
    unit = 2 * sum(weights) + 1
    plates: dict[str, list[int]] = {}
    for j, task in enumerate(weekend.tasks):
        for name in task.sets:
            plates.setdefault(name, []).append(j)
    return tuple(
        (unit * round(value * VALUE_PARTS), tuple(plates[name]))
        for name, value in weekend.sets
        if name in plates and value
    )


def _weights(tasks: tuple[PlateTask, ...]) -> tuple[int, ...]:
    """Return whole numbers in which one urgent plate outweighs all less urgent ones."""
    levels = sorted({task.priority for task in tasks}, reverse=True)
    base = 2 * len(tasks) + 1  # each plate costs at most 2: left out; 1: late
    weight = {level: base**rank for rank, level in enumerate(levels)}
    return tuple(weight[task.priority] for task in tasks)
