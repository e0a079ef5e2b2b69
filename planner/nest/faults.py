"""What a form cannot see of a packing problem: geometry, names used twice, sums, wishes."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

import shapely

from planner.document import Document, place_of
from planner.document.wording import listed, shown, suggestion
from planner.errors import Problem
from planner.settings.groups import contradiction

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from planner.nest.form import BedForm, ItemForm, NestFile, NestKeepOutForm

COPIES_MAX = 20_000
AREA_MIN_MM2 = 1e-6
Place = tuple[str | int, ...]


def problems_in(form: NestFile, document: Document) -> Iterator[Problem]:
    """Find what a form cannot see: geometry, names used twice, sums."""
    yield from problems_of_items(form.items, document)
    yield from _problems_of_names("beds", [bed.id for bed in form.beds], document)
    for number, bed in enumerate(form.beds):
        yield from _problems_of_bed(bed, form, document, ("beds", number))
    longest = max(max(bed.width_mm, bed.depth_mm) for bed in form.beds)
    if form.clearance_mm > longest:
        yield problem_at(
            document,
            ("clearance_mm",),
            found=f"{form.clearance_mm:g} mm",
            expected=f"at most {longest:g} mm, the longest side of a bed",
            remedy="write the gap wanted between two parts, such as 4",
        )
    yield from _problems_of_groups(form, document)
    yield from _problems_of_pins(form, document)


def problems_of_items(items: Sequence[ItemForm], document: Document) -> Iterator[Problem]:
    """Find what is wrong with the items of a document: names, shapes, sums."""
    yield from _problems_of_names("items", [item.id for item in items], document)
    for number, item in enumerate(items):
        yield from _problems_of_shape(item, document, ("items", number))
    copies = sum(item.quantity for item in items)
    if copies > COPIES_MAX:
        yield problem_at(
            document,
            ("items",),
            found=f"{copies} copies in all",
            expected=f"at most {COPIES_MAX}",
            remedy="correct the quantities, or split the job",
        )


def _problems_of_names(key: str, names: Sequence[str], document: Document) -> Iterator[Problem]:
    for place, name in _repeated(names):
        yield problem_at(
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


def _problems_of_shape(item: ItemForm, document: Document, place: Place) -> Iterator[Problem]:
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
            yield problem_at(
                document,
                (*place, "holes", number),
                found="a hole that reaches outside the outline",
                expected=f"a hole inside the outline of {item.id}",
                remedy="move or shrink it, or cut the outline instead",
            )
            return
    whole = shapely.Polygon(item.outline, item.holes)
    if not whole.is_valid or whole.area <= AREA_MIN_MM2:
        yield problem_at(
            document,
            (*place, "holes"),
            found=_reason(whole) if not whole.is_valid else "holes that leave no area",
            expected="holes that neither cross nor cut the shape apart",
            remedy="join holes that overlap, or leave one out",
        )


def _problems_of_ring(
    ring: Sequence[tuple[float, float]], document: Document, place: Place
) -> Iterator[Problem]:
    corners = without_repeats(ring)
    if len(set(corners)) < 3:
        yield problem_at(
            document,
            place,
            found=f"{len(set(corners))} different points",
            expected="at least 3",
            remedy="list the corners in order",
        )
        return
    shape = shapely.Polygon(corners)
    if shape.convex_hull.area <= AREA_MIN_MM2:
        yield problem_at(
            document,
            place,
            found="an outline without area",
            expected="corners that are not all in one line",
            remedy="correct the points",
        )
    elif not shape.is_valid:
        yield problem_at(
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
    bed: BedForm, form: NestFile, document: Document, place: Place
) -> Iterator[Problem]:
    room = min(bed.width_mm, bed.depth_mm) - 2 * form.edge_mm
    if room <= 0:
        yield problem_at(
            document,
            ("edge_mm",),
            found=f"{form.edge_mm:g} mm on every side",
            expected=f"less than half of bed {bed.id} ({bed.width_mm:g} x {bed.depth_mm:g} mm)",
            remedy="correct the margin or the bed",
        )
    for number, area in enumerate(bed.keep_out):
        yield from _problems_of_place(area, bed, document, (*place, "keep_out", number))
    if bed.preferred_mm and not _on_bed(bed.preferred_mm, bed):
        yield problem_at(
            document,
            (*place, "preferred_mm"),
            found=f"[{bed.preferred_mm[0]:g}, {bed.preferred_mm[1]:g}]",
            expected=f"a point on the bed of {bed.width_mm:g} x {bed.depth_mm:g} mm",
            remedy="measure from the front left corner, or leave it out for the middle",
        )


def _problems_of_place(
    area: NestKeepOutForm, bed: BedForm, document: Document, place: Place
) -> Iterator[Problem]:
    """Look whether a keep-out is on its bed."""
    for key, span, side in (
        ("x_mm", area.x_mm, bed.width_mm),
        ("y_mm", area.y_mm, bed.depth_mm),
    ):
        if span is not None and not 0 <= span[0] < span[1] <= side:
            yield problem_at(
                document,
                (*place, key),
                found=f"[{span[0]:g}, {span[1]:g}]",
                expected=f"[from, to] inside the bed, 0 to {side:g} mm",
                remedy="cut it at the edge of the bed, or leave it out",
            )
    outside = [point for point in area.outline or () if not _on_bed(point, bed)]
    if outside:
        yield problem_at(
            document,
            (*place, "outline"),
            found=f"the corner [{outside[0][0]:g}, {outside[0][1]:g}]",
            expected=f"corners inside the bed, {bed.width_mm:g} x {bed.depth_mm:g} mm",
            remedy="cut it at the edge of the bed, or leave it out",
        )


def _on_bed(point: tuple[float, float], bed: BedForm) -> bool:
    return 0 <= point[0] <= bed.width_mm and 0 <= point[1] <= bed.depth_mm


def _problems_of_groups(form: NestFile, document: Document) -> Iterator[Problem]:
    """Look for groups of unknown items, of one item, and for what contradicts itself."""
    names = [item.id for item in form.items]
    for key, groups in (("together", form.together), ("apart", form.apart)):
        for number, group in enumerate(groups):
            for at, name in enumerate(group):
                if name not in names:
                    yield _unknown(name, "item", names, document, (key, number, at))
            if key == "apart" and len(set(group)) < 2:
                yield problem_at(
                    document,
                    (key, number),
                    found=f"{group[0]} alone",
                    expected="two items or more that must not share a plate",
                    remedy="add the other, or leave the group out",
                )
    both = contradiction(form.together, form.apart)
    if both:
        yield problem_at(
            document,
            ("apart",),
            found=f"{both[0]} and {both[1]}, which must be together as well",
            expected="no two items both together and apart",
            remedy="take one of the two out of a group",
        )


def _problems_of_pins(form: NestFile, document: Document) -> Iterator[Problem]:
    items, beds = [item.id for item in form.items], [bed.id for bed in form.beds]
    for number, pin in enumerate(form.pins):
        if pin.id not in items:
            yield _unknown(pin.id, "item", items, document, ("pins", number, "id"))
        if pin.bed not in beds:
            yield _unknown(pin.bed, "bed", beds, document, ("pins", number, "bed"))


def _unknown(
    name: str, kind: str, known: Sequence[str], document: Document, place: Place
) -> Problem:
    return problem_at(
        document,
        place,
        found=f"{shown(name)}, which is no {kind}",
        expected=f"the id of one: {listed(known)}",
        remedy=suggestion(name, known),
    )


def problem_at(
    document: Document, keys: Place, *, found: str, expected: str, remedy: str
) -> Problem:
    """Return a problem at a place of the document."""
    place = place_of(keys)
    return Problem(
        file=document.file,
        line=document.line(place),
        place=place,
        found=found,
        expected=expected,
        remedy=remedy,
    )


def without_repeats(ring: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    """Drop points that repeat the one before, and the closing point."""
    kept = [point for before, point in zip((None, *ring), ring, strict=False) if point != before]
    return kept[:-1] if len(kept) > 1 and kept[0] == kept[-1] else kept
