"""How fast laid plastic sets: air, and the time before the next layer comes.

A strand loses its heat upwards to the air, as a lump: T falls from the nozzle's temperature
towards the room's with the time constant density x heat capacity x layer height / transfer
(lumped capacitance: Incropera & DeWitt, Fundamentals of Heat and Mass Transfer, chapter 5).
Conduction downwards helps, the heat of the layers below hinders: good to a factor of two.
"""

from __future__ import annotations

from math import ceil, log
from typing import TYPE_CHECKING

import numpy as np

from planner.audit import sources
from planner.audit.rules.bead import SLACK
from planner.settings.model import ROOM_C, Level

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from planner.audit.model import Finding
    from planner.audit.subject import Subject
    from planner.layers.model import Layering, PrintTime
    from planner.settings.model import Filament, Settings

HEAT_J_KG_K = 1500.0
"""Heat capacity of printed polymers, 1200 to 2000: from memory."""

STILL_W_M2_K, MOVING_W_M2_K = 25.0, 75.0
"""Transfer without a fan (radiation in it), and what a full fan adds: from memory."""

SETS_ABOVE_C = 40.0
"""Rubbers have their glass transition far below the room: they set by crystals, not by it."""

TRUST = 0.5
"""The estimate is good to a factor of two, so only what is below half of it is told."""

TALL_MM = 1.0
"""Fewer small layers than this are a tip that matters little (our own choice)."""

WARPER_FAN = 0.5
"""More air than this splits what wants an enclosure; common practice, no source."""


def setting_s(settings: Settings, filament: Filament) -> float:
    """Seconds until a fresh layer is as cold as its glass transition; 0 where it is not told by it.

    tau = rho c h / alpha, t = tau ln((T_nozzle - T_room) / (T_glass - T_room)).
    """
    glass, nozzle = filament.glass_transition_c, settings.nozzle_c
    if glass < SETS_ABOVE_C or nozzle <= glass:
        return 0.0
    transfer = STILL_W_M2_K + MOVING_W_M2_K * settings.fan
    mass_kg_m2 = filament.density_g_cm3 * settings.layer_mm  # g/cm3 x mm is kg/m2
    tau_s = mass_kg_m2 * HEAT_J_KG_K / transfer
    return tau_s * log((nozzle - ROOM_C) / (glass - ROOM_C))


def layer_time(subject: Subject) -> Iterator[Finding]:
    """Note a least time per layer that a small part could not set in, whatever the part."""
    needs_s = _too_quick_s(subject)
    if needs_s:
        found = subject.found("layer_time_min_s", subject.settings.layer_time_min_s)
        yield _layer_time(subject, Level.NOTE, found, needs_s)


def small_layers(
    subject: Subject, layering: Layering, times: Mapping[str, PrintTime]
) -> Iterator[Finding]:
    """Warn where layers of this part follow each other faster than they set.

    `times` maps a printer's profile to the part's time on it; the quickest is looked at, for
    the part alone on its plate.
    """
    needs_s = _too_quick_s(subject)
    if not needs_s or not times:
        return
    every = [time.by_layer_s.sum(axis=1) for time in times.values()]
    spent_s = np.maximum(min(every, key=np.sum), subject.settings.layer_time_min_s)
    quick = spent_s < needs_s * TRUST
    high_mm = float(layering.height_mm[quick].sum())
    if high_mm < TALL_MM:
        return
    found = (
        f"{high_mm:.1f} mm of its height in layers of {spent_s[quick].min():.1f} to "
        f"{spent_s[quick].max():.1f} s, alone on a plate"
    )
    yield _layer_time(subject, Level.WARN, found, needs_s)


def fan_of_warper(subject: Subject) -> Iterator[Finding]:
    """Warn of much air on a material that wants an enclosure."""
    filament = subject.filament
    if filament is None or not filament.needs_enclosure:
        return
    fan = subject.settings.fan
    if fan <= WARPER_FAN * (1 + SLACK):
        return
    yield subject.finding(
        rule="fan",
        level=Level.WARN,
        key="fan",
        found=f"fan {subject.found('fan', fan)} on {filament.material}",
        expected=f"at most {WARPER_FAN * 100:g} % on a material that wants an enclosure",
        why="cold air shrinks each layer at once, and the part lifts off or splits between layers",
        change=("fan", WARPER_FAN),
        source=sources.PRACTICE,
    )


def _too_quick_s(subject: Subject) -> float:
    """Return how long a layer needs, where the settings allow less than half of that; else 0."""
    if subject.filament is None:
        return 0.0
    needs_s = setting_s(subject.settings, subject.filament)
    return needs_s if subject.settings.layer_time_min_s < needs_s * TRUST else 0.0


def _layer_time(subject: Subject, level: Level, found: str, needs_s: float) -> Finding:
    settings = subject.settings
    return subject.finding(
        rule="layer time",
        level=level,
        key="layer_time_min_s",
        found=found,
        expected=f"about {needs_s:.0f} s for {settings.layer_mm:g} mm of "
        f"{settings.material} at {settings.nozzle_c:g} °C with {settings.fan * 100:g} % fan, and "
        f"not less than half of it",
        why="the next layer comes before this one has set, so small shapes slump and lean",
        change=("layer_time_min_s", float(ceil(needs_s))),
        source=sources.SETTING,
    )
