"""Settings held against a guideline, and against physics."""

from __future__ import annotations

from types import MappingProxyType
from typing import TYPE_CHECKING

from planner.audit.excuse import excused
from planner.audit.guideline import applying, broken
from planner.audit.order import RANK, in_order
from planner.audit.rules import agree, bead, flow, heat, skin
from planner.audit.rules.enclosure import enclosure
from planner.audit.subject import Subject

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping, Sequence

    from planner.audit.model import Finding
    from planner.settings.model import Filament, Guideline, Printer, Settings

RULES: tuple[Callable[[Subject], Iterator[Finding]], ...] = (
    bead.layer_and_nozzle,
    bead.first_layer,
    bead.line_and_nozzle,
    bead.line_and_layer,
    heat.nozzle_heat,
    heat.bed_heat,
    skin.solid_skin,
    agree.outline,
    agree.roof_without_fill,
    agree.pattern_of_solid,
    agree.brim_of_no_line,
    agree.wrong_filament,
)
"""Rules that need nothing but settings and filament; add a rule by adding it here."""

NO_EXCEPTIONS: Mapping[str, str] = MappingProxyType({})


def audit_settings(
    settings: Settings,
    guideline: Guideline,
    filament: Filament | None,
    *,
    part: str = "",
    tags: Sequence[str] = (),
    exceptions: Mapping[str, str] = NO_EXCEPTIONS,
    where: str = "",
) -> tuple[Finding, ...]:
    """Return a finding per setting that the guideline does not want, sorted.

    A rule that names the part or one of its tags stands in place of the general one. A
    finding whose rule the part lists in `exceptions` stays, as a note with the reason.
    `where` is the "file:line" at which the part chooses its settings. Raises InputError
    for a rule that cannot be held against settings.
    """
    subject = Subject(settings=settings, filament=filament, part=part, where=where)
    rules = applying(guideline, part=part, tags=tags)
    return in_order(
        excused(finding, exceptions)
        for rule in rules
        for finding in broken(rule, subject, guideline)
    )


def audit_physics(
    settings: Settings,
    filament: Filament | None,
    *,
    part: str = "",
    exceptions: Mapping[str, str] = NO_EXCEPTIONS,
    where: str = "",
    printers: Mapping[str, Printer] | None = None,
) -> tuple[Finding, ...]:
    """Return what physics and habit say against the settings, whatever the guideline.

    `printers` maps the machines that may print it to what they are; None where no machine
    is known, and then a material that wants an enclosure is noted.
    """
    subject = Subject(settings=settings, filament=filament, part=part, where=where)
    found = [finding for rule in RULES for finding in rule(subject)]
    found += flow.flow(subject, printers)
    if printers is None:
        found += enclosure(subject)
    return in_order(excused(finding, exceptions) for finding in found)


def audit_wholly(
    settings: Settings,
    guideline: Guideline,
    filament: Filament | None,
    *,
    part: str = "",
    tags: Sequence[str] = (),
    exceptions: Mapping[str, str] = NO_EXCEPTIONS,
    where: str = "",
    printers: Mapping[str, Printer] | None = None,
) -> tuple[Finding, ...]:
    """Return guideline and physics together; what both say of one setting is told once.

    Arguments as for `audit_settings` and `audit_physics`.
    """
    asked = audit_settings(
        settings, guideline, filament, part=part, tags=tags, exceptions=exceptions, where=where
    )
    physics = audit_physics(
        settings, filament, part=part, exceptions=exceptions, where=where, printers=printers
    )
    return in_order(_told_once(asked, physics))


def _told_once(asked: Sequence[Finding], physics: Sequence[Finding]) -> list[Finding]:
    """Join two lists; of what both say under one rule the stricter stays, else the first."""
    level = {finding.rule: RANK[finding.level] for finding in asked}
    stricter = [f for f in physics if RANK[f.level] < level.get(f.rule, len(RANK))]
    overruled = {finding.rule for finding in stricter}
    return [finding for finding in asked if finding.rule not in overruled] + stricter
