"""A plate drawn to scale: bed, margin, places to keep free, and every part where it lies.

One unit of the drawing is one millimetre. The front of the printer is at the bottom.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from planner.report.palette import kind_class
from planner.report.placing import screen_matrix
from planner.report.svg import element, fmt, hatching, label, picture, title
from planner.report.words import contents, printer_of, share

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    import numpy as np
    from numpy.typing import NDArray
    from shapely import Polygon

    from planner.handover.model import Plan, PlannedPlate
    from planner.nest.model import Placement
    from planner.settings.model import Patch, Rectangle
    from planner.solid.model import Footprint

PX_PER_MM = 1.6
"""Size on a screen, before the page scales it; invented."""
_MARGIN_MM = 6.0
_FOOT_MM = 18.0
_DETAIL_MM = 0.05
"""Outlines of many points are thinned to this, far under the width of a drawn line."""


def part_numbers(plan: Plan) -> dict[str, int]:
    """Give every kind of part a number from 1, the same on every plate."""
    return {ready.part.name: index for index, ready in enumerate(plan.parts, start=1)}


def draw_plan_plate(plan: Plan, plate: PlannedPlate, *, own_style: bool = False) -> str:
    """Draw one plate of a plan as SVG text; `own_style` makes it a file that stands alone."""
    footprints = {ready.part.name: ready.posed.footprint for ready in plan.parts}
    return draw_plate(
        plate,
        footprints,
        part_numbers(plan),
        edge_mm=plan.job.edge_mm,
        prefix=f"plate{plan.plates.index(plate) + 1}",
        printer=printer_of(plan, plate),
        own_style=own_style,
    )


def draw_plate(
    plate: PlannedPlate,
    footprints: Mapping[str, Footprint],
    numbers: Mapping[str, int],
    *,
    edge_mm: float,
    prefix: str,
    printer: str = "",
    own_style: bool = False,
) -> str:
    """Draw one plate; `prefix` keeps its ids apart from those of others on the same page.

    `printer` is said in the drawing's name; the plate's profile if left out.
    """
    sheet = Sheet(
        name=f"Plate {plate.id}, {printer or plate.printer.name}: {contents(plate)}; "
        f"{share(plate.fill)} full",
        prefix=prefix,
        width_mm=plate.printer.bed_width_mm,
        depth_mm=plate.printer.bed_depth_mm,
        edge_mm=edge_mm,
        keep_out=plate.printer.keep_out,
        patches=plate.printer.keep_out_patches,
        placements=plate.placements,
        footprints=footprints,
        numbers=numbers,
        legend=order_told(plate.placements),
    )
    return draw_sheet(sheet, own_style=own_style)


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """What is drawn of one bed: `legend` are lines of text under it.

    `footprints` and `numbers` are looked up by the names in `placements`; `prefix` keeps ids
    apart from those of other drawings on the same page.
    """

    name: str
    prefix: str
    width_mm: float
    depth_mm: float
    edge_mm: float
    keep_out: tuple[Rectangle, ...]
    patches: tuple[Patch, ...]
    placements: tuple[Placement, ...]
    footprints: Mapping[str, Footprint]
    numbers: Mapping[str, int]
    legend: tuple[str, ...] = ()


def draw_sheet(sheet: Sheet, *, own_style: bool = False) -> str:
    """Draw one bed with what lies on it as SVG text."""
    width, depth, prefix, numbers = sheet.width_mm, sheet.depth_mm, sheet.prefix, sheet.numbers
    kinds = sorted({placement.id for placement in sheet.placements})
    names = {name: f"{prefix}-part{numbers[name]}" for name in kinds}
    shapes = [_shape(sheet.footprints[name], names[name], numbers[name]) for name in kinds]
    rooms = {name: _roomiest(sheet.footprints[name]) for name in kinds}
    defs = element("defs", hatching(f"{prefix}-keep", "hatch", 5, 0.9), *shapes)
    foot, lines = _foot(width, depth), _legend(sheet)
    bed = [
        element("rect", width=width, height=depth, rx=2, class_="bed", stroke_width=0.8),
        *_keep_outs(sheet, f"{prefix}-keep"),
        _edge(width, depth, sheet.edge_mm),
        *(_copy(p, names[p.id], depth) for p in sheet.placements),
        *(_number(p, rooms[p.id], numbers[p.id], depth) for p in sheet.placements),
        *foot,
        *lines,
    ]
    return picture(
        defs,
        element("g", *bed, transform=f"translate({fmt(_MARGIN_MM)} {fmt(_MARGIN_MM)})"),
        name=sheet.name,
        width=width + 2 * _MARGIN_MM,
        height=depth + _MARGIN_MM + _FOOT_MM + len(lines) * _line_mm(width),
        px_width=PX_PER_MM * (width + 2 * _MARGIN_MM),
        own_style=own_style,
    )


def outline_path(footprint: Footprint) -> str:
    """Return the rings of a footprint as SVG path data, in the footprint's own frame."""
    rings = [_thinned(ring) for polygon in footprint.polygons_mm for ring in polygon]
    return "".join(f"M{'L'.join(f'{fmt(x)} {fmt(y)}' for x, y in ring)}Z" for ring in rings)


def _thinned(ring: NDArray[np.float64]) -> NDArray[np.float64]:
    if len(ring) <= 64:  # a plain outline: keep every point
        return ring
    import numpy  # noqa: ICN001, PLC0415 - heavy, and needed for odd shapes only
    import shapely  # noqa: PLC0415 - heavy, and needed for odd shapes only

    line = shapely.LinearRing(ring).simplify(_DETAIL_MM, preserve_topology=True)
    return numpy.asarray(line.coords)[:-1]


