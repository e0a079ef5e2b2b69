"""A change to a job that somebody thinks of: all that it says, resolved; see `planner.whatif`."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from datetime import datetime

    from planner.job.model import Machine, Spool, Window


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """What is other than in the job; what is left as it is stays empty or None.

    Machines, spools and attendance come on top. `without` names parts and assemblies that are
    not printed. `layer_mm` is for parts with finer layers on nozzles that allow it.
    `mornings_later_h` and `evenings_longer_h` move when attendance begins and ends. `spares`
    is the same for every kind of part, `spares_of` is (part, spares); `unattended` is for every
    printer.
    """

    name: str
    printers: tuple[Machine, ...] = ()
    spools: tuple[Spool, ...] = ()
    attendance: tuple[Window, ...] = ()
    without: tuple[str, ...] = ()
    layer_mm: float | None = None
    mornings_later_h: float | None = None
    evenings_longer_h: float | None = None
    deadline: datetime | None = None
    hands_on_s: float | None = None
    confidence: float | None = None
    finish_confidence: float | None = None
    spares: int | None = None
    spares_of: tuple[tuple[str, int], ...] = ()
    unattended: bool | None = None
    where: str = ""
