"""Which parts may share a plate: same nozzle, layers, temperatures, material and colour."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from planner.handover.parts import machines_for

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner.handover.model import ReadyPart
    from planner.job.model import Job, Machine
    from planner.settings.model import Printer


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """Parts that can be printed together, and the machines that can print all of them."""

    name: str
    parts: tuple[ReadyPart, ...]
    machines: tuple[Machine, ...]

    @property
    def printers(self) -> tuple[Printer, ...]:
        """The kinds of bed at hand, each once, widest last, in a stable order."""
        kinds = {bed_key(m.printer): m.printer for m in self.machines}
        return tuple(sorted(kinds.values(), key=lambda p: (_bed_mm2(p), bed_key(p))))


def group_parts(job: Job, parts: Sequence[ReadyPart]) -> tuple[Group, ...]:
    """Sort ready parts into groups, in the order in which the job names them.

    A part that no machine suits is in a group without machines; the plates stage leaves it
    out with a reason.
    """
    buckets: dict[tuple[object, ...], list[ReadyPart]] = {}
    for ready in parts:
        buckets.setdefault(_plate_key(job, ready), []).append(ready)
    titles = [_title(members[0]) for members in buckets.values()]
    return tuple(
        Group(
            # The number tells groups apart that differ in heat or machines only.
            name=title if titles.count(title) == 1 else f"{title} ({number})",
            parts=tuple(members),
            machines=machines_for(job, members[0].part),
        )
        for number, (title, members) in enumerate(zip(titles, buckets.values(), strict=True), 1)
    )


def bed_key(printer: Printer) -> str:
    """Name a kind of bed: the profile, and where the user keeps parts off it."""
    spots = ",".join(
        f"{r.x_min_mm:g}-{r.x_max_mm:g}x{r.y_min_mm:g}-{r.y_max_mm:g}" for r in printer.keep_out
    )
    return f"{printer.name}[{spots}]" if spots else printer.name


def _plate_key(job: Job, ready: ReadyPart) -> tuple[object, ...]:
    settings = ready.part.settings
    machines = tuple(machine.name for machine in machines_for(job, ready.part))
    heat = (settings.nozzle_c, settings.bed_c)
    layer = (settings.nozzle_mm, settings.layer_mm, settings.first_layer_mm)
    return (*layer, *heat, settings.material, ready.part.colour, machines)


def _title(ready: ReadyPart) -> str:
    settings = ready.part.settings
    colour = ready.part.colour or "any colour"
    return f"{settings.material} {colour}, {settings.layer_mm:g} mm layers"


def _bed_mm2(printer: Printer) -> float:
    return printer.bed_width_mm * printer.bed_depth_mm
