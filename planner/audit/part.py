"""Everything about one part: its settings, its shape, its loads and the printers at hand."""

from __future__ import annotations

from itertools import chain
from types import MappingProxyType
from typing import TYPE_CHECKING

from planner.audit.excuse import excused, idle_exceptions
from planner.audit.order import in_order
from planner.audit.rules import cooling, direction, room, standing
from planner.audit.rules import machines as at_hand
from planner.audit.rules.mesh import mesh, unit
from planner.audit.rules.overhang import overhang
from planner.audit.rules.thin import thin_wall
from planner.audit.settings import audit_wholly
from planner.audit.subject import Subject

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from planner.audit.model import Finding
    from planner.audit.rules.room import Size
    from planner.job.model import Machine, Part
    from planner.layers.model import Layering, PrintTime
    from planner.settings.model import Filament, Guideline
    from planner.solid.model import Posed
    from planner.strength.angle import LayerPull

NO_TIMES: Mapping[str, PrintTime] = MappingProxyType({})


def audit_part(
    part: Part,
    *,
    posed: Posed,
    layering: Layering,
    filament: Filament,
    guideline: Guideline,
    machines: Sequence[Machine],
    pulls: Sequence[LayerPull] = (),
    edge_mm: float = 0.0,
    times: Mapping[str, PrintTime] = NO_TIMES,
    strength: Sequence[Finding] = (),
    sizes_mm: Sequence[Size] | None = None,
) -> tuple[Finding, ...]:
    """Return all findings about one part, sorted; `pulls` has one entry per load case.

    `times` maps a printer's profile to the part's time on it; without them nothing is said of
    the time per layer. `strength` is what was found by working out the stresses; then there
    need be no `pulls`. `sizes_mm` are the boxes of the turns that the part may have on the
    bed; without them quarter turns are taken.

    Exceptions of the part turn what they name into notes; exceptions that excuse nothing
    are findings themselves. Raises InputError for a guideline rule that makes no sense.
    """
    subject = Subject(settings=part.settings, filament=filament, part=part.name, where=part.where)
    sizes = room.quarter_turned(posed.size_mm) if sizes_mm is None else sizes_mm
    able = at_hand.able(subject, machines, sizes, edge_mm)
    of_settings = audit_wholly(
        part.settings,
        guideline,
        filament,
        part=part.name,
        tags=part.tags,
        exceptions=part.exceptions,
        where=part.where,
        printers={machine.name: machine.printer for machine in able or machines},
    )
    of_shape = chain(
        room.bed_fit(subject, posed, machines, edge_mm, sizes_mm),
        room.head_room(subject, posed, machines, edge_mm, sizes_mm),
        at_hand.printers(subject, machines, sizes, edge_mm),
        standing.contact(subject, posed),
        standing.tip_over(subject, posed),
        overhang(subject, posed),
        thin_wall(subject, layering),
        cooling.small_layers(subject, layering, times),
        mesh(subject, posed.solid),
        unit(subject, part),
        direction.build_direction(subject, part, pulls),
        direction.creep(subject, part),
        strength,
    )
    findings = [*of_settings, *(excused(finding, part.exceptions) for finding in of_shape)]
    idle = idle_exceptions(part.exceptions, findings, part=part.name, where=part.where)
    return in_order([*findings, *idle])
