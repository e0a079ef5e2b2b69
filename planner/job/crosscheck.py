"""What only shows when the parts and assemblies of a job are seen together."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner.document.wording import shown, suggestion
from planner.job.demand import circle, gross_quantities
from planner.job.form import QUANTITY_MAX

if TYPE_CHECKING:
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
    unknown = _note_unknown(form, [*parts, *assemblies], faults)
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
    if not any(each.quantity for each in things.values()):
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
    for name, part in form.parts.items():
        net = gross[name] - part.stock
        if net > QUANTITY_MAX:
            faults.add(
                f"parts.{name}",
                found=f"{net} copies, multiplied through the assemblies",
                expected=f"at most {QUANTITY_MAX} copies",
                remedy="check the quantities and the counts under contains",
            )
