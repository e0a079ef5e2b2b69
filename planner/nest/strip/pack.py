"""The strip packer: from items and a depth to the shortest strip found, checked."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from math import isfinite
from random import Random
from typing import TYPE_CHECKING

from planner.nest.model import Item, Placement
from planner.nest.outline import least_area_mm2, outline_of
from planner.nest.shape import cos_sin
from planner.nest.strip.check import check_strip
from planner.nest.strip.kit import Kit
from planner.nest.strip.model import StripPacking
from planner.nest.strip.search import Shrinking
from planner.progress import silent

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner.nest.runs import Workers
    from planner.nest.strip.compact import Laid
    from planner.progress import Progress

EFFORT = 150
WORK_PER_EFFORT = 10_000
RUNS = 2
"""Searches with seeds of their own, the shortest strip of which counts: one per core."""

EFFORT_PER_SECOND = 50
"""As `planner.nest.pack` has it: what a 2020s desktop core does."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """One search, as it travels to another process."""

    items: tuple[Item, ...]
    depth_mm: float
    clearance_mm: float
    edge_mm: float
    work: int
    seed: int


def effort_for(seconds: float) -> int:
    """Return the effort that takes about so long on a common machine with two cores.

    >>> effort_for(3.0)
    150
    """
    return max(1, round(seconds * EFFORT_PER_SECOND))


def pack_strip(
    items: Sequence[Item],
    depth_mm: float,
    *,
    clearance_mm: float,
    edge_mm: float,
    effort: int = EFFORT,
    seed: int = 0,
    progress: Progress = silent,
    workers: Workers = map,
) -> StripPacking:
    """Lay every copy in a strip of fixed depth, as short as can be found.

    `effort` is an amount of counted work per search, as in `planner.nest.pack.pack`; there are
    two searches, which `workers` may run on two cores at once.  Raises ValueError if a length
    makes no sense or an item is deeper than the strip at every turn.
    """
    _checked(items, depth_mm, clearance_mm, edge_mm)
    wanted = tuple(item for item in items if item.quantity)
    job = partial(
        Job,
        items=wanted,
        depth_mm=depth_mm,
        clearance_mm=clearance_mm,
        edge_mm=edge_mm,
        work=effort * WORK_PER_EFFORT,
    )
    beside = workers(packed, [job(seed=seed * RUNS + run) for run in range(1, RUNS)])
    own = packed(job(seed=seed * RUNS), progress)
    best = min([own, *beside], key=lambda strip: strip.length_mm)
    wrong = check_strip(best, items, depth_mm=depth_mm, clearance_mm=clearance_mm, edge_mm=edge_mm)
    if wrong:
        said = "; ".join(wrong[:5])
        raise RuntimeError(f"the packer broke its own rules, which is a bug of ours: {said}")
    return best


def packed(job: Job, progress: Progress = silent) -> StripPacking:
    """Do one search."""
    low_mm = lower_bound_mm(
        job.items, job.depth_mm, clearance_mm=job.clearance_mm, edge_mm=job.edge_mm
    )
    if not job.items:
        return StripPacking(length_mm=low_mm, placements=(), density=0.0, lower_bound_mm=low_mm)
    kit = Kit(job.items, depth_mm=job.depth_mm, clearance_mm=job.clearance_mm, edge_mm=job.edge_mm)

    def tell(laid: Laid) -> None:
        length_mm = laid.length_mm + 2 * job.edge_mm - job.clearance_mm
        note = f"{length_mm:.1f} mm long, bound {low_mm:.1f} mm"
        progress("strip", min(kit.work, job.work), job.work, note)

    laid = Shrinking(kit, Random(job.seed), job.work).run(tell)  # noqa: S311  (repeatable)
    tell(laid)
    return _answer(kit, laid, job, low_mm)


def lower_bound_mm(
    items: Sequence[Item], depth_mm: float, *, clearance_mm: float, edge_mm: float
) -> float:
    """Return a length that no packing is shorter than: by area, or by the longest part."""
    outlines = [outline_of(item.footprint, depth_mm / 320)[0] for item in items if item.quantity]
    wanted = [item for item in items if item.quantity]
    more_mm = clearance_mm - 2 * edge_mm
    area = sum(
        item.quantity * least_area_mm2(outline, clearance_mm / 2)
        for item, outline in zip(wanted, outlines, strict=True)
    )
    longest = 0.0
    for item, outline in zip(wanted, outlines, strict=True):
        sizes = outline.extents_mm(item.rotations_deg)
        longest = max(longest, float(sizes[sizes[:, 1] <= depth_mm - 2 * edge_mm + 1e-6, 0].min()))
    return max(area / (depth_mm + more_mm) - more_mm if area else 0.0, longest + 2 * edge_mm)


def _checked(items: Sequence[Item], depth_mm: float, clearance_mm: float, edge_mm: float) -> None:
    for name, value, least in (
        ("clearance_mm", clearance_mm, 0.0),
        ("edge_mm", edge_mm, 0.0),
        ("depth_mm", depth_mm - 2 * edge_mm, 1e-6),
    ):
        if not (isfinite(value) and value >= least):
            raise ValueError(
                f"{name} leaves {value:g} mm, expected a finite number above {least:g}"
            )
    for item in items:
        outline, _ = outline_of(item.footprint, depth_mm / 320)
        least = float(outline.extents_mm(item.rotations_deg)[:, 1].min())
        if item.quantity and least > depth_mm - 2 * edge_mm + 1e-6:
            raise ValueError(
                f"item {item.id} is {least:.1f} mm deep at the least, expected at most "
                f"{depth_mm - 2 * edge_mm:g} mm inside the edge of the strip"
            )


def _answer(kit: Kit, laid: Laid, job: Job, low_mm: float) -> StripPacking:
    """Turn places of grown outlines into placements of footprints."""
    shift_mm = job.edge_mm - job.clearance_mm / 2
    placements = []
    for shape, (x_mm, y_mm) in zip(laid.shapes, laid.places_mm.tolist(), strict=True):
        posed = kit.shapes[shape]
        cosine, sine = cos_sin(posed.rotation_deg)
        corner = kit.corner_mm[posed.item]
        placements.append(
            Placement(
                id=job.items[posed.item].id,
                x_mm=round(shift_mm + x_mm - cosine * corner[0] + sine * corner[1], 9) + 0.0,
                y_mm=round(shift_mm + y_mm - sine * corner[0] - cosine * corner[1], 9) + 0.0,
                rotation_deg=posed.rotation_deg,
            )
        )
    length_mm = round(laid.length_mm + 2 * shift_mm, 9)
    area = sum(kit.regions[item].area for item in kit.parts)
    return StripPacking(
        length_mm=length_mm,
        placements=tuple(placements),
        density=round(area / (length_mm * job.depth_mm), 6),
        lower_bound_mm=min(low_mm, length_mm),
    )
