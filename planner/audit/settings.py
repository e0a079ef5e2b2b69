"""Settings held against a guideline, and against physics."""

from __future__ import annotations

from functools import partial
from types import MappingProxyType
from typing import TYPE_CHECKING, Any

from planner.audit.excuse import excused
from planner.audit.guideline import applying, broken
from planner.audit.order import RANK, in_order
from planner.audit.rules import agree, bead, cooling, flow, heat, pace, skin
from planner.audit.rules.enclosure import enclosure
from planner.audit.stated import held, stated
from planner.audit.subject import Subject

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping, Sequence

    from planner.audit.model import Finding
    from planner.settings.model import Filament, Guideline, Printer, Settings

Rule = tuple[str, "Callable[[Subject], Iterator[Finding]]"]

RULES: tuple[Rule, ...] = (
    ("layer and nozzle", bead.layer_and_nozzle),
    ("first layer", bead.first_layer),
    ("line and nozzle", bead.line_and_nozzle),
    ("line and nozzle", bead.line_and_layer),
    ("line and nozzle", bead.first_lines_and_nozzle),
    ("nozzle_c", heat.nozzle_heat),
    ("bed_c", heat.bed_heat),
    ("fan", cooling.fan_of_warper),
    ("solid skin", skin.solid_skin),
    ("pace", pace.outer_gain),
    ("no outline", agree.outline),
    ("settings disagree", agree.roof_without_fill),
    ("settings disagree", agree.pattern_of_solid),
    ("settings disagree", agree.brim_of_no_line),
    ("settings disagree", agree.lift_without_retraction),
    ("settings disagree", agree.support_of_nothing),
    ("settings disagree", agree.wrong_filament),
)
"""Name and rule of all that need nothing but settings and filament; add a rule by adding it here.

The name is the rule's, under which a part may be excepted from it."""

NO_EXCEPTIONS: Mapping[str, str] = MappingProxyType({})

Told = tuple[list["Finding"], tuple[str, ...]]


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
    found, _ = _asked(subject, guideline, tags)
    return in_order(excused(finding, exceptions) for finding in found)


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
    found, _ = _physics(subject, printers)
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
    subject = Subject(settings=settings, filament=filament, part=part, where=where)
    findings, _ = _wholly(subject, guideline, tags, exceptions, printers)
    return findings


def audit_stated(
    values: Mapping[str, Any],
    guideline: Guideline,
    filament: Filament | None,
    *,
    where: str,
    origin: Mapping[str, str] | None = None,
    names: Mapping[str, str] | None = None,
) -> tuple[tuple[Finding, ...], tuple[str, ...]]:
    """Hold a file that says only some settings against a guideline and physics.

    `values` has the keys of `Settings` ("speed_mm_s.outer_wall" for one feature) in the
    units of the keys; `origin` maps a key to "file:line", `names` to how the file spells it.
    Returns the findings, sorted, and of each rule that lacks a value what it lacks; nothing
    is taken for granted in its place.
    """
    some, missing = stated(where, values, origin or {})
    subject = Subject(
        settings=some, filament=filament, where=where, names=names or {}, missing=missing
    )
    return _wholly(subject, guideline, (), NO_EXCEPTIONS, None)


def _wholly(
    subject: Subject,
    guideline: Guideline,
    tags: Sequence[str],
    exceptions: Mapping[str, str],
    printers: Mapping[str, Printer] | None,
) -> tuple[tuple[Finding, ...], tuple[str, ...]]:
    asked, unasked = _asked(subject, guideline, tags)
    physics, unheld = _physics(subject, printers)
    told = _told_once(
        [excused(finding, exceptions) for finding in asked],
        [excused(finding, exceptions) for finding in physics],
    )
    return in_order(told), tuple(dict.fromkeys((*unasked, *unheld)))


def _asked(subject: Subject, guideline: Guideline, tags: Sequence[str]) -> Told:
    rules = applying(guideline, part=subject.part, tags=tags)
    return _all_held(
        [
            (f"guideline {guideline.name}, {rule.key}", partial(_broken, rule, guideline))
            for rule in rules
        ],
        subject,
    )


def _broken(rule: Any, guideline: Guideline, subject: Subject) -> Iterator[Finding]:
    return broken(rule, subject, guideline)


def _physics(subject: Subject, printers: Mapping[str, Printer] | None) -> Told:
    at_hand: list[Rule] = [
        ("flow", partial(flow.flow, printers=printers)),
        ("pace", partial(pace.machine_limits, printers=printers)),
    ]
    if printers is None:
        at_hand += [("enclosure", enclosure), ("layer time", cooling.layer_time)]
    return _all_held([*RULES, *at_hand], subject)


def _all_held(rules: Sequence[Rule], subject: Subject) -> Told:
    results = [held(name, rule, subject) for name, rule in rules]
    found = [finding for findings, _ in results for finding in findings]
    return found, tuple(lack for _, lacks in results for lack in lacks)


def _told_once(asked: Sequence[Finding], physics: Sequence[Finding]) -> list[Finding]:
    """Join two lists; of what both say under one rule the stricter stays, else the first."""
    level = {finding.rule: RANK[finding.level] for finding in asked}
    stricter = [f for f in physics if RANK[f.level] < level.get(f.rule, len(RANK))]
    overruled = {finding.rule for finding in stricter}
    return [finding for finding in asked if finding.rule not in overruled] + stricter
