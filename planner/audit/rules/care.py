"""Fire, fumes, falling loads and fit: what a job should make a person think of."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner.audit import sources
from planner.audit.model import Finding
from planner.audit.words import listed
from planner.settings.model import Level

if TYPE_CHECKING:
    from collections.abc import Iterator

    from planner.job.model import Job

WALL_TAGS = frozenset({"wall", "overhead", "ceiling", "fixing"})
"""Tags of parts that hang on a wall or above people."""


def unattended(job: Job) -> Iterator[Finding]:
    """Note every machine that may run while nobody is there."""
    for machine in sorted(job.machines, key=lambda machine: machine.name):
        if machine.unattended:
            yield Finding(
                rule="unattended",
                level=Level.NOTE,
                part="",
                where=machine.where or str(job.path),
                found=f"{machine.name} may run while nobody is there",
                expected="somebody at home and awake while a printer is on",
                why="a print head is hot enough to start a fire; fire officers say not to leave "
                "printers on when not home or asleep",
                remedy=f"set unattended: false for {machine.name}, or see to a smoke alarm, bare "
                "surroundings and a cut-off, and ask the owner and the insurer of the building",
                source=sources.FIRE,
            )


def filament_caution(job: Job) -> Iterator[Finding]:
    """Note the caution that the profile of a filament in use carries."""
    used = {part.settings.material.casefold() for part in job.parts.values()}
    for name in sorted(job.filaments):
        filament = job.filaments[name]
        if filament.caution and filament.material.casefold() in used:
            yield Finding(
                rule="filament caution",
                level=Level.NOTE,
                part="",
                where=str(job.path),
                found=f"{filament.material}: {filament.caution.rstrip('.')}",
                expected="parts that this does not harm, made by people who know it",
                why="the material decides what a part stands and what its fumes are",
                remedy="keep to it, or choose another material",
                source=f"{sources.FILAMENT}; emissions: {sources.FUMES}",
            )


def wall_fixings(job: Job) -> Iterator[Finding]:
    """Note parts that hang on a wall, over people, or carry a load."""
    hanging = tuple(
        name
        for name in sorted(job.parts)
        if job.parts[name].loads or WALL_TAGS & set(job.parts[name].tags)
    )
    if hanging:
        yield Finding(
            rule="wall fixing",
            level=Level.NOTE,
            part="",
            where=str(job.path),
            found=f"parts that carry a load or hang on a wall: {listed(hanging)}",
            expected="anchors chosen for this wall and load by their maker's table",
            why="this program does not know the wall, the anchors or the strength of a real print",
            remedy="follow the anchor maker, local codes and licensed practice; test one fixing on "
            "site before trusting the rest, and let nobody stand under it",
            source=sources.ANCHORS,
        )


def first_article(job: Job) -> Iterator[Finding]:
    """Note a job of several parts in which none is marked as one that must fit."""
    by_themselves = [part for part in job.parts.values() if part.quantity > 0]
    wanted = by_themselves or job.assemblies or job.by_walls
    if not wanted or any(part.mating for part in job.parts.values()):
        return
    yield Finding(
        rule="first article",
        level=Level.NOTE,
        part="",
        where=str(job.path),
        found="no part is marked mating: true",
        expected="one copy of each part that must fit another, and a coupon, before the batch",
        why="a fit that is wrong in one copy is wrong in all of them",
        remedy="write mating: true for the parts that fit into each other",
        source=sources.PRACTICE,
    )
