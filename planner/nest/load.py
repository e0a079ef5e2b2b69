"""The packing problem read from JSON, and the answer written as JSON."""

from __future__ import annotations

from collections import Counter
from math import inf
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely

from planner.document import Document, place_of, read_json, validate
from planner.errors import InputError, Problem
from planner.nest.form import NestFile
from planner.nest.model import Bed, Item
from planner.settings.model import Rectangle
from planner.solid.model import Footprint

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from pathlib import Path

    from planner.nest.form import BedForm, ItemForm
    from planner.nest.model import Packing

SCHEMA = "platewright/nest/1"
COPIES_MAX = 20_000
AREA_MIN_MM2 = 1e-6


def load_nest(path: Path) -> tuple[tuple[Item, ...], tuple[Bed, ...], float, float]:
    """Return (items, beds, clearance_mm, edge_mm); raises InputError with every fault found."""
    document = read_json(path)
    form = validate(NestFile, document)
    problems = list(_problems(form, document))
    if problems:
        raise InputError(*problems)
    items = tuple(item_of(item) for item in form.items)
    beds = tuple(_bed(bed) for bed in form.beds)
    return items, beds, form.clearance_mm, form.edge_mm


def nest_document(packing: Packing) -> dict[str, Any]:
    """Return the packing as plain data for JSON.

    A placement says: turn the outline counter-clockwise about its own origin (0, 0) by
    `rotation_deg`, then move that origin to (`x_mm`, `y_mm`), from the bed's front left.
    """
    return {
        "schema": SCHEMA,
        "plates": [
            {
                "bed": plate.bed,
                "placements": [
                    {
                        "id": place.id,
                        "x_mm": place.x_mm,
                        "y_mm": place.y_mm,
                        "rotation_deg": place.rotation_deg,
                    }
                    for place in plate.placements
                ],
                "fill": plate.fill,
            }
            for plate in packing.plates
        ],
        "unplaced": [
            {"id": name, "quantity": count, "why": why} for name, count, why in packing.unplaced
        ],
        "lower_bound": packing.lower_bound,
        "bound_by": packing.bound_by,
    }


def _problems(form: NestFile, document: Document) -> Iterator[Problem]:
    """Find what a form cannot see: geometry, names used twice, sums."""
    yield from problems_of_items(form.items, document)
    yield from _problems_of_names("beds", [bed.id for bed in form.beds], document)
    for number, bed in enumerate(form.beds):
        yield from _problems_of_bed(bed, form, document, ("beds", number))
    longest = max(max(bed.width_mm, bed.depth_mm) for bed in form.beds)
    if form.clearance_mm > longest:
        yield _problem(
            document,
            ("clearance_mm",),
            found=f"{form.clearance_mm:g} mm",
            expected=f"at most {longest:g} mm, the longest side of a bed",
            remedy="write the gap wanted between two parts, such as 4",
        )


def problems_of_items(items: Sequence[ItemForm], document: Document) -> Iterator[Problem]:
    """Find what is wrong with the items of a document: names, shapes, sums."""
    yield from _problems_of_names("items", [item.id for item in items], document)
    for number, item in enumerate(items):
        yield from _problems_of_shape(item, document, ("items", number))
    copies = sum(item.quantity for item in items)
    if copies > COPIES_MAX:
        yield _problem(
            document,
            ("items",),
            found=f"{copies} copies in all",
            expected=f"at most {COPIES_MAX}",
            remedy="correct the quantities, or split the job",
        )


def _problems_of_names(key: str, names: Sequence[str], document: Document) -> Iterator[Problem]:
    for place, name in _repeated(names):
        yield _problem(
            document,
            (key, place, "id"),
            found=f"the name {name} a second time",
            expected="each name once",
            remedy="rename one of the two",
        )


def _repeated(names: Sequence[str]) -> Iterator[tuple[int, str]]:
    seen: Counter[str] = Counter()
    for place, name in enumerate(names):
        if seen[name]:
            yield place, name
        seen[name] += 1


def _problems_of_shape(
    item: ItemForm, document: Document, place: tuple[str | int, ...]
) -> Iterator[Problem]:
    rings = [((*place, "outline"), item.outline)]
    rings += [((*place, "holes", number), hole) for number, hole in enumerate(item.holes)]
    faults = [
        problem for where, ring in rings for problem in _problems_of_ring(ring, document, where)
    ]
    yield from faults
    if faults:
        return
    outline = shapely.Polygon(item.outline)
    for number, hole in enumerate(item.holes):
        if not outline.covers(shapely.Polygon(hole)):
            yield _problem(
                document,
                (*place, "holes", number),
                found="a hole that reaches outside the outline",
                expected=f"a hole inside the outline of {item.id}",
                remedy="move or shrink it, or cut the outline instead",
            )
            return
    whole = shapely.Polygon(item.outline, item.holes)
    if not whole.is_valid or whole.area <= AREA_MIN_MM2:
        yield _problem(
            document,
            (*place, "holes"),
            found=_reason(whole) if not whole.is_valid else "holes that leave no area",
            expected="holes that neither cross nor cut the shape apart",
            remedy="join holes that overlap, or leave one out",
        )


