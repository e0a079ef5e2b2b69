"""Exceptions that a part claims for itself: kept in sight, never dropped in silence."""

from __future__ import annotations

from dataclasses import fields, replace
from difflib import get_close_matches
from typing import TYPE_CHECKING

from planner.audit import sources
from planner.audit.model import Finding
from planner.settings.model import Level, Settings

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

FACTS = frozenset({"bed fit", "printers", "no outline"})
"""Rules that no reason can lift: the part cannot be made."""

EXCUSABLE = (
    *(field.name for field in fields(Settings) if field.name not in ("name", "origin")),
    "layer and nozzle",
    "first layer",
    "line and nozzle",
    "flow",
    "enclosure",
    "solid skin",
    "settings disagree",
    "keep-out",
    "contact",
    "tip over",
    "overhang",
    "thin wall",
    "layer time",
    "pace",
    "head room",
    "mesh",
    "unit",
    "build direction",
    "strength under load",
    "fixings",
    "creep",
)
"""Every rule that a part may name under `exceptions`."""


def excused(finding: Finding, exceptions: Mapping[str, str]) -> Finding:
    """Return the finding as a note that quotes the part's reason, if it claims one."""
    reason = exceptions.get(finding.rule)
    if reason is None:
        return finding
    if finding.rule in FACTS:
        return replace(finding, why=f"{finding.why} (an exception cannot lift this)")
    return replace(
        finding,
        level=Level.NOTE,
        why=f'excepted by the part: "{reason}"; else {finding.level}, for {finding.why}',
        remedy=f"nothing while the reason holds; else {finding.remedy}",
    )


def idle_exceptions(
    exceptions: Mapping[str, str], findings: Iterable[Finding], *, part: str, where: str
) -> tuple[Finding, ...]:
    """Return a finding for each exception that excuses nothing: stale, or misspelt."""
    used = {finding.rule for finding in findings}
    idle = sorted(set(exceptions) - used)
    return tuple(_idle(key, part=part, where=where) for key in idle)


def _idle(key: str, *, part: str, where: str) -> Finding:
    known = key in FACTS or key.partition(".")[0] in EXCUSABLE
    near = get_close_matches(key, EXCUSABLE, n=1)
    hint = f'write "{near[0]}"' if near else "write one of: " + ", ".join(EXCUSABLE)
    return Finding(
        rule="exception",
        level=Level.NOTE if known else Level.WARN,
        part=part,
        where=where,
        found=f'an exception to "{key}"' + ("" if known else ", which is no rule"),
        expected="an exception to a rule that the part breaks",
        why="an exception that excuses nothing may hide a later mistake",
        remedy=f'remove "{key}" from exceptions of {part or "the settings"}'
        if known
        else f'{hint} in place of "{key}" in exceptions of {part or "the settings"}',
        source=sources.JOB,
    )
