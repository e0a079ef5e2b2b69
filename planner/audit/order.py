"""In which order findings are told, and which of them are one and the same."""

from __future__ import annotations

from itertools import groupby
from typing import TYPE_CHECKING

from planner.audit.model import Finding, Group
from planner.audit.words import listed
from planner.settings.model import Level

if TYPE_CHECKING:
    from collections.abc import Iterable

RANK = {Level.STOP: 0, Level.WARN: 1, Level.NOTE: 2}
"""Stops first."""


def in_order(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Return the findings by level, rule and part; true repeats are told once."""
    return tuple(sorted(set(findings), key=_order))


def grouped(findings: Iterable[Finding]) -> tuple[Group, ...]:
    """Join what says the same of several parts: equal level, rule, found and expected."""
    ordered = sorted(findings, key=lambda finding: (_sameness(finding), _order(finding)))
    groups = [_group(list(same)) for _, same in groupby(ordered, key=_sameness)]
    return tuple(sorted(groups, key=lambda group: (_sameness(group), group.parts)))


def has_stop(findings: Iterable[Finding]) -> bool:
    """Tell whether any finding says: do not print."""
    return any(finding.level is Level.STOP for finding in findings)


def _order(finding: Finding) -> tuple[int, str, str, str, str, str, str]:
    head = (RANK[finding.level], finding.rule, finding.part, finding.where)
    return (*head, finding.found, finding.expected, finding.remedy)


def _sameness(finding: Finding | Group) -> tuple[int, str, str, str]:
    return (RANK[finding.level], finding.rule, finding.found, finding.expected)


def _group(same: list[Finding]) -> Group:
    first = same[0]
    return Group(
        rule=first.rule,
        level=first.level,
        parts=tuple(sorted({finding.part for finding in same if finding.part})),
        wheres=tuple(sorted({finding.where for finding in same if finding.where})),
        found=first.found,
        expected=first.expected,
        why=first.why,
        remedy=first.remedy + _likewise(same),
        source=first.source,
    )


def _likewise(same: list[Finding]) -> str:
    """Name the parts for which the same is to be done at their own places."""
    own = {finding.part for finding in same if finding.remedy != same[0].remedy}
    return f"; likewise for {listed(tuple(sorted(own)))}" if own else ""
