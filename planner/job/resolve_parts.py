"""The parts of a job: mesh found, settings looked up, loads put in one form."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner.document.files import remedy_for_missing, why_no_file
from planner.document.wording import shown
from planner.job.load_form import AXES, LoadForm
from planner.job.model import LoadCase, Part
from planner.job.resolve_loads import case_of, screwed, visible_of
from planner.settings.load import changed_settings, load_settings
from planner.settings.turns import turns_of

if TYPE_CHECKING:
    from pathlib import Path

    from planner.job.faults import Faults
    from planner.job.form import PartForm
    from planner.settings.form import SettingsForm
    from planner.settings.model import Settings


def settings_of(
    given: str | SettingsForm | None,
    default: Settings | None,
    place: str,
    folder: Path,
    faults: Faults,
) -> Settings | None:
    """Return the settings written at `place`: a name, or changes to a base or the default.

    None, with the reason noted, if they cannot be had.
    """
    if given is None:
        return default
    with faults.noting():
        if isinstance(given, str):
            return load_settings(given, faults.cited(place, folder))
        if given.base is not None:
            default = load_settings(given.base, faults.cited(f"{place}.base", folder))
        if default is not None:
            return changed_settings(
                default, given, lambda key: faults.document.where(f"{place}.{key}")
            )
    return None


def part_of(
    name: str, form: PartForm, default: Settings | None, folder: Path, faults: Faults
) -> Part | None:
    """Return the part, or None with the reason noted."""
    place = f"parts.{name}"
    settings = settings_of(form.settings, default, f"{place}.settings", folder, faults)
    mesh = _mesh(form.mesh, f"{place}.mesh", folder, faults)
    if settings is None or mesh is None:
        return None
    return Part(
        name=name,
        mesh=mesh,
        unit=form.unit,
        quantity=form.quantity,
        stock=form.stock,
        up=form.up or AXES["+z"],
        up_declared=form.up is not None,
        loads=_loads(form, place, faults),
        settings=settings,
        colour=form.colour.lower() if form.colour else None,
        exceptions=dict(form.exceptions),
        tags=form.tags,
        stage=form.stage,
        mating=form.mating,
        spares=form.spares,
        where=faults.document.where(place),
        turns=turns_of(form.rotations),
        value=form.value,
        visible=visible_of(form.visible),
        fixings=screwed(form.fixings, faults.document.where(f"{place}.fixings")),
    )


def _mesh(text: str, place: str, folder: Path, faults: Faults) -> Path | None:
    path = folder / text
    why = why_no_file(path)
    if why:
        faults.add(
            place,
            found=f"{shown(text)}, {why}",
            expected="a mesh file, its path starting from the job's folder",
            remedy=_mesh_remedy(text, path) if faults.few else "check the path",
        )
        return None
    return path


def _mesh_remedy(text: str, path: Path) -> str:
    if "\0" in text:
        return "correct the path"
    if "\\" in text:
        return f"write / between folder and file: {text.replace(chr(92), '/')}"
    return remedy_for_missing(path)


def _loads(form: PartForm, place: str, faults: Faults) -> tuple[LoadCase, ...]:
    if form.load is None:
        return ()
    one = isinstance(form.load, LoadForm)
    loads = (form.load,) if isinstance(form.load, LoadForm) else form.load
    return tuple(
        case_of(load, faults.document.where(f"{place}.load" if one else f"{place}.load[{index}]"))
        for index, load in enumerate(loads)
    )
