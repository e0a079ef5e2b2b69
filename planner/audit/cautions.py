"""The short sentences that stand in every report, whatever the job."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner.audit.rules.direction import CREEPS
from planner.audit.words import listed

if TYPE_CHECKING:
    from planner.job.model import Job

FIRE = (
    "Fire: do not leave printers on when not home or asleep (North Dakota State Fire Marshal, "
    "2 June 2025)."
)
"""Wherever a printer may run alone."""


def cautions(job: Job) -> tuple[str, ...]:
    """Return the cautions of a job: loads, drilling, running alone, fumes, creep, trust."""
    return (
        _loads(),
        _drilling(),
        _running_alone(job),
        _fumes(job),
        *_creep(job),
        "The numbers were computed, not compared with a physical print: check the first copies.",
    )


def _loads() -> str:
    return (
        "Loads: anchors, wall and local codes decide what may hang where, and licensed practice "
        "comes first; follow the anchor maker's table, and hang nothing over people on the word "
        "of this program."
    )


def _drilling() -> str:
    return (
        "Drilling: look for cables and pipes with a detector first, and never drill above, below "
        "or beside a socket, switch or tap."
    )


def _running_alone(job: Job) -> str:
    alone = tuple(sorted(machine.name for machine in job.machines if machine.unattended))
    named = f" This job lets {listed(alone)} run while nobody is there." if alone else ""
    return f"{FIRE}{named}"


def _fumes(job: Job) -> str:
    used = tuple(sorted({part.settings.material for part in job.parts.values()}))
    what = f" ({listed(used)})" if used else ""
    return (
        f"Fumes: hot filament{what} gives off particles and vapours; air the room and keep away "
        "(test methods: UL 2904, ISO 27548:2024)."
    )


def _creep(job: Job) -> tuple[str, ...]:
    """Only for a job that loads such a material for long."""
    parts = tuple(
        name
        for name in sorted(job.parts)
        if job.parts[name].settings.material.casefold() in CREEPS
        and any(load.sustained for load in job.parts[name].loads)
    )
    if not parts:
        return ()
    caution = (
        f"Creep: {listed(parts)} of PLA under a steady load may give way after weeks (Smit et al. "
        "2010); look at them again, and keep them from sun and heat."
    )
    return (caution,)
