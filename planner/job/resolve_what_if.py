"""The changes that a job asks to have compared: names looked up, times given their zone."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from planner.document.wording import shown, suggestion
from planner.job.change import Change
from planner.job.resolve_blocked import blocked_of
from planner.job.resolve_shop import machines_of, spools_of
from planner.job.resolve_times import deadline_of, windows_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from datetime import datetime
    from pathlib import Path
    from zoneinfo import ZoneInfo

    from planner.job.faults import Faults
    from planner.job.form import JobForm, WhatIfForm
    from planner.job.model import Machine, Spool


class Shop(NamedTuple):
    """What the changes come on top of."""

    machines: Sequence[Machine]
    spools: Sequence[Spool]
    start: datetime | None
    zone: ZoneInfo | None
    days: tuple[datetime, datetime] | None
    folder: Path


def changes_of(form: JobForm, shop: Shop, faults: Faults) -> tuple[Change, ...]:
    """Return the changes; notes names that are taken, unknown or double, and empty changes."""
    names: set[str] = set()
    changes = []
    for index, each in enumerate(form.what_if):
        place = f"what_if[{index}]"
        if each.name in names:
            faults.add(
                f"{place}.name",
                found=f"{shown(each.name)}, the name of a change before",
                expected="a name of its own for each change",
                remedy="rename one of the two",
            )
        names.add(each.name)
        _note_unknown(each, place, faults)
        changes.append(_change(form, each, place, shop, faults))
    return tuple(changes)


def _change(form: JobForm, each: WhatIfForm, place: str, shop: Shop, faults: Faults) -> Change:
    at = f"{place}."
    blocked = blocked_of(each.printers, form.quiet_hours, shop.days, shop.zone, faults, at=at)
    cools_s = form.cool_down_min * 60
    machines = machines_of(each.printers, blocked, cools_s, shop.folder, faults, at=at)
    spools = spools_of(each.spools, shop.folder, faults, at=at)
    _note_taken((m.name for m in machines), (m.name for m in shop.machines), place, faults)
    _note_taken((s.name for s in spools), (s.name for s in shop.spools), place, faults)
    return Change(
        name=each.name,
        printers=machines,
        spools=spools,
        attendance=windows_of(each.attendance, shop.start, shop.zone, faults, at=at),
        without=each.without,
        layer_mm=each.layer_mm,
        mornings_later_h=each.mornings_later_h,
        evenings_longer_h=each.evenings_longer_h,
        deadline=deadline_of(each.deadline, shop.start, shop.zone, faults, at=at),
        hands_on_s=None if each.hands_on_min is None else each.hands_on_min * 60,
        confidence=each.confidence,
        finish_confidence=each.finish_confidence,
        spares=each.spares,
        unattended=each.unattended,
        where=faults.document.where(place),
    )


def _note_taken(names: Iterable[str], before: Iterable[str], place: str, faults: Faults) -> None:
    """Note a printer or spool that is called like one that is there already."""
    known = set(before)
    for name in names:
        if name in known:
            faults.add(
                place,
                found=f"{shown(name)}, which is there already",
                expected="another name for what comes on top",
                remedy="rename it",
            )


def _note_unknown(each: WhatIfForm, place: str, faults: Faults) -> None:
    data = faults.document.data
    known = [
        str(name)
        for key in ("parts", "assemblies")
        if isinstance(data.get(key), dict)
        for name in data[key]
    ]
    for number, name in enumerate(each.without):
        if known and name not in known:
            faults.add(
                f"{place}.without[{number}]",
                found=f"the unknown part {shown(name)}",
                expected="a part or an assembly of this file",
                remedy=suggestion(name, known),
            )
