"""The kinds of bed a group can use, and for how long each may run before somebody comes."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import inf
from typing import TYPE_CHECKING

from planner.handover.groups import Group, bed_key
from planner.nest.model import Bed

if TYPE_CHECKING:
    from collections.abc import Mapping

    from planner.job.model import Job, Machine, Window
    from planner.settings.model import Printer


@dataclass(frozen=True, slots=True, kw_only=True)
class Roster:
    """One kind of bed with the time its machines have.

    `capacity_s` adds up, over the machines, the seconds in which they may print;
    `limit_s` is the longest that one plate may take, `limit_parts` the most parts on it.
    """

    printer: Printer
    capacity_s: float
    limit_s: float
    limit_parts: float = inf


def rosters(job: Job, group: Group, *, cap_s: float) -> dict[str, Roster]:
    """Return bed key -> `Roster` for the group; `cap_s` is the longest plate wanted.

    A bed whose every machine must be watched takes no plate longer than the longest
    stretch during which somebody is there.
    """
    return {
        bed_key(printer): Roster(
            printer=printer,
            capacity_s=max(1.0, sum(_capacity_s(job, machine) for machine in machines)),
            limit_s=max(
                1.0,
                min(
                    cap_s,
                    job.plating.seconds_max - _overhead_s(job, printer),
                    max(_longest_run_s(job, m) for m in machines),
                ),
            ),
            limit_parts=job.plating.parts_max,
        )
        for printer in group.printers
        for machines in [[m for m in group.machines if bed_key(m.printer) == bed_key(printer)]]
    }


def without_hours(job: Job, beds: Mapping[str, Roster]) -> dict[str, Roster]:
    """Return the beds with the limits that the job itself sets, whoever is there when."""
    return {
        key: replace(
            roster,
            limit_s=max(1.0, job.plating.seconds_max - _overhead_s(job, roster.printer)),
        )
        for key, roster in beds.items()
    }


def bed_of(key: str, roster: Roster, *, spool_g: float, count: int | None = None) -> Bed:
    """Return the bed as the packer wants it; `spool_g` caps the filament of one plate."""
    return replace(
        bare_bed(key, roster.printer),
        count=count,
        limit_s=roster.limit_s,
        limit_g=spool_g,
        limit_parts=roster.limit_parts,
    )


def bare_bed(key: str, printer: Printer) -> Bed:
    """Return a printer's bed without limits on time, filament or parts."""
    return Bed(
        id=key,
        width_mm=printer.bed_width_mm,
        depth_mm=printer.bed_depth_mm,
        height_mm=printer.height_mm,
        keep_out=printer.keep_out,
        keep_out_patches=printer.keep_out_patches,
        head=printer.head if printer.one_by_one else None,
        preferred_mm=printer.preferred_mm,
    )


def largest_spool_g(job: Job, group: Group) -> float:
    """Grams on the fullest spool that suits; infinity if there is none (then no plate runs)."""
    part = group.parts[0].part
    suits = [
        spool.left_g
        for spool in job.spools
        if spool.filament.material == part.settings.material and part.colour in (None, spool.colour)
    ]
    return max(suits, default=float("inf"))


def presence(job: Job) -> tuple[tuple[float, float], ...]:
    """Stretches, in seconds from the job's start, during which somebody is there."""
    merged: list[tuple[float, float]] = []
    for begin, end in sorted(_seconds(job, window) for window in job.attendance):
        if merged and begin <= merged[-1][1]:
            merged[-1] = (merged[-1][0], max(merged[-1][1], end))
        elif end > 0:
            merged.append((max(begin, 0.0), end))
    return tuple(merged)


def _seconds(job: Job, window: Window) -> tuple[float, float]:
    return (
        (window.start - job.start).total_seconds(),
        (window.end - job.start).total_seconds(),
    )


def _capacity_s(job: Job, machine: Machine) -> float:
    stretches = presence(job)
    if machine.unattended and stretches:
        return stretches[-1][1] - stretches[0][0]
    return sum(end - begin for begin, end in stretches)


def _longest_run_s(job: Job, machine: Machine) -> float:
    """Seconds of printing that fit in one go: less hands (twice), hottest start and cooling.

    One that runs alone may do so after the last one has left, until the deadline.
    """
    stretches = presence(job)
    longest = max((end - begin for begin, end in stretches), default=0.0)
    if machine.unattended and stretches:
        due_s = inf if job.deadline is None else (job.deadline - job.start).total_seconds()
        longest = max(stretches[-1][1], due_s) - stretches[0][0]
    return longest - 2 * job.hands_on_s - _overhead_s(job, machine.printer)


def _overhead_s(job: Job, printer: Printer) -> float:
    """Seconds that a plate takes besides printing, at the most: the hottest start, and cooling."""
    heated = [part.settings for part in job.parts.values()]
    start_s = max(
        (printer.start_for(each.nozzle_c, each.bed_c) for each in heated), default=printer.start_s
    )
    return start_s + printer.end_s