def _shape(footprint: Footprint, name: str, number: int) -> str:
    return element(
        "path",
        id=name,
        d=outline_path(footprint),
        class_=f"part {kind_class(number)}",
        fill_rule="evenodd",
        stroke_width=0.5,
        vector_effect="non-scaling-stroke",
    )


def _copy(placement: Placement, name: str, depth_mm: float) -> str:
    matrix = " ".join(fmt(value, 4) for value in screen_matrix(placement, depth_mm))
    return element(
        "use", title(placement.id), href=f"#{name}", transform=f"matrix({matrix})", class_="copy"
    )


def _number(
    placement: Placement, room: tuple[float, float, float], number: int, depth_mm: float
) -> str:
    """Write the part's number upright at the roomiest spot inside its outline.

    On a plate that is printed one part after the other, its turn follows in brackets.
    """
    x, y, room_mm = room
    a, b, c, d, e, f = screen_matrix(placement, depth_mm)
    text = f"{number}" if placement.order is None else f"{number} ({placement.order})"
    size = max(3.0, min(9.0, 1.3 * room_mm * (1 if placement.order is None else 0.5)))
    return label(
        text,
        x=a * x + c * y + e,
        y=b * x + d * y + f + 0.35 * size,  # digits stand about 0.7 of the size high
        font_size=size,
        text_anchor="middle",
        aria_hidden="true",
    )


def _roomiest(footprint: Footprint) -> tuple[float, float, float]:
    """Return a point well inside the largest polygon, and its distance to the outline (mm)."""
    import shapely  # noqa: PLC0415 - heavy: only when a plate is drawn
    from shapely.ops import polylabel  # noqa: PLC0415

    polygons = [shapely.Polygon(_thinned(p[0]), p[1:]) for p in footprint.polygons_mm]
    largest: Polygon = max(polygons, key=lambda polygon: polygon.area)
    outline = largest.boundary
    try:
        point = polylabel(largest, tolerance=1.0)
    except shapely.errors.ShapelyError:  # an outline that touches itself
        point = largest.representative_point()
    middle = largest.centroid
    if largest.contains(middle) and middle.distance(outline) > 0.9 * point.distance(outline):
        point = middle  # where there is a choice, the middle looks right
    return point.x, point.y, point.distance(outline)


def _keep_outs(sheet: Sheet, pattern: str) -> list[str]:
    fill = f"url(#{pattern})"
    boxes = [
        element(
            "rect",
            title("keep free"),
            x=area.x_min_mm,
            y=sheet.depth_mm - area.y_max_mm,
            width=area.x_max_mm - area.x_min_mm,
            height=area.y_max_mm - area.y_min_mm,
            fill=fill,
            stroke_width=0.5,
            class_="forbidden",
        )
        for area in sheet.keep_out
    ]
    return boxes + [
        element(
            "polygon",
            title("keep free"),
            points=" ".join(f"{fmt(x)},{fmt(sheet.depth_mm - y)}" for x, y in patch.points_mm),
            fill=fill,
            stroke_width=0.5,
            class_="forbidden",
        )
        for patch in sheet.patches
    ]


def order_told(placements: Sequence[Placement]) -> tuple[str, ...]:
    """Return the line that explains the order of printing, where there is one."""
    ordered = any(place.order is not None for place in placements)
    return ("in brackets: order, one after the other",) if ordered else ()


def letters_in(width_mm: float) -> int:
    """Return how many letters of a legend fit under a bed, at a generous width of each.

    >>> letters_in(220.0)
    61
    """
    return int(width_mm / (0.6 * _letter_mm(width_mm)))


def _letter_mm(width_mm: float) -> float:
    return max(6.0, width_mm / 40)


def _line_mm(width_mm: float) -> float:
    """Return the height of a line of the legend."""
    return 1.35 * _letter_mm(width_mm)


def _legend(sheet: Sheet) -> list[str]:
    first, line_mm = sheet.depth_mm + _FOOT_MM, _line_mm(sheet.width_mm)
    return [
        label(
            text,
            x=0,
            y=first + (line + 0.6) * line_mm,
            font_size=_letter_mm(sheet.width_mm),
            class_="soft",
        )
        for line, text in enumerate(sheet.legend)
    ]


def _edge(width_mm: float, depth_mm: float, edge_mm: float) -> str:
    return element(
        "rect",
        x=edge_mm,
        y=edge_mm,
        width=max(0.0, width_mm - 2 * edge_mm),
        height=max(0.0, depth_mm - 2 * edge_mm),
        class_="edge",
        stroke_width=0.5,
        stroke_dasharray="3 2",
    )


def _foot(width_mm: float, depth_mm: float) -> list[str]:
    """Mark the front and give a bar of 50 mm (of 10 mm on a tiny bed)."""
    length = 50.0 if width_mm >= 100 else 10.0
    y, size = depth_mm + 11, max(7.0, width_mm / 28)
    bar = f"M0 {fmt(y - 2)}V{fmt(y + 2)}M0 {fmt(y)}H{fmt(length)}M{fmt(length)} {fmt(y - 2)}v4"
    return [
        element("path", d=bar, class_="scale", stroke_width=0.8),
        label(f"{length:.0f} mm", x=length + 3, y=y + 2.5, font_size=size, class_="soft"),
        label("front", x=width_mm, y=y + 2.5, font_size=size, text_anchor="end", class_="soft"),
    ]
