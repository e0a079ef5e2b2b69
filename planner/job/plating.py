"""What a job asks of its plates: groups of parts, limits, and where parts shall lie."""

from __future__ import annotations

from dataclasses import replace
from math import inf
from typing import TYPE_CHECKING

from planner.document.wording import shown, suggestion
from planner.job.model import PartPin, Plating
from planner.settings.groups import contradiction

if TYPE_CHECKING:
    from planner.document import Document
    from planner.job.faults import Faults
    from planner.job.form import JobForm
    from planner.job.model import Job


def plating_of(form: JobForm, document: Document) -> Plating:
    """Return what the form asks of plates; `document` says in which line it does."""
    hours, parts = form.hours_per_plate, form.parts_per_plate
    return Plating(
        together=form.together,
        together_at=tuple(
            document.where(f"together[{number}]") for number in range(len(form.together))
        ),
        apart=form.apart,
        pins=tuple(
            PartPin(
                plate=pin.plate,
                machine=pin.printer,
                part=pin.part,
                x_mm=pin.x_mm,
                y_mm=pin.y_mm,
                rotation_deg=pin.rotation_deg,
                where=document.where(f"pins[{number}]"),
            )
            for number, pin in enumerate(form.pins)
        ),
        placing=form.placing,
        parts_max=inf if parts is None else float(parts),
        seconds_max=inf if hours is None else 3600.0 * hours,
    )


def limited(job: Job, *, parts: int | None, hours: float | None) -> Job:
    """Return the job with limits for every plate besides its own, if any are given."""
    own = job.plating
    parts_max = own.parts_max if parts is None else min(own.parts_max, parts)
    seconds_max = own.seconds_max if hours is None else min(own.seconds_max, 3600.0 * hours)
    return replace(job, plating=replace(own, parts_max=parts_max, seconds_max=seconds_max))


def check_groups(form: JobForm, faults: Faults) -> None:
    """Note groups of unknown parts, lone parts to be kept apart, and contradictions."""
    data = faults.document.data.get("parts")
    parts = sorted(str(name) for name in data) if isinstance(data, dict) else []
    for key, groups in (("together", form.together), ("apart", form.apart)):
        for number, group in enumerate(groups):
            for at, name in enumerate(group):
                if parts and name not in parts:
                    faults.add(
                        f"{key}[{number}][{at}]",
                        found=f"the unknown part {shown(name)}",
                        expected="a part of this file",
                        remedy=suggestion(name, parts),
                    )
            if key == "apart" and len(set(group)) < 2:
                faults.add(
                    f"{key}[{number}]",
                    found=f"{shown(group[0])} alone",
                    expected="two parts or more that must not share a plate",
                    remedy="add the other, or leave the group out",
                )
    _check_pins(form, parts, faults)
    both = contradiction(form.together, form.apart)
    if both:
        faults.add(
            "apart",
            found=f"{shown(both[0])} and {shown(both[1])}, which must be together as well",
            expected="no two parts both together and apart",
            remedy="take one of the two out of a group",
        )


def _check_pins(form: JobForm, parts: list[str], faults: Faults) -> None:
    """Note pins of unknown parts and on unknown printers."""
    printers = [
        name
        for each in form.printers
        for name in (
            [each.name] if each.count == 1 else [f"{each.name} {k + 1}" for k in range(each.count)]
        )
    ]
    for number, pin in enumerate(form.pins):
        for key, name, known in (("part", pin.part, parts), ("printer", pin.printer, printers)):
            if known and name not in known:
                faults.add(
                    f"pins[{number}].{key}",
                    found=f"the unknown {key} {shown(name)}",
                    expected=f"a {key} of this file",
                    remedy=suggestion(name, known),
                )
