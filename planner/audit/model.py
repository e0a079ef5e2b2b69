"""What an audit says: findings, each with its reason, its remedy and its source."""

from __future__ import annotations

from dataclasses import dataclass, field
from types import MappingProxyType
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Mapping

    from planner.settings.model import Level


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """One setting with the value that ends a finding; `key` as in `Subject`."""

    key: str
    value: float | str | bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One thing that is not as it should be.

    `rule` is a short stable name ("walls", "bed fit"); `part` names whom it concerns or is
    "" for the job; `where` is "file:line" or the mesh's name. `change` is what the remedy
    sets, for a program to carry out; None where a person must decide.
    """

    rule: str
    level: Level
    part: str
    where: str
    found: str
    expected: str
    why: str
    remedy: str
    source: str
    change: Change | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """Findings that say the same of several parts, told once.

    `parts` and `wheres` are sorted and without repeats ("" for the job is left out of
    `parts`); `remedy` is the first one, with the parts that want the same at their own place.
    """

    rule: str
    level: Level
    parts: tuple[str, ...]
    wheres: tuple[str, ...]
    found: str
    expected: str
    why: str
    remedy: str
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadValue:
    """A value as read: `line` in the audited file, or None where it comes from `origin`.

    `note` is "" or how the value was arrived at ("112 % of nozzle_mm").
    """

    value: float | str | bool
    line: int | None
    origin: str
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class AuditedFile:
    """One file under audit; `kind` is "job", "settings" or "toolpath".

    `read` maps a key to its value ("part.key" in a job); `measured` holds what was measured
    of a shape or toolpath; `not_understood` lists keys that no rule could be held against;
    `not_checked` says of each rule that could not be held against the file what it lacks.
    """

    file: str
    kind: str
    read: Mapping[str, ReadValue]
    findings: tuple[Finding, ...]
    measured: Mapping[str, Any] = field(default_factory=lambda: MappingProxyType({}))
    not_understood: tuple[str, ...] = ()
    not_checked: tuple[str, ...] = ()
