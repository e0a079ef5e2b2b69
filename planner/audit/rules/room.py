"""A part's box against beds and heights."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product
from math import inf
from typing import TYPE_CHECKING

from planner.audit import sources
from planner.audit.words import box, listed
from planner.settings.model import Level

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from planner.audit.model import Finding
    from planner.audit.subject import Subject
    from planner.job.model import Machine
    from planner.settings.model import Printer, Rectangle
    from planner.solid.model import Posed

SLACK_MM = 1e-6
"""Room for rounding: a part of exactly the bed's size fits."""

Size = tuple[float, float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Area:
    width_mm: float
    depth_mm: float


def quarter_turned(size_mm: Size) -> tuple[Size, ...]:
    """Return a box of (x, y, z) as it stands, and turned by 90 degrees."""
    return (size_mm, (size_mm[1], size_mm[0], size_mm[2]))


def fits(printer: Printer, size_mm: Size, edge_mm: float = 0.0) -> bool:
    """Tell whether a box of (x, y, z) fits, turned by 90 degrees if need be; no keep-outs."""
    return fits_as(printer, quarter_turned(size_mm), edge_mm)


def fits_as(printer: Printer, sizes_mm: Sequence[Size], edge_mm: float = 0.0) -> bool:
    """Tell whether one of the boxes that a part takes up, one per turn, fits as it is."""
    area = _usable(printer, edge_mm)
    return any(
        wide <= area.width_mm + SLACK_MM
        and deep <= area.depth_mm + SLACK_MM
        and high <= printer.height_mm + SLACK_MM
        for wide, deep, high in sizes_mm
    )


def clear_of_keep_outs(printer: Printer, sizes_mm: Sequence[Size], edge_mm: float = 0.0) -> bool:
    """Tell whether one of the boxes has a place that touches no keep-out (exact).

    Any free place can be slid left and then forward until it touches something, so the
    edges of the bed and of the keep-outs are the only positions worth trying.
    """
    lefts = [edge_mm, *(rectangle.x_max_mm for rectangle in printer.keep_out)]
    fronts = [edge_mm, *(rectangle.y_max_mm for rectangle in printer.keep_out)]
    return any(
        _free(printer, edge_mm, left, front, turn)
        for turn, left, front in product(sizes_mm, lefts, fronts)
    )


def bed_fit(
    subject: Subject,
    posed: Posed,
    machines: Sequence[Machine],
    edge_mm: float = 0.0,
    sizes_mm: Sequence[Size] | None = None,
) -> Iterator[Finding]:
    """Stop where no machine has the room; warn where keep-outs may leave none.

    `sizes_mm` are the boxes of the turns that the part may have; quarter turns without.
    """
    sizes = quarter_turned(posed.size_mm) if sizes_mm is None else sizes_mm
    fitting = [m for m in machines if fits_as(m.printer, sizes, edge_mm)]
    if machines and not fitting:
        yield _too_big(subject, posed, machines, edge_mm, declared=sizes_mm is not None)
    elif fitting and not any(clear_of_keep_outs(m.printer, sizes, edge_mm) for m in fitting):
        yield _crowded(subject, posed, fitting)


def head_room(
    subject: Subject,
    posed: Posed,
    machines: Sequence[Machine],
    edge_mm: float = 0.0,
    sizes_mm: Sequence[Size] | None = None,
) -> Iterator[Finding]:
    """Warn where the part fits, but the head cannot be lifted over its top."""
    sizes = quarter_turned(posed.size_mm) if sizes_mm is None else sizes_mm
    fitting = [m for m in machines if fits_as(m.printer, sizes, edge_mm)]
    lift, high = subject.settings.lift_mm, posed.size_mm[2]
    tallest = max((m.printer.height_mm for m in fitting), default=inf)
    if high + lift <= tallest + SLACK_MM:
        return
    yield subject.finding(
        rule="head room",
        level=Level.WARN,
        key="lift_mm",
        found=f"{high:.1f} mm high and a lift of {subject.found('lift_mm', lift)}",
        expected=f"at most {tallest:g} mm together, the room above the bed",
        why="at the top the head is driven against the end of its axis",
        change=("lift_mm", max(0.0, tallest - high)),
        source=f"{sources.MESH}; {sources.PRINTER}",
    )


def _usable(printer: Printer, edge_mm: float) -> _Area:
    return _Area(
        width_mm=printer.bed_width_mm - 2 * edge_mm, depth_mm=printer.bed_depth_mm - 2 * edge_mm
    )


def _free(printer: Printer, edge_mm: float, left: float, front: float, turn: Size) -> bool:
    right, back = left + turn[0], front + turn[1]
    inside = (
        min(left, front) >= edge_mm - SLACK_MM
        and right <= printer.bed_width_mm - edge_mm + SLACK_MM
        and back <= printer.bed_depth_mm - edge_mm + SLACK_MM
    )
    return inside and not any(
        _overlap(rectangle, left, front, right, back) for rectangle in printer.keep_out
    )


def _overlap(rectangle: Rectangle, left: float, front: float, right: float, back: float) -> bool:
    return (
        left < rectangle.x_max_mm - SLACK_MM
        and right > rectangle.x_min_mm + SLACK_MM
        and front < rectangle.y_max_mm - SLACK_MM
        and back > rectangle.y_min_mm + SLACK_MM
    )


def _too_big(
    subject: Subject,
    posed: Posed,
    machines: Sequence[Machine],
    edge_mm: float,
    *,
    declared: bool,
) -> Finding:
    beds = tuple(sorted({_bed(machine.printer) for machine in machines}))
    margin = f", {edge_mm:g} mm kept free at each edge" if edge_mm else ""
    turned = "in no turn that it may have" if declared else "also when turned by 90°"
    return subject.finding(
        rule="bed fit",
        level=Level.STOP,
        found=f"{box(posed.size_mm)} as it stands",
        expected=f"room on a printer: {listed(beds, 'or')}{margin}",
        why=f"it fits on no printer of the job, {turned}",
        remedy=_to_make_room(posed, machines, edge_mm, declared=declared),
        source=f"{sources.MESH}; {sources.PRINTER}",
    )


def _bed(printer: Printer) -> str:
    return box((printer.bed_width_mm, printer.bed_depth_mm, printer.height_mm))


def _to_make_room(
    posed: Posed, machines: Sequence[Machine], edge_mm: float, *, declared: bool
) -> str:
    if declared and any(fits(m.printer, posed.size_mm, edge_mm) for m in machines):
        return "allow quarter turns: leave out rotations, or add 90 to them"
    return _other_way_up(posed, machines, edge_mm)


def _other_way_up(posed: Posed, machines: Sequence[Machine], edge_mm: float) -> str:
    """Return an axis of the part that makes it fit when pointed up, or what else to do."""
    low, high = posed.solid.bounds_mm
    extent = [float(length) for length in high - low]
    for axis in (2, 0, 1):
        rest = [extent[other] for other in range(3) if other != axis]
        size = (rest[0], rest[1], extent[axis])
        names = tuple(sorted(m.name for m in machines if fits(m.printer, size, edge_mm)))
        if names:
            return f"set up: +{'xyz'[axis]} ({box(size)}), which fits {listed(names)}"
    return "divide the part, check the unit of its mesh, or add a larger printer to the job"


def _crowded(subject: Subject, posed: Posed, fitting: Sequence[Machine]) -> Finding:
    names = tuple(sorted(machine.name for machine in fitting))
    return subject.finding(
        rule="keep-out",
        level=Level.WARN,
        found=f"{box(posed.size_mm)} as it stands",
        expected=f"a place clear of the keep-outs of {listed(names, 'or')}",
        why="its box meets a keep-out wherever it is put; only its true outline may still fit",
        remedy="check the plates of the plan; else turn the part or clear the bed",
        source=f"{sources.MESH}; {sources.PRINTER}",
    )
