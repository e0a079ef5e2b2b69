"""The audit of one or more files as plain JSON types (schema "platewright/audit/1")."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, fields, replace
from enum import StrEnum
from types import MappingProxyType
from typing import TYPE_CHECKING, Any

from planner.audit.model import AuditedFile, ReadValue
from planner.audit.order import in_order
from planner.audit.settings import audit_wholly
from planner.audit.subject import Subject, line_of
from planner.audit.words import entry_name

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator
    from pathlib import Path

    from planner.audit.model import Finding
    from planner.job.model import Job
    from planner.settings.model import Filament, Guideline, Settings

SCHEMA = "platewright/audit/1"

Document = dict[str, Any]


def audit_document(files: Iterable[AuditedFile]) -> Document:
    """Return the files in the order given, each with what was read and found."""
    return {"schema": SCHEMA, "files": [_file(file) for file in files]}


def audit_settings_file(
    path: Path, settings: Settings, guideline: Guideline, filament: Filament | None
) -> AuditedFile:
    """Audit settings that were read from `path`, by themselves: no part, no printer.

    Lines are given under the file's name as the user wrote it, whichever way the reader
    spelt it.
    """
    full, named = f"{path.resolve()}:", f"{path}:"
    origin = {
        key: named + place.removeprefix(full) if place.startswith(full) else place
        for key, place in settings.origin.items()
    }
    shown = replace(settings, origin=MappingProxyType(origin))
    findings = audit_wholly(shown, guideline, filament, where=str(path))
    return audited_settings(path, shown, findings)


def audited_settings(path: Path, settings: Settings, findings: Iterable[Finding]) -> AuditedFile:
    """Return a settings file with its findings."""
    return AuditedFile(
        file=str(path),
        kind="settings",
        read=MappingProxyType(dict(_read(settings, str(path), prefix=""))),
        findings=in_order(findings),
    )


def audited_job(job: Job, findings: Iterable[Finding]) -> AuditedFile:
    """Return a job file with the settings of each part (keys "part.key") and its findings."""
    read = {
        key: value
        for name in sorted(job.parts)
        for key, value in _read(job.parts[name].settings, str(job.path), prefix=f"{name}.")
    }
    return AuditedFile(
        file=str(job.path), kind="job", read=MappingProxyType(read), findings=in_order(findings)
    )


def _read(settings: Settings, file: str, *, prefix: str) -> Iterator[tuple[str, ReadValue]]:
    subject = Subject(settings=settings, filament=None)
    for key, value in _flat(settings):
        origin = subject.origin(key)
        in_this_file = origin.rpartition(":")[0] == file
        line = line_of(origin) if in_this_file else None
        yield f"{prefix}{key}", ReadValue(value=value, line=line, origin=origin)


def _flat(settings: Settings) -> Iterator[tuple[str, float | str | bool]]:
    """Yield every key with a plain value, speeds one per feature, in the model's order."""
    for field in fields(settings):
        value = getattr(settings, field.name)
        if field.name in ("name", "origin"):
            continue
        if isinstance(value, Mapping):
            speeds = {entry_name(str(feature)): speed for feature, speed in value.items()}
            yield from ((f"{field.name}.{name}", speeds[name]) for name in sorted(speeds))
        else:
            yield field.name, str(value) if isinstance(value, StrEnum) else value


def _file(file: AuditedFile) -> Document:
    return {
        "file": file.file,
        "kind": file.kind,
        "read": {key: asdict(value) for key, value in file.read.items()},
        "measured": dict(file.measured),
        "findings": [_finding(finding) for finding in file.findings],
        "not_understood": list(file.not_understood),
    }


def _finding(finding: Finding) -> Document:
    return {**asdict(finding), "level": str(finding.level)}
