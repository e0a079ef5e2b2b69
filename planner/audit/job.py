"""What can be said of a job as a whole, before its plates are laid and its hours planned."""

from __future__ import annotations

from itertools import chain
from typing import TYPE_CHECKING, Protocol

from planner.audit.order import in_order
from planner.audit.rules import care, hours
from planner.audit.rules.spools import spools

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from planner.audit.model import Finding
    from planner.job.model import Job, Need, Part
    from planner.layers.model import PrintTime


class Weighed(Protocol):
    """A part with its mass per copy and its times; what the handover calls a ready part."""

    @property
    def part(self) -> Part:
        """The part."""

    @property
    def need(self) -> Need:
        """How many copies."""

    @property
    def grams(self) -> float:
        """Filament of one copy."""

    @property
    def times(self) -> Mapping[str, PrintTime]:
        """Printer profile -> time of one copy."""


def audit_job(job: Job, parts: Sequence[Weighed] = ()) -> tuple[Finding, ...]:
    """Return the findings about the job, sorted.

    Without weighed parts nothing is said of spools, and the deadline is held against the
    attendance alone.
    """
    grams = {ready.part.name: ready.grams * ready.need.to_print for ready in parts}
    return in_order(
        chain(
            care.unattended(job),
            care.filament_caution(job),
            care.wall_fixings(job),
            care.first_article(job),
            hours.attendance(job),
            hours.deadline(job, sum(_least_s(ready) for ready in parts)),
            spools(job, grams),
        )
    )


def _least_s(ready: Weighed) -> float:
    """Seconds that all copies take on the fastest printer, whatever shares their plates.

    The least time per layer is left out, since parts on one plate share it.
    """
    times = [float(time.by_layer_s.sum()) for time in ready.times.values()]
    return ready.need.to_print * min(times, default=0.0)
