"""What stands in the workshop: printers and spools, and the filament of each material."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from planner.document.wording import listed, shown, suggestion
from planner.job.form import MACHINES_MAX
from planner.job.model import Machine, Spool
from planner.settings.library import shipped_names
from planner.settings.load import head_of, load_filament, load_printer, patches, rectangles

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from pathlib import Path

    from planner.job.faults import Faults
    from planner.job.form import PrinterForm, SpoolForm
    from planner.job.model import Blocked, Part
    from planner.settings.form import KeepOutForm
    from planner.settings.model import Filament, Printer


def machines_of(
    forms: Sequence[PrinterForm],
    blocked: Sequence[tuple[Blocked, ...]],
    cool_down_s: float,
    folder: Path,
    faults: Faults,
    *,
    at: str = "",
) -> tuple[Machine, ...]:
    """Return one machine per printer; `count` alike become "name 1", "name 2", ...

    `blocked` is given for each form, `cool_down_s` for those that say none of their own. `at`
    goes before the places that are named in faults.
    """
    forms = _few_enough(forms, faults)
    machines: list[Machine] = []
    named: list[tuple[str, str]] = []
    for index, form in enumerate(forms):
        place = f"{at}printers[{index}]"
        with faults.noting():
            printer = load_printer(form.profile, faults.cited(f"{place}.profile", folder))
            printer = _fitted(printer, form, place, faults)
            alike = _alike(form, printer, faults.document.where(place))
            own_s = cool_down_s if form.cool_down_min is None else form.cool_down_min * 60
            alike = [replace(m, blocked=blocked[index], cool_down_s=own_s) for m in alike]
            machines += alike
            named += [(machine.name, place) for machine in alike]
    _note_twins(named, faults)
    return tuple(machines)


def spools_of(
    forms: Sequence[SpoolForm], folder: Path, faults: Faults, *, at: str = ""
) -> tuple[Spool, ...]:
    """Return the spools with what is left on each; `at` goes before the places in faults."""
    spools: list[Spool] = []
    for index, form in enumerate(forms):
        place = f"{at}spools[{index}]"
        with faults.noting():
            filament = load_filament(form.filament, faults.cited(f"{place}.filament", folder))
            spools.append(_spool(form, filament, faults.document.where(place)))
    _note_twins([(form.name, f"{at}spools[{index}]") for index, form in enumerate(forms)], faults)
    return tuple(spools)


def filaments_of(
    parts: Iterable[Part], spools: Sequence[Spool], faults: Faults
) -> dict[str, Filament]:
    """Return the filament of every material in use: the first spool's, else the shipped one."""
    found: dict[str, Filament] = {}
    for spool in spools:
        found.setdefault(spool.filament.material, spool.filament)
    for part in parts:
        material = part.settings.material
        if material in found:
            continue
        if material in shipped_names("filaments"):
            found[material] = load_filament(material)
        else:
            _note_unknown_material(part, found, faults)
    return {material: found[material] for material in sorted(found)}


def _few_enough(forms: Sequence[PrinterForm], faults: Faults) -> Sequence[PrinterForm]:
    """Note too many printers; then one of each entry goes on to the other checks."""
    total = sum(form.count for form in forms)
    if total <= MACHINES_MAX:
        return forms
    faults.add(
        "printers",
        found=f"{total} printers, every count added up",
        expected=f"at most {MACHINES_MAX} printers",
        remedy="check each count, or split the job",
    )
    return [form.model_copy(update={"count": 1}) for form in forms]


