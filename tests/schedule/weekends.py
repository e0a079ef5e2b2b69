"""Small weekends for the tests, and Hypothesis strategies of them."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

from hypothesis import strategies as st

from planner.job.model import Blocked, Window
from planner.schedule.model import MachineSlot, PlateTask, SpoolLevel, Weekend

START = datetime(2026, 11, 27, 18, tzinfo=UTC)


def at(seconds: float, start: datetime = START) -> datetime:
    """Return the time `seconds` after the start."""
    return start + timedelta(seconds=seconds)


def window(begin: float, end: float, who: str = "ada") -> Window:
    """Return a window in seconds after the start."""
    return Window(who=who, start=at(begin), end=at(end))


def blocked(begin: float, end: float, why: str = "maintenance") -> Blocked:
    """Return a stretch in seconds after the start in which a printer must not run."""
    return Blocked(start=at(begin), end=at(end), why=why)


def slot(
    name: str,
    *,
    unattended: bool = True,
    blocked: tuple[Blocked, ...] = (),
    cool_down_s: float = 0.0,
    changes_over: bool = False,
) -> MachineSlot:
    """Return a printer, one that may run alone at any time if nothing else is said."""
    return MachineSlot(
        id=name,
        unattended=unattended,
        blocked=blocked,
        cool_down_s=cool_down_s,
        changes_over=changes_over,
    )


def plate(
    name: str,
    seconds: dict[str, float],
    *,
    grams: float = 10.0,
    material: str = "pla",
    colour: str | None = None,
    gate: tuple[str, ...] = (),
    check_s: float = 0.0,
    priority: int = 0,
    sets: tuple[str, ...] = (),
) -> PlateTask:
    """Return a plate with all that does not matter filled in."""
    return PlateTask(
        id=name,
        seconds=tuple(seconds.items()),
        material=material,
        colour=colour,
        grams=grams,
        gate=gate,
        check_s=check_s,
        priority=priority,
        sets=sets,
    )


def spool(
    name: str,
    grams: float,
    material: str = "pla",
    colour: str = "grey",
    *,
    drying_s: float = 0.0,
) -> SpoolLevel:
    """Return a spool."""
    return SpoolLevel(id=name, material=material, colour=colour, grams=grams, drying_s=drying_s)


def weekend(
    plates: list[PlateTask],
    *,
    machines: dict[str, bool] | None = None,
    slots: list[MachineSlot] | None = None,
    attendance: list[Window] | None = None,
    spools: list[SpoolLevel] | None = None,
    hands_on_s: float = 0.0,
    deadline_s: float | None = None,
    start: datetime = START,
    sets: dict[str, float] | None = None,
) -> Weekend:
    """Return a weekend; by default one printer "a", always attended, with spools for all."""
    if slots is None:
        slots = [slot(name, unattended=alone) for name, alone in (machines or {"a": True}).items()]
    if spools is None:
        spools = [spool(f"spool {each.id}", 1e5) for each in slots]
    return Weekend(
        start=start,
        deadline=None if deadline_s is None else at(deadline_s, start),
        tasks=tuple(plates),
        machines=tuple(slots),
        spools=tuple(spools),
        attendance=tuple(attendance if attendance is not None else [window(0, 1e7)]),
        hands_on_s=hands_on_s,
        sets=tuple((sets or {}).items()),
    )


def identical_machines(times: list[int], count: int) -> Weekend:
    """Return a textbook problem: jobs on identical machines, always attended, no hands-on time."""
    machines = {f"m{i}": True for i in range(count)}
    plates = [plate(f"job {i}", dict.fromkeys(machines, t)) for i, t in enumerate(times)]
    return weekend(plates, machines=machines)


@st.composite
def weekends(draw, most_plates: int = 9, unit_s: int = 600, *, generous: bool = False) -> Weekend:
    """Return weekends in which every rule may bite; all times are multiples of `unit_s`.

    Generous ones have a printer and a spool for every plate, and a long last window, so
    that most of them can print everything.
    """
    slots = [
        _slot(draw, name, unit_s)
        for name in ("a", "b", "c")[: draw(st.integers(1, 3), label="printers")]
    ]
    machines = [each.id for each in slots]
    sets = {f"set {i}": float(draw(st.integers(0, 3))) for i in range(draw(st.integers(0, 3)))}
    plates = []
    for i in range(draw(st.integers(1, most_plates), label="plates")):
        able = draw(st.sets(st.sampled_from(sorted(machines)), min_size=int(generous)))
        names = [p.id for p in plates]
        gates = draw(st.sets(st.sampled_from(names), max_size=2)) if names else set()
        plates.append(
            plate(
                f"p{i}",
                {
                    each.id: unit_s * draw(st.integers(1, 8)) + each.cool_down_s
                    for each in slots
                    if each.id in able
                },
                grams=draw(st.integers(0, 5)) * 20.0,
                colour=draw(st.sampled_from([None, "grey", "black"])),
                gate=tuple(sorted(gates)) if draw(st.integers(0, 2)) == 0 else (),
                check_s=unit_s * draw(st.integers(0, 2)),
                priority=draw(st.integers(0, 2)),
                sets=tuple(
                    sorted(draw(st.sets(st.sampled_from(sorted(sets)), max_size=2))) if sets else ()
                ),
            )
        )
    used = {name for each in plates for name in each.sets}
    spools = [
        spool(
            f"s{i}",
            draw(st.integers(0, 15)) * 20.0,
            colour=draw(st.sampled_from(COLOURS)),
            drying_s=unit_s * draw(st.sampled_from([0, 0, 5])),
        )
        for i in range(draw(st.integers(0, 4), label="spools"))
    ]
    if generous:
        spools += [spool(f"full {colour}", 100.0, colour=colour) for colour in COLOURS]
    attendance = [
        window(begin * unit_s, (begin + length) * unit_s, who)
        for who in ("ada", "bo")[: draw(st.integers(1, 2), label="people")]
        for begin, length in _stretches(draw)
        if not (generous and begin + length > 30)
    ]
    if generous:
        attendance.append(window(30 * unit_s, 45 * unit_s))
    deadline = draw(st.one_of(st.none(), st.integers(5, 60)))
    return weekend(
        plates,
        slots=slots,
        spools=spools,
        attendance=attendance,
        sets={name: value for name, value in sets.items() if name in used},
        hands_on_s=unit_s * draw(st.integers(0, 2)),
        deadline_s=None if deadline is None else deadline * unit_s,
    )


@st.composite
def lean_weekends(draw) -> Weekend:
    """Return weekends with many nearly empty spools, so that plates are fed from two."""
    problem = draw(weekends(most_plates=5, generous=True))
    levels = draw(st.lists(st.integers(1, 60), min_size=2, max_size=8))
    return replace(
        problem,
        tasks=tuple(replace(task, grams=task.grams + 20.0, colour=None) for task in problem.tasks),
        spools=tuple(
            spool(f"s{i}", grams * 1.3, colour=draw(st.sampled_from(COLOURS)))
            for i, grams in enumerate(levels)
        ),
    )


def _slot(draw, name: str, unit_s: int) -> MachineSlot:
    stops = [] if draw(st.booleans()) else _stretches(draw)
    return slot(
        name,
        unattended=draw(st.booleans(), label=f"{name} may run alone"),
        blocked=tuple(blocked(a * unit_s, (a + length) * unit_s) for a, length in stops),
        cool_down_s=unit_s * draw(st.sampled_from([0, 0, 1])),
        changes_over=draw(st.booleans(), label=f"{name} changes over"),
    )


COLOURS = ["grey", "black"]


def _stretches(draw) -> list[tuple[int, int]]:
    out, begin = [], 0
    for _ in range(draw(st.integers(0, 4))):
        begin += draw(st.integers(0, 12))
        length = draw(st.integers(1, 15))
        out.append((begin, length))
        begin += length
    return out
