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
    """Audit settings that were read from `path`, by themselves: no part, no printer."""
    shown = named_as(path, settings)
    findings = audit_wholly(shown, guideline, filament, where=str(path))
    return audited_settings(path, shown, findings)


def named_as(path: Path, settings: Settings) -> Settings:
    """Return settings whose lines stand under the file's name as the user wrote it."""
    full, named = f"{path.resolve()}:", f"{path}:"
    origin = {
        key: named + place.removeprefix(full) if place.startswith(full) else place
        for key, place in settings.origin.items()
    }
    return replace(settings, origin=MappingProxyType(origin))


def audited_settings(path: Path, settings: Settings, findings: Iterable[Finding]) -> AuditedFile:
    """Return a settings file with its findings."""
    return AuditedFile(
        file=str(path),
        kind="settings",
        read=MappingProxyType(dict(_read(settings, str(path), prefix=""))),
        findings=in_order(findings),
    )


def audited_values(
    path: Path,
    values: Mapping[str, Any],
    lines: Mapping[str, int],
    findings: Iterable[Finding],
    *,
    not_understood: Iterable[str] = (),
    not_checked: Iterable[str] = (),
    notes: Mapping[str, str] = MappingProxyType({}),
) -> AuditedFile:
    """Return a file that says only some settings, with its findings.

    `notes` tells of some keys how their value was arrived at.
    """
    read = {
        key: ReadValue(
            value=_plain(values[key]),
            line=lines.get(key),
            origin=at_line(path, lines.get(key)),
            note=notes.get(key, ""),
        )
        for key in values
    }
    return AuditedFile(
        file=str(path),
        kind="settings",
        read=MappingProxyType(read),
        findings=in_order(findings),
        not_understood=tuple(not_understood),
        not_checked=tuple(not_checked),
    )


def at_line(path: Path, line: int | None) -> str:
    """Return "file:line", or the file alone.

    >>> from pathlib import Path
    >>> at_line(Path("a.ini"), 3), at_line(Path("a.ini"), None)
    ('a.ini:3', 'a.ini')
    """
    return str(path) if line is None else f"{path}:{line}"


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
            yield field.name, _plain(value)


def _plain(value: Any) -> Any:
    return str(value) if isinstance(value, StrEnum) else value


def _file(file: AuditedFile) -> Document:
    return {
        "file": file.file,
        "kind": file.kind,
        "read": {key: _read_value(value) for key, value in file.read.items()},
        "measured": dict(file.measured),
        "findings": [_finding(finding) for finding in file.findings],
        "not_understood": list(file.not_understood),
        "not_checked": list(file.not_checked),
    }


def _read_value(value: ReadValue) -> Document:
    """Return a value with its place; `note` only where there is something to note."""
    said = asdict(value)
    return said if value.note else {key: each for key, each in said.items() if key != "note"}


def _finding(finding: Finding) -> Document:
    return {**asdict(finding), "level": str(finding.level)}