def _problems_of_ring(
    ring: Sequence[tuple[float, float]], document: Document, place: tuple[str | int, ...]
) -> Iterator[Problem]:
    corners = _without_repeats(ring)
    if len(set(corners)) < 3:
        yield _problem(
            document,
            place,
            found=f"{len(set(corners))} different points",
            expected="at least 3",
            remedy="list the corners in order",
        )
        return
    shape = shapely.Polygon(corners)
    if shape.area <= AREA_MIN_MM2:
        yield _problem(
            document,
            place,
            found="an outline without area",
            expected="corners that are not all in one line",
            remedy="correct the points",
        )
    elif not shape.is_valid:
        yield _problem(
            document,
            place,
            found=_reason(shape),
            expected="a simple outline that does not touch or cross itself",
            remedy="put the corners in order along the edge",
        )


def _reason(shape: shapely.Polygon) -> str:
    """Say where an outline goes wrong, with the place that GEOS names."""
    reason, _, place = shapely.is_valid_reason(shape).partition("[")
    words = {
        "Self-intersection": "an outline that crosses itself",
        "Ring Self-intersection": "an outline that touches itself",
        "Holes are nested": "a hole inside another",
        "Interior is disconnected": "holes that cut the shape apart",
    }.get(reason, f"a broken outline ({reason})")
    point = place.rstrip("]").split()
    return f"{words} near ({', '.join(point)})" if point else words


def _problems_of_bed(
    bed: BedForm, form: NestFile, document: Document, place: tuple[str | int, ...]
) -> Iterator[Problem]:
    room = min(bed.width_mm, bed.depth_mm) - 2 * form.edge_mm
    if room <= 0:
        yield _problem(
            document,
            ("edge_mm",),
            found=f"{form.edge_mm:g} mm on every side",
            expected=f"less than half of bed {bed.id} ({bed.width_mm:g} x {bed.depth_mm:g} mm)",
            remedy="correct the margin or the bed",
        )
    for number, area in enumerate(bed.keep_out):
        for key, (low, high), side in (
            ("x_mm", area.x_mm, bed.width_mm),
            ("y_mm", area.y_mm, bed.depth_mm),
        ):
            if not 0 <= low < high <= side:
                yield _problem(
                    document,
                    (*place, "keep_out", number, key),
                    found=f"[{low:g}, {high:g}]",
                    expected=f"[from, to] inside the bed, 0 to {side:g} mm",
                    remedy="cut it at the edge of the bed, or leave it out",
                )


def _problem(
    document: Document, keys: tuple[str | int, ...], *, found: str, expected: str, remedy: str
) -> Problem:
    place = place_of(keys)
    return Problem(
        file=document.file,
        line=document.line(place),
        place=place,
        found=found,
        expected=expected,
        remedy=remedy,
    )


def item_of(form: ItemForm) -> Item:
    """Return a shape as the packers take it: rings the right way round, no corner twice."""
    rings = (
        _oriented(form.outline, counter_clockwise=True),
        *(_oriented(hole, counter_clockwise=False) for hole in form.holes),
    )
    return Item(
        id=form.id,
        footprint=Footprint(polygons_mm=(rings,)),
        quantity=form.quantity,
        rotations_deg=form.rotations_deg,
        seconds=form.seconds,
        grams=form.grams,
        height_mm=form.height_mm,
        priority=form.priority,
    )


def _bed(form: BedForm) -> Bed:
    return Bed(
        id=form.id,
        width_mm=form.width_mm,
        depth_mm=form.depth_mm,
        keep_out=tuple(
            Rectangle(
                x_min_mm=area.x_mm[0],
                y_min_mm=area.y_mm[0],
                x_max_mm=area.x_mm[1],
                y_max_mm=area.y_mm[1],
            )
            for area in form.keep_out
        ),
        count=form.count,
        height_mm=inf if form.height_mm is None else form.height_mm,
        limit_s=inf if form.limit_s is None else form.limit_s,
        limit_g=inf if form.limit_g is None else form.limit_g,
    )


def _oriented(
    ring: Sequence[tuple[float, float]], *, counter_clockwise: bool
) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
    points = np.array(_without_repeats(ring), dtype=np.float64)
    forward = shapely.LinearRing(points).is_ccw
    return points if forward == counter_clockwise else points[::-1].copy()


def _without_repeats(ring: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    """Drop points that repeat the one before, and the closing point."""
    kept = [point for before, point in zip((None, *ring), ring, strict=False) if point != before]
    return kept[:-1] if len(kept) > 1 and kept[0] == kept[-1] else kept
