"""A strip packing read from JSON, and the answer written as JSON."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from planner.document import read_json, validate
from planner.errors import InputError
from planner.nest.faults import problem_at
from planner.nest.load import SCHEMA, item_of, problems_of_items
from planner.nest.outline import outline_of
from planner.nest.strip.form import StripFile

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from planner.document import Document
    from planner.errors import Problem
    from planner.nest.model import Item
    from planner.nest.strip.model import StripPacking

COPIES_MAX = 1000
"""Copies in one strip: the search moves one part among all the others at a time."""
_HAIR_MM = 1e-6


def is_strip(path: Path) -> bool:
    """Say whether a nest file asks for a strip; raises InputError if it cannot be read."""
    data = read_json(path).data
    return isinstance(data, dict) and "strip" in data


def load_strip(path: Path) -> tuple[tuple[Item, ...], float, float, float]:
    """Return (items, depth_mm, clearance_mm, edge_mm); raises InputError with every fault found."""
    document = read_json(path)
    form = validate(StripFile, document)
    problems = [*problems_of_items(form.items, document), *_problems_of_sum(form, document)]
    if problems:
        raise InputError(*problems)
    items = tuple(item_of(item) for item in form.items)
    problems = list(_problems_of_sizes(form, items, document))
    if problems:
        raise InputError(*problems)
    return items, form.strip.depth_mm, form.clearance_mm, form.edge_mm


def strip_document(strip: StripPacking) -> dict[str, Any]:
    """Return the packing as plain data for JSON; placements are as in `nest_document`."""
    return {
        "schema": SCHEMA,
        "strip": {
            "length_mm": strip.length_mm,
            "density": strip.density,
            "lower_bound_mm": strip.lower_bound_mm,
            "placements": [
                {
                    "id": place.id,
                    "x_mm": place.x_mm,
                    "y_mm": place.y_mm,
                    "rotation_deg": place.rotation_deg,
                }
                for place in strip.placements
            ],
        },
    }


def _problems_of_sum(form: StripFile, document: Document) -> Iterator[Problem]:
    copies = sum(item.quantity for item in form.items)
    if not 0 < copies <= COPIES_MAX:
        yield problem_at(
            document,
            ("items",),
            found=f"{copies} copies in all",
            expected=f"from 1 to {COPIES_MAX} on one strip",
            remedy="correct the quantities, or pack on beds",
        )


def _problems_of_sizes(
    form: StripFile, items: tuple[Item, ...], document: Document
) -> Iterator[Problem]:
    """Find a margin that leaves no strip, and parts that are too deep for what it leaves."""
    room_mm = form.strip.depth_mm - 2 * form.edge_mm
    if room_mm <= _HAIR_MM:
        yield problem_at(
            document,
            ("edge_mm",),
            found=f"{form.edge_mm:g} mm on either side",
            expected=f"less than half of the strip's {form.strip.depth_mm:g} mm",
            remedy="correct the margin or the strip",
        )
        return
    for number, item in enumerate(items):
        outline, _ = outline_of(item.footprint, form.strip.depth_mm / 320)
        least_mm = float(outline.extents_mm(item.rotations_deg)[:, 1].min())
        if item.quantity and least_mm > room_mm + _HAIR_MM:
            yield problem_at(
                document,
                ("items", number, "outline"),
                found=f"{item.id}, which is {least_mm:.1f} mm deep at every turn allowed or more",
                expected=f"at most {room_mm:g} mm, the strip less its edges",
                remedy="allow another turn, widen the strip, or leave the part out",
            )
