"""A plate as it will be printed: what its parts must share, and what its own printer allows."""

from __future__ import annotations

from typing import TYPE_CHECKING, Protocol

import numpy as np

from planner.audit import sources
from planner.audit.model import Finding
from planner.audit.order import in_order
from planner.audit.rules.cooling import TALL_MM, TRUST, setting_s
from planner.audit.rules.room import SLACK_MM
from planner.audit.words import listed, with_unit
from planner.settings.model import Level

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from numpy.typing import NDArray

    from planner.job.model import Part
    from planner.layers.model import Layering, PrintTime
    from planner.settings.model import Filament, Printer
    from planner.solid.model import Posed

    Floats = NDArray[np.float64]

SHARED = ("fan", "layer_time_min_s", "retract_mm", "lift_mm")
"""Settings of the machine while it goes from part to part: one value for a whole plate.
Common practice, no source."""


class Laid(Protocol):
    """A part in layers with its times; what the handover calls a ready part."""

    @property
    def part(self) -> Part:
        """The part."""

    @property
    def filament(self) -> Filament:
        """What it is made of."""

    @property
    def posed(self) -> Posed:
        """How it stands."""

    @property
    def layering(self) -> Layering:
        """Its layers."""

    @property
    def times(self) -> Mapping[str, PrintTime]:
        """Printer profile -> time of one copy."""


def audit_plate(
    plate: str, printer: Printer, laid: Sequence[tuple[Laid, int]]
) -> tuple[Finding, ...]:
    """Return the findings about one plate, sorted.

    `laid` has the parts on it with their copies; `printer` is what it was packed for.
    """
    where = f"plate {plate}"
    found = [*_differing(where, laid), *_head_room(where, printer, laid)]
    return in_order([*found, *_quick_layers(where, printer, laid)])


def _differing(where: str, laid: Sequence[tuple[Laid, int]]) -> Iterator[Finding]:
    """Note what can have one value on a plate only, but has several."""
    for key in SHARED:
        parts: dict[object, list[str]] = {}
        for ready, _ in laid:
            value = getattr(ready.part.settings, key)
            parts.setdefault(value, []).append(ready.part.name)
        if len(parts) < 2:
            continue
        told = (f"{with_unit(key, value)} for {listed(tuple(parts[value]))}" for value in parts)
        yield Finding(
            rule="plate settings",
            level=Level.NOTE,
            part="",
            where=where,
            found=f"{key}: {'; '.join(told)}",
            expected="one value for all parts of a plate",
            why="programs and machines that cannot change it from part to part take one of them, "
            "and the times counted here are those of each part's own",
            remedy=f"give the parts the same {key}, or print them with the one that suits all",
            source=sources.PRACTICE,
        )


def _head_room(where: str, printer: Printer, laid: Sequence[tuple[Laid, int]]) -> Iterator[Finding]:
    """Warn where this printer has no room to lift the head over its tallest part."""
    for ready, _ in laid:
        high, lift = ready.posed.size_mm[2], ready.part.settings.lift_mm
        if lift > 0 and high + lift > printer.height_mm + SLACK_MM:
            yield Finding(
                rule="head room",
                level=Level.WARN,
                part=ready.part.name,
                where=where,
                found=f"{high:.1f} mm high and a lift of {lift:g} mm on {printer.name}",
                expected=f"at most {printer.height_mm:g} mm together, its room above the bed",
                why="at the top the head is driven against the end of its axis",
                remedy=f"set lift_mm: {max(0.0, printer.height_mm - high):g} for it, or print it "
                "on a taller printer",
                source=f"{sources.MESH}; {sources.PRINTER}",
            )


def _quick_layers(
    where: str, printer: Printer, laid: Sequence[tuple[Laid, int]]
) -> Iterator[Finding]:
    """Warn where layers follow each other faster than a part sets, all parts counted.

    The other parts of the plate give each one time to cool, unless the printer makes one
    part after the other.
    """
    shared = _shared_s(printer, laid)
    for ready, _ in laid:
        settings, own_s = ready.part.settings, _own_s(printer, ready)
        spent_s = own_s if printer.one_by_one else shared[: len(own_s)]
        needs_s = setting_s(settings, ready.filament)
        quick = np.maximum(spent_s, settings.layer_time_min_s) < needs_s * TRUST
        high_mm = float(ready.layering.height_mm[quick].sum())
        if high_mm >= TALL_MM:
            yield Finding(
                rule="layer time",
                level=Level.WARN,
                part=ready.part.name,
                where=where,
                found=f"{high_mm:.1f} mm of its height in layers of less than "
                f"{needs_s * TRUST:.1f} s, all parts of the plate counted",
                expected=f"about {needs_s:.0f} s, and not less than half of it",
                why="the next layer comes before this one has set, so small shapes slump and lean",
                remedy=f"set layer_time_min_s: {np.ceil(needs_s):.0f} for it, or put more parts "
                "on the plate",
                source=sources.SETTING,
            )


def _own_s(printer: Printer, ready: Laid) -> Floats:
    seconds: Floats = ready.times[printer.name].by_layer_s.sum(axis=1)
    return seconds


def _shared_s(printer: Printer, laid: Sequence[tuple[Laid, int]]) -> Floats:
    """Return the seconds of each layer with all copies in it; layers of a plate are alike."""
    shared = np.zeros(max(ready.layering.layers for ready, _ in laid))
    for ready, copies in laid:
        own_s = _own_s(printer, ready)
        shared[: len(own_s)] += copies * own_s
    return shared
