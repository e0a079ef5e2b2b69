"""What walls take: filament, hours, plates and money where a job says how, and the kits."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from planner.audit.order import has_stop
from planner.handover.workers import in_turn
from planner.progress import silent
from planner.wall.order.kits import order_of

if TYPE_CHECKING:
    from planner.audit.model import Finding
    from planner.handover.quick.model import QuickEstimate
    from planner.handover.quick.variants import Variant
    from planner.handover.walls import WallAnswer
    from planner.handover.workers import Workers
    from planner.progress import Progress
    from planner.wall.order.model import Order


@dataclass(frozen=True, slots=True, kw_only=True)
class Taken:
    """The estimate of a job's walls, the same with one thing changed, and the mounting order.

    `estimate` is None, and `variants` empty, for walls without a job.
    """

    order: Order
    estimate: QuickEstimate | None = None
    variants: tuple[Variant, ...] = ()
    findings: tuple[Finding, ...] = ()
    """What the guideline says of the settings; the shapes of parts are for audit and plan."""

    @property
    def must_stop(self) -> bool:
        """Whether the settings must not be printed with."""
        return has_stop(self.findings)


def what_walls_take(
    answer: WallAnswer, *, workers: Workers = in_turn, progress: Progress = silent
) -> Taken:
    """Return what the walls take; raises InputError for a mesh that is refused."""
    order = order_of(answer.counted, answer.mounting.fixings, stage_of=answer.stages)
    if answer.job is None:
        return Taken(order=order)
    from planner.handover.quick.styled import settings_findings  # noqa: PLC0415 (slow to import)
    from planner.handover.quick.variants import estimate_walls  # noqa: PLC0415 (slow to import)

    estimate, variants = estimate_walls(answer.job, workers=workers, progress=progress)
    return Taken(
        order=order,
        estimate=estimate,
        variants=variants,
        findings=settings_findings(answer),
    )
