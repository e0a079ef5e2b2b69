"""Pinned copies of a job: which group and bed each belongs to, and whether it can stay there."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from typing import TYPE_CHECKING

from planner.errors import InputError, input_error
from planner.handover.beds import bed_of, largest_spool_g, rosters
from planner.handover.groups import bed_key
from planner.handover.items import item_of
from planner.handover.seconds import seconds_on_plate
from planner.nest.model import Pin, Wishes
from planner.nest.pinned import found_and_expected, wrong_pins

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from planner.handover.beds import Roster
    from planner.handover.groups import Group
    from planner.job.model import Job, PartPin
    from planner.nest.model import PackedPlate


def check_pins(job: Job, groups: Sequence[Group], copies: Mapping[str, Mapping[str, int]]) -> None:
    """Raise InputError for the first pin that breaks a rule; `copies` are those of each group."""
    plates: dict[int, tuple[str, str]] = {}
    for number, pin in enumerate(job.plating.pins):
        home = next((g for g in groups if pin.part in {r.part.name for r in g.parts}), None)
        if home is None:
            raise _wrong(job, number, f"{pin.part}, of which no copy is to be printed")
        if pin.machine not in {machine.name for machine in home.machines}:
            raise _wrong(job, number, f"{pin.part} on {pin.machine}, which cannot print it")
        own = (home.name, _key(job, pin))
        if plates.setdefault(pin.plate, own) != own:
            raise _wrong(job, number, f"{pin.part} on a plate that others need otherwise")
    for group in groups:
        for key, roster in rosters(job, group, cap_s=float("inf")).items():
            _check_on(job, group, key, roster, copies[group.name])


def pinned_copies(job: Job, group: Group) -> dict[str, Counter[str]]:
    """Return bed -> part -> pinned copies of a group."""
    found: dict[str, Counter[str]] = {}
    for pin in _of(job, group):
        found.setdefault(_key(job, pin), Counter())[pin.part] += 1
    return found


def pins_on(job: Job, group: Group, key: str) -> tuple[Pin, ...]:
    """Return the pins of a group on a kind of bed, as the packer takes them."""
    return tuple(
        Pin(
            plate=pin.plate,
            bed=key,
            id=pin.part,
            x_mm=pin.x_mm,
            y_mm=pin.y_mm,
            rotation_deg=pin.rotation_deg,
        )
        for pin in _of(job, group)
        if _key(job, pin) == key
    )


def holds_pins(plate: PackedPlate, pins: Sequence[Pin]) -> bool:
    """Tell whether a pinned copy lies on a packed plate: a person chose the bed of that one."""
    laid = {(p.id, p.x_mm, p.y_mm, p.rotation_deg) for p in plate.placements}
    return any((p.id, p.x_mm, p.y_mm, p.rotation_deg) in laid for p in pins)


def long_enough(
    roster: Roster, whole: Roster, pins: Sequence[Pin], each_s: Mapping[str, float]
) -> Roster:
    """Return the roster with room for what is pinned on one plate; `whole` is without a cap.

    A cap is a way to cut plates that is tried, no rule; a pin stays whatever is tried.
    """
    spent = dict.fromkeys((pin.plate for pin in pins), 0.0)
    for pin in pins:
        spent[pin.plate] += each_s[pin.id]
    longest = max(spent.values(), default=0.0)
    return replace(roster, limit_s=min(whole.limit_s, max(roster.limit_s, longest)))


def _check_on(job: Job, group: Group, key: str, roster: Roster, copies: Mapping[str, int]) -> None:
    pins = pins_on(job, group, key)
    if not pins:
        return
    names = {pin.id for pin in pins}
    items = [
        item_of(
            ready,
            quantity=copies[ready.part.name],
            seconds=seconds_on_plate(job, ready.times[roster.printer.name]),
        )
        for ready in group.parts
        if ready.part.name in names
    ]
    wishes = Wishes(pins=pins, together=job.plating.together, apart=job.plating.apart)
    bed = bed_of(key, roster, spool_g=largest_spool_g(job, group))
    for place, text in wrong_pins(
        items, [bed], wishes, clearance_mm=job.clearance_mm, edge_mm=job.edge_mm
    ):
        number = job.plating.pins.index(_of(job, group, key)[place])
        raise _wrong(job, number, _in_minutes(text, roster))


def _in_minutes(text: str, roster: Roster) -> str:
    """Say in minutes, and by what limit, that what is pinned on a plate prints too long."""
    seconds = text.partition(" seconds, expected")[0]
    if not seconds.replace(".", "", 1).isdigit():
        return text
    return (
        f"{float(seconds) / 60:.1f} min of printing pinned on one plate, expected at most "
        f"{roster.limit_s / 60:.1f} min, start-up aside, by hours_per_plate and attendance"
    )


def _of(job: Job, group: Group, key: str | None = None) -> list[PartPin]:
    names = {ready.part.name for ready in group.parts}
    return [
        pin
        for pin in job.plating.pins
        if pin.part in names and (key is None or _key(job, pin) == key)
    ]


def _key(job: Job, pin: PartPin) -> str:
    return next(bed_key(m.printer) for m in job.machines if m.name == pin.machine)


def _wrong(job: Job, number: int, text: str) -> InputError:
    found, expected = found_and_expected(text)
    return input_error(
        job.plating.pins[number].where or job.path,
        place=f"pins[{number}]",
        found=found,
        expected=expected,
        remedy="move the pin, or leave it out",
    )
