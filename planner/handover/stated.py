"""Files that say only some settings, as programs for printing write them: what to say of them."""

from __future__ import annotations

from dataclasses import fields, replace
from types import MappingProxyType
from typing import TYPE_CHECKING, Any

from planner.audit.document import at_line, audited_values
from planner.audit.settings import audit_stated
from planner.audit.stated import BY_FEATURE
from planner.handover.audits import PLAIN, filament_of, findings_for_part, job_and_part
from planner.progress import silent
from planner.settings.model import Bead, Feature, Settings

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from pathlib import Path

    from planner.audit.model import AuditedFile, Finding
    from planner.handover.audits import Asked
    from planner.progress import Progress

WHOLE = {field.name for field in fields(Settings)} - {"name", "origin"}


def audit_stated_file(
    path: Path,
    values: Mapping[str, Any],
    *,
    lines: Mapping[str, int],
    names: Mapping[str, str] | None = None,
    not_understood: Iterable[str] = (),
    extra: Iterable[Finding] = (),
    notes: Mapping[str, str] = MappingProxyType({}),
    asked: Asked = PLAIN,
    progress: Progress = silent,
) -> AuditedFile:
    """Audit what a file of any dialect says.

    `values` has the keys of `Settings` ("speed_mm_s.outer_wall" for one feature) in the units
    of the keys; `lines` maps a key to its line in the file, `names` to how the file spells
    it, `notes` to how its value was arrived at. `extra` are findings of the reader (a value
    that cannot be, say). Without a job
    nothing is taken for granted: rules that lack a value are told as not checked. For a
    part of a job, what the file leaves open is what the job says.
    """
    origin = {key: at_line(path, lines.get(key)) for key in values}
    lacks: tuple[str, ...] = ()
    if asked.job is not None:
        _, part = job_and_part(asked)
        settings = overlaid(part.settings, values, origin, name=str(path))
        findings = findings_for_part(path, settings, asked, progress=progress)
    else:
        material = values.get("material")
        filament = filament_of(material) if isinstance(material, str) else None
        findings, lacks = audit_stated(
            values, asked.rules(), filament, where=str(path), origin=origin, names=names
        )
    return audited_values(
        path,
        values,
        lines,
        (*findings, *extra),
        not_understood=not_understood,
        not_checked=lacks,
        notes=notes,
    )


def overlaid(
    settings: Settings, values: Mapping[str, Any], origin: Mapping[str, str], *, name: str
) -> Settings:
    """Return whole settings with `values` in their place, each with where it was written."""
    changed: dict[str, Any] = {key: value for key, value in values.items() if key in WHOLE}
    if "bead" in changed:
        changed["bead"] = Bead(changed["bead"])
    for stem in BY_FEATURE:
        own = {
            feature: values[entry]
            for feature in Feature
            for entry in [f"{stem}.{feature.replace(' ', '_')}"]
            if entry in values
        }
        if own:
            changed[stem] = {**getattr(settings, stem), **own}
    if "line_width_mm" in changed and not _has_own_first_width(settings, changed):
        changed["first_layer_width_mm"] = changed["line_width_mm"]
    return replace(settings, name=name, origin={**settings.origin, **origin}, **changed)


def _has_own_first_width(settings: Settings, changed: Mapping[str, Any]) -> bool:
    """Tell whether the first layer's lines have a width of their own; else they follow."""
    key = "first_layer_width_mm"
    return key in changed or key in settings.origin
