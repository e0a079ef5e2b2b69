"""What a settings file of ours says: all of it with its bases, or only what stands in it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from planner.audit.compare import Said
from planner.audit.document import named_as
from planner.audit.stated import BY_FEATURE, KEYS
from planner.audit.words import entry_name
from planner.document import parse_yaml, validate
from planner.handover.audits import PLAIN, profile_findings
from planner.handover.stated import overlaid
from planner.settings.form import SettingsFile
from planner.settings.load import load_settings

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from planner.audit.compare import Value
    from planner.audit.model import Finding
    from planner.handover.audits import Asked
    from planner.settings.model import Settings


def said_by_profile(path: Path, _asked: Asked = PLAIN) -> Said:
    """Return what a settings profile says, bases and all; raises InputError."""
    settings = named_as(path, load_settings(str(path.resolve())))
    values = flat(settings)
    origin = {key: _origin(settings, key) for key in values}
    own = own_of_profile(path.read_bytes(), path)
    return Said(file=str(path), values=values, origin=origin, lines=own.lines)


def own_of_profile(content: bytes, path: Path, _asked: Asked = PLAIN) -> Said:
    """Return what stands in a profile itself, without its bases; raises InputError."""
    document = parse_yaml(content.decode("utf-8-sig"), file=str(path))
    form = validate(SettingsFile, document)
    given = form.model_dump(exclude_none=True, exclude={"form", "base"})
    values: dict[str, Any] = {}
    for key, value in given.items():
        if isinstance(value, Mapping):
            values |= {f"{key}.{feature}": number for feature, number in value.items()}
        else:
            values[key] = value
    lines = {key: line for key in values for line in [document.line(key)] if line is not None}
    return Said(file=str(path), values=values, lines=lines)


def judge_profile(path: Path, asked: Asked) -> Callable[[Mapping[str, Value]], tuple[Finding, ...]]:
    """Return a function that holds the profile against its rules with some settings changed."""
    settings = named_as(path, load_settings(str(path.resolve())))

    def judge(changes: Mapping[str, Value]) -> tuple[Finding, ...]:
        changed = overlaid(settings, changes, {}, name=settings.name)
        return profile_findings(path, changed, asked)

    return judge


def flat(settings: Settings) -> dict[str, Any]:
    """Return every setting with a plain value, one per feature where it has several."""
    values: dict[str, Any] = {}
    for key in KEYS:
        value = getattr(settings, key)
        if key in BY_FEATURE:
            values |= {f"{key}.{entry_name(f)}": number for f, number in value.items()}
        elif key == "bead":
            values[key] = str(value)
        elif value is not None:
            values[key] = value
    return values


def _origin(settings: Settings, key: str) -> str:
    origin = settings.origin
    return origin.get(key) or origin.get(key.partition(".")[0], "")
