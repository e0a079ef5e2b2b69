"""What only shows when the parts and assemblies of a job are seen together."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner.document.wording import shown, suggestion
from planner.job.demand import circle, copies_for, gross_quantities
from planner.job.form import COPIES_MAX

if TYPE_CHECKING:
    from collections.abc import Mapping

    from planner.job.faults import Faults
    from planner.job.form import AssemblyForm, JobForm, PartForm


def check_demand(form: JobForm, faults: Faults) -> None:
    """Note names that clash or are unknown, assemblies in a circle, and absurd numbers.

    Names are taken from the document: a part whose own lines are faulty is still known.
    """
    data = faults.document.data
    parts = data["parts"] if isinstance(data.get("parts"), dict) else {}
    assemblies = data["assemblies"] if isinstance(data.get("assemblies"), dict) else {}
    for name in assemblies:
        if name in parts:
            faults.add(
                f"assemblies.{name}",
                found=f"an assembly called {shown(name)}, like a part",
                expected="different names for parts and assemblies",
                remedy="rename one of the two",
            )
    # Without parts every name in an assembly would be unknown, and that has been told.
    unknown = bool(parts) and _note_unknown(form, [*parts, *assemblies], faults)
    round_trip = circle({name: dict(each.contains) for name, each in form.assemblies.items()})
    if round_trip:
        faults.add(
            f"assemblies.{round_trip[0]}",
            found=f"assemblies in a circle: {' -> '.join(round_trip)}",
            expected="assemblies that end at parts",
            remedy="take one of them out of the other",
        )
    if not faults.found and not unknown:
        _check_numbers(form, faults)


def _note_unknown(form: JobForm, known: list[str], faults: Faults) -> bool:
    names = set(known)
    unknown = [
        (name, inside)
        for name, each in form.assemblies.items()
        for inside in each.contains
        if inside not in names
    ]
    for name, inside in unknown:
        faults.add(
            f"assemblies.{name}.contains.{inside}",
            found=f"the unknown part {shown(inside)}",
            expected="a part or an assembly of this file",
            remedy=suggestion(inside, known) if faults.few else "correct the name",
        )
    return bool(unknown)


def _check_numbers(form: JobForm, faults: Faults) -> None:
    things: dict[str, PartForm | AssemblyForm] = {**form.parts, **form.assemblies}
    if form.wall is None and not any(each.quantity for each in things.values()):
        faults.add(
            "parts",
            found="nothing that is wanted: every quantity is 0",
            expected="a quantity above 0 of a part or an assembly",
            remedy="add quantity: 1 to what you want",
        )
    gross = gross_quantities(
        {name: dict(each.contains) for name, each in form.assemblies.items()},
        quantity={name: each.quantity for name, each in things.items()},
        stock={name: each.stock for name, each in things.items()},
    )
    needed = {name: max(0, gross[name] - part.stock) for name, part in form.parts.items()}
    _check_copies(form, needed, faults)
    if not faults.found:
        _check_changes(form, needed, faults)


def _check_changes(form: JobForm, needed: Mapping[str, int], faults: Faults) -> None:
    """Note changes that ask for more copies, with their spares, than a workshop can print."""
    total, kinds = sum(needed.values()), sum(1 for good in needed.values() if good)
    for index, each in enumerate(form.what_if):
        copies = 0
        if each.spares is not None:
            copies = total + kinds * each.spares
        elif each.confidence is not None:
            other = form.model_copy(update={"confidence": each.confidence})
            copies = total + sum(_spares(other, name, good) for name, good in needed.items())
        if copies > COPIES_MAX:
            key = "confidence" if each.spares is None else "spares"
            faults.add(
                f"what_if[{index}].{key}",
                found=f"{_count(copies)} copies to print with its spares",
                expected=f"at most {_count(COPIES_MAX)} copies to print in all",
                remedy="ask for fewer spares",
            )


def _check_copies(form: JobForm, needed: Mapping[str, int], faults: Faults) -> None:
    """Note more copies than a workshop can print, before any is laid out: spares count too."""
    total = sum(needed.values())
    spares = 0
    if total <= COPIES_MAX:  # else the spares need not be counted, and would take long
        spares = sum(_spares(form, name, good) for name, good in needed.items())
    if total + spares <= COPIES_MAX:
        return
    most = max(needed, key=lambda name: needed[name])
    faults.add(
        f"parts.{most}",
        found=f"{_count(total)} copies needed"
        + (f", and {_count(spares)} spares at failure_rate {form.failure_rate:g}" if spares else "")
        + f" (most of {shown(most)}: {_count(needed[most])})",
        expected=f"at most {_count(COPIES_MAX)} copies to print in all",
        remedy="check quantities, counts under contains"
        + (", failure_rate and confidence" if spares else "")
        + "; or split the job",
    )


def _spares(form: JobForm, name: str, good: int) -> int:
    asked = form.parts[name].spares
    if asked is not None:
        return asked if good else 0
    rates = {"failure_rate": form.failure_rate, "confidence": form.confidence}
    return copies_for(good, **rates)[0] - good


def _count(number: int) -> str:
    """Write a count in groups of three digits; beyond a billion it is only called that."""
    return f"{number:,}".replace(",", " ") if number < 10**9 else "more than 1 000 000 000"
