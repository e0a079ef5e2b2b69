"""Whether there is a printer that can do what a part's settings ask."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner.audit import sources
from planner.audit.rules.room import fits_as
from planner.audit.words import box, listed
from planner.settings.compatible import compatible
from planner.settings.model import Level

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from planner.audit.model import Finding
    from planner.audit.rules.room import Size
    from planner.audit.subject import Subject
    from planner.job.model import Machine
    from planner.settings.model import Printer


def able(
    subject: Subject, machines: Sequence[Machine], sizes_mm: Sequence[Size], edge_mm: float = 0.0
) -> tuple[Machine, ...]:
    """Return the machines that can make the part: room, nozzle, heat, enclosure, material.

    `sizes_mm` are the boxes of the turns that the part may have.
    """
    return tuple(
        machine for machine in machines if not _against(subject, machine.printer, sizes_mm, edge_mm)
    )


def printers(
    subject: Subject, machines: Sequence[Machine], sizes_mm: Sequence[Size], edge_mm: float = 0.0
) -> Iterator[Finding]:
    """Stop where no machine can make the part; note which can where some cannot."""
    reasons = {m.name: _against(subject, m.printer, sizes_mm, edge_mm) for m in machines}
    can = tuple(sorted(name for name, against in reasons.items() if not against))
    cannot = tuple(
        f"{name} ({', '.join(reasons[name])})" for name in sorted(reasons) if reasons[name]
    )
    if not can:
        yield _nowhere(subject, cannot)
    elif cannot:
        yield _somewhere(subject, can, cannot)


def _against(
    subject: Subject, printer: Printer, sizes_mm: Sequence[Size], edge_mm: float
) -> tuple[str, ...]:
    """Return why the printer cannot make the part; empty if it can."""
    hinders = (
        None
        if subject.filament is None
        else compatible(printer, subject.settings, subject.filament)
    )
    room = box((printer.bed_width_mm, printer.bed_depth_mm, printer.height_mm))
    small = None if fits_as(printer, sizes_mm, edge_mm) else f"its room is {room}"
    return tuple(reason for reason in (hinders, small) if reason)


def _nowhere(subject: Subject, cannot: tuple[str, ...]) -> Finding:
    return subject.finding(
        rule="printers",
        level=Level.STOP,
        found="; ".join(cannot) or "no printer in the job",
        expected="a printer with the room, nozzle, heat, enclosure and material of the part",
        why="no printer of the job can make the part with its settings",
        remedy="add such a printer to the job, or change what hinders the nearest one",
        source=sources.PRINTER,
    )


def _somewhere(subject: Subject, can: tuple[str, ...], cannot: tuple[str, ...]) -> Finding:
    return subject.finding(
        rule="printers",
        level=Level.NOTE,
        found=f"can be made on {listed(can)}; not on {listed(cannot)}",
        expected="nothing more: one printer is enough",
        why="the plan has fewer printers to choose from for this part",
        remedy=f"none needed while {listed(can)} can be used",
        source=sources.PRINTER,
    )
