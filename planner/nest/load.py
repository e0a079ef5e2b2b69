"""The packing problem read from JSON."""

from __future__ import annotations

from dataclasses import replace
from math import inf
from typing import TYPE_CHECKING

import numpy as np
import shapely

from planner.document import read_json, validate
from planner.errors import InputError
from planner.nest.answer import SCHEMA, nest_document
from planner.nest.faults import problem_at, problems_in, problems_of_items, without_repeats
from planner.nest.form import NestFile
from planner.nest.model import Bed, Item, NestProblem, Pin, Wishes
from planner.nest.pinned import found_and_expected, wrong_pins
from planner.nest.turning import turns_tried
from planner.settings.load import head_of
from planner.settings.model import Patch, Rectangle
from planner.settings.turns import turns_of
from planner.solid.model import Footprint

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from pathlib import Path

    from planner.document import Document
    from planner.errors import Problem
    from planner.nest.form import BedForm, ItemForm
    from planner.nest.model import Placing

__all__ = ["SCHEMA", "item_of", "limited", "load_nest", "nest_document", "problems_of_items"]


def load_nest(
    path: Path,
    *,
    parts_per_plate: int | None = None,
    hours_per_plate: float | None = None,
    placing: Placing | None = None,
) -> NestProblem:
    """Return the problem of a file; raises InputError with every fault found.

    Limits given here hold besides those of the file, and `placing` in place of the file's.
    """
    document = read_json(path)
    form = validate(NestFile, document)
    problems = tuple(problems_in(form, document))
    if problems:
        raise InputError(*problems)
    problem = _problem(form)
    problem = replace(
        problem,
        beds=limited(problem.beds, parts=parts_per_plate, hours=hours_per_plate),
        wishes=replace(problem.wishes, placing=placing or problem.wishes.placing),
    )
    problems = tuple(_faults_of_pins(problem, document))
    if problems:
        raise InputError(*problems)
    return problem


def limited(
    beds: Sequence[Bed], *, parts: int | None = None, hours: float | None = None
) -> tuple[Bed, ...]:
    """Return the beds with at most so many parts and hours on a plate, if any are given."""
    most_parts = inf if parts is None else float(parts)
    most_s = inf if hours is None else 3600.0 * hours
    return tuple(
        replace(
            bed,
            limit_parts=min(bed.limit_parts, most_parts),
            limit_s=min(bed.limit_s, most_s),
        )
        for bed in beds
    )


def item_of(form: ItemForm) -> Item:
    """Return a shape as the packers take it: rings the right way round, no corner twice."""
    rings = (
        _oriented(form.outline, counter_clockwise=True),
        *(_oriented(hole, counter_clockwise=False) for hole in form.holes),
    )
    footprint = Footprint(polygons_mm=(rings,))
    turns = turns_of(form.rotations if form.rotations_deg is None else form.rotations_deg)
    return Item(
        id=form.id,
        footprint=footprint,
        quantity=form.quantity,
        rotations_deg=turns_tried(footprint, turns),
        free_turns=turns.free,
        seconds=form.seconds,
        grams=form.grams,
        height_mm=form.height_mm,
        priority=form.priority,
    )


def _problem(form: NestFile) -> NestProblem:
    return NestProblem(
        items=tuple(item_of(item) for item in form.items),
        beds=limited(
            [_bed(bed) for bed in form.beds],
            parts=form.parts_per_plate,
            hours=form.hours_per_plate,
        ),
        clearance_mm=form.clearance_mm,
        edge_mm=form.edge_mm,
        wishes=Wishes(
            together=form.together,
            apart=form.apart,
            pins=tuple(Pin(**pin.model_dump()) for pin in form.pins),
            placing=form.placing,
        ),
    )


def _faults_of_pins(problem: NestProblem, document: Document) -> Iterator[Problem]:
    for place, wrong in wrong_pins(
        problem.items,
        problem.beds,
        problem.wishes,
        clearance_mm=problem.clearance_mm,
        edge_mm=problem.edge_mm,
    ):
        found, expected = found_and_expected(wrong)
        yield problem_at(
            document,
            ("pins", place),
            found=found,
            expected=expected,
            remedy="move the pin, or leave it out",
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
            if area.x_mm is not None and area.y_mm is not None
        ),
        keep_out_patches=tuple(
            Patch(points_mm=area.outline) for area in form.keep_out if area.outline is not None
        ),
        count=form.count,
        height_mm=_or_inf(form.height_mm),
        limit_s=_or_inf(form.limit_s),
        limit_g=_or_inf(form.limit_g),
        limit_parts=_or_inf(form.limit_parts),
        preferred_mm=form.preferred_mm,
        head=None if form.one_by_one is None else head_of(form.one_by_one),
    )


def _or_inf(limit: float | None) -> float:
    return inf if limit is None else float(limit)


def _oriented(
    ring: Sequence[tuple[float, float]], *, counter_clockwise: bool
) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
    points = np.array(without_repeats(ring), dtype=np.float64)
    forward = shapely.LinearRing(points).is_ccw
    return points if forward == counter_clockwise else points[::-1].copy()
