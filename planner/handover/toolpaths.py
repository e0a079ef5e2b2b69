"""Audits of toolpath files: measured, and held against what was to be printed."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import isfinite
from types import MappingProxyType
from typing import TYPE_CHECKING, Any

from planner.audit.document import audited_values
from planner.audit.measure import Figure, measure_toolpath
from planner.audit.measure.model import unknown
from planner.audit.measure.told import measured_document, settings_of
from planner.audit.model import Finding
from planner.audit.rules.printed import printed_otherwise
from planner.audit.stated import KEYS
from planner.handover.audits import PLAIN, job_and_part
from planner.handover.said import flat
from planner.handover.stated import audit_stated_file, overlaid
from planner.layers.cache import laid
from planner.progress import silent
from planner.settings.model import Level
from planner.solid.pose import pose
from planner.solid.read import read_solid

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from planner.audit.compare import Said
    from planner.audit.measure import Measured, MeasuredPart
    from planner.audit.model import AuditedFile
    from planner.handover.audits import Asked
    from planner.progress import Progress
    from planner.settings.model import Bead, Filament, Printer, Settings
    from planner.solid.model import Posed


@dataclass(frozen=True, slots=True, kw_only=True)
class _Meant:
    """What a toolpath was made for, as far as it is known."""

    printer: Printer | None = None
    filament: Filament | None = None
    bead: Bead | None = None
    mesh: Posed | None = None
    said: Said | None = None
    settings: Settings | None = None
    lacks: tuple[str, ...] = ()


def audit_toolpath(path: Path, asked: Asked = PLAIN, progress: Progress = silent) -> AuditedFile:
    """Measure a toolpath and say what is wrong with it.

    With a printer its bed and limits count, with a filament mass; for a part of a job its
    mesh, filament and settings count too. What was measured firmly is held against the
    guideline and physics as the settings of a file are, and against the profile, if one is
    known. Raises InputError for a file that cannot be followed.
    """
    meant = _meant(asked)
    measured = measure_toolpath(
        path,
        printer=meant.printer,
        filament=meant.filament,
        bead=meant.bead,
        mesh=meant.mesh,
        progress=progress,
    )
    values = settings_of(measured)
    measured = _beside_mesh(measured, meant, values)
    if meant.filament is not None:
        values["material"] = meant.filament.material
    judged = audit_stated_file(path, values, lines={}, asked=replace(asked, job=None, part=None))
    findings = (
        *(_to_export(path, finding) for finding in judged.findings),
        *measured.faults,
        *_otherwise(path, meant, measured),
        *_another_part(path, asked, measured),
    )
    file = audited_values(
        path,
        {},
        {},
        findings,
        not_understood=measured.not_understood,
        not_checked=(*judged.not_checked, *meant.lacks),
    )
    shown = MappingProxyType(measured_document(measured))
    return replace(file, kind="toolpath", measured=shown)


def _meant(asked: Asked) -> _Meant:
    printer, filament = asked.toolpath_printer(), asked.toolpath_filament()
    if asked.job is None:
        lacks = () if printer else ("outside the bed: no printer is named (--printer)",)
        return _Meant(printer=printer, filament=filament, said=asked.profile, lacks=lacks)
    job, part = job_and_part(asked)
    printers = {machine.printer.name: machine.printer for machine in job.machines}
    lacks = ()
    if printer is None and len(printers) == 1:
        (printer,) = printers.values()
    elif printer is None:
        lacks = ("outside the bed: the job has several printers, name one (--printer)",)
    settings = part.settings
    told = {key: value for key, value in flat(settings).items() if key in KEYS}
    return _Meant(
        printer=printer,
        filament=filament or job.filaments[settings.material],
        bead=settings.bead,
        mesh=pose(read_solid(part.mesh, unit=part.unit, name=part.name), part.up),
        settings=settings,
        said=asked.profile or _said(f"{part.name} ({part.where})", told, dict(settings.origin)),
        lacks=lacks,
    )


def _beside_mesh(measured: Measured, meant: _Meant, values: dict[str, Any]) -> Measured:
    """Add to each part that is the mesh what it should take, laid as it was measured."""
    own = [part for part in measured.parts if _is_mesh(part)]
    if meant.mesh is None or meant.settings is None or not own:
        return measured
    layering = laid(meant.mesh, overlaid(meant.settings, values, {}, name="as measured"))
    expected = Figure(
        value=layering.filament_mm3, evidence="the mesh laid in layers with what was measured"
    )
    width = float(values.get("line_width_mm") or meant.settings.line_width_mm)
    more = {"expected_mm3": expected, "lines_that_fit": _fitting(layering.thinnest_mm, width)}
    parts = tuple(
        replace(part, figures=MappingProxyType({**part.figures, **more})) if part in own else part
        for part in measured.parts
    )
    return replace(measured, parts=parts)


def _fitting(thin_mm: float, width_mm: float) -> Figure:
    if not isfinite(thin_mm):
        return unknown("no thin wall was met in the mesh")
    return Figure(
        value=int(thin_mm / width_mm + 1e-6),
        evidence=f"lines across the thinnest wall, {thin_mm:.2f} mm",
    )


def _is_mesh(part: MeasuredPart) -> bool:
    fits = part.figures.get("mesh_fits")
    return fits is not None and fits.value is True


def _said(file: str, values: dict[str, float | int | str | bool], origin: dict[str, str]) -> Said:
    from planner.audit.compare import Said  # noqa: PLC0415 (kept near its use)

    return Said(file=file, values=values, origin=origin)


def _otherwise(path: Path, meant: _Meant, measured: Measured) -> Iterator[Finding]:
    if meant.said is not None:
        yield from printed_otherwise(
            meant.said.values,
            measured,
            profile=meant.said.file,
            toolpath=str(path),
            origin=meant.said.origin,
        )


def _another_part(path: Path, asked: Asked, measured: Measured) -> Iterator[Finding]:
    """Yield a finding if nothing on the plate is the part that the toolpath is audited for."""
    held = [part.figures["mesh_fits"] for part in measured.parts if "mesh_fits" in part.figures]
    known = [figure for figure in held if figure.value is not None]
    if asked.part is None or not known or any(figure.value for figure in known):
        return
    yield Finding(
        rule="another part",
        level=Level.WARN,
        part=asked.part,
        where=str(path),
        found=f"nothing on the plate has the outlines of {asked.part} ({known[0].evidence})",
        expected=f"{asked.part}, the way up that the job says",
        why="the settings of one part are held against the toolpath of another",
        remedy="name the part that it is (--part), or correct the part's mesh, unit or up",
        source="layers as laid against cuts of the mesh; the share allowed is our own choice",
    )


def _to_export(path: Path, finding: Finding) -> Finding:
    """Return a finding about measured settings with what to do: nobody edits a toolpath."""
    remedy = finding.remedy.replace(f" in {path}", " where the toolpath is made")
    return replace(finding, remedy=f"{remedy}, and export it again", change=None)