def _fitted(printer: Printer, form: PrinterForm, place: str, faults: Faults) -> Printer:
    """Return the profile with what is true of this very printer: nozzle, keep-outs, head.

    A changed profile gets a name of its own, since times are kept by profile name.
    """
    for index, area in enumerate(form.keep_out):
        _check_on_bed(_corners(area), f"{place}.keep_out[{index}]", printer, faults)
    if form.preferred_mm is not None:
        _check_on_bed((form.preferred_mm,), f"{place}.preferred_mm", printer, faults)
    head = printer.head if form.head is None else head_of(form.head)
    if form.one_by_one and head is None:
        faults.add(
            f"{place}.one_by_one",
            found=f"true, though the profile {printer.name} states no head",
            expected="the room that the head takes up",
            remedy="add head: {left_mm: 25, right_mm: 40, front_mm: 35, back_mm: 20, tip_mm: 8}, "
            "as measured on the printer",
        )
    fitted = replace(
        printer,
        nozzle_mm=printer.nozzle_mm if form.nozzle_mm is None else form.nozzle_mm,
        keep_out=(*printer.keep_out, *rectangles(form.keep_out)),
        keep_out_patches=(*printer.keep_out_patches, *patches(form.keep_out)),
        head=head,
        one_by_one=form.one_by_one,
        preferred_mm=printer.preferred_mm if form.preferred_mm is None else form.preferred_mm,
    )
    return printer if fitted == printer else replace(fitted, name=f"{printer.name} ({form.name})")


def _corners(area: KeepOutForm) -> tuple[tuple[float, float], ...]:
    if area.x_mm is None or area.y_mm is None:
        return area.outline or ()
    return ((area.x_mm[0], area.y_mm[0]), (area.x_mm[1], area.y_mm[1]))


def _check_on_bed(
    corners: Sequence[tuple[float, float]], place: str, printer: Printer, faults: Faults
) -> None:
    """Note a place that is not on the bed."""
    xs, ys = ([corner[axis] for corner in corners] for axis in (0, 1))
    width_mm, depth_mm = printer.bed_width_mm, printer.bed_depth_mm
    if min(xs) < 0 or max(xs) > width_mm or min(ys) < 0 or max(ys) > depth_mm:
        faults.add(
            place,
            found=f"x {min(xs):g} to {max(xs):g} mm, y {min(ys):g} to {max(ys):g} mm",
            expected=f"a place on the bed, 0 to {width_mm:g} mm by 0 to {depth_mm:g} mm",
            remedy="measure from the front left corner of the bed",
        )


def _alike(form: PrinterForm, printer: Printer, where: str) -> list[Machine]:
    one = form.count == 1
    names = [form.name] if one else [f"{form.name} {k}" for k in range(1, form.count + 1)]
    return [
        Machine(
            name=name,
            printer=printer,
            unattended=form.unattended,
            where=where,
            measured_w=form.power_w,
            wear_per_hour=form.wear_per_hour,
            changes_over=form.changes_over,
        )
        for name in names
    ]


def _spool(form: SpoolForm, filament: Filament, where: str) -> Spool:
    weighed_g = (form.gross_g or 0.0) - (form.empty_g or 0.0)
    price = filament.price_per_kg if form.price_per_kg is None else form.price_per_kg
    return Spool(
        name=form.name,
        filament=filament,
        colour=form.colour.lower(),
        left_g=weighed_g if form.left_g is None else form.left_g,
        price_per_kg=price,
        where=where,
        drying_s=form.drying_h * 3600,
    )


def _note_twins(named: Sequence[tuple[str, str]], faults: Faults) -> None:
    """Note every (name, place) whose name was given before."""
    first: dict[str, str] = {}
    for name, place in named:
        if name in first:
            faults.add(
                f"{place}.name",
                found=f"{shown(name)}, the name of the one in line "
                f"{faults.document.line(first[name])} too",
                expected="a name of its own for each",
                remedy="rename one of the two",
            )
        first.setdefault(name, place)


def _note_unknown_material(part: Part, known: Iterable[str], faults: Faults) -> None:
    names = sorted({*known, *shipped_names("filaments")})
    faults.add(
        f"parts.{part.name}.settings",
        found=f"the material {shown(part.settings.material)}",
        expected=f"a material with a filament profile: {listed(names)}",
        remedy=f"{suggestion(part.settings.material, names)}; or add a spool with a filament of it",
    )
