"""Walls as one JSON document (schema "platewright/wall/1")."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from planner.report.wall import figures
from planner.report.wall.taken import taken_entries
from planner.report.words import number

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from planner.handover.quick.taken import Taken
    from planner.handover.walls import WallAnswer
    from planner.job.model import Need
    from planner.wall.model import Count, Drift, Fixing, FixingShare, Panelling

Document = dict[str, Any]


def wall_document(answer: WallAnswer, taken: Taken) -> Document:
    """Return the walls as plain JSON types; what was not worked out is null."""
    counted, mounting = answer.counted, answer.mounting
    panellings, system = counted.panellings, counted.walls.system
    return {
        "schema": "platewright/wall/1",
        "name": counted.walls.name,
        "system": {
            "name": system.name,
            "pitch_mm": list(system.pitch_mm),
            "thickness_mm": system.thickness_mm,
            "joint_play_mm": system.joint_play_mm,
        },
        **_figures(panellings),
        "counts": {each.part: each.count for each in counted.counts},
        "because": {each.part: each.because for each in counted.counts},
        "bought": [each.part for each in counted.counts if each.bought],
        "parts": [_need(need) for need in answer.needs],
        "walls": [_wall(panelling) for panelling in panellings],
        "fixings": [_fixing(fixing) for fixing in mounting.fixings],
        "fixings_left_out": [
            {"wall": s.wall, "x_mm": number(s.x_mm), "y_mm": number(s.y_mm), "why": s.why}
            for s in mounting.skipped
        ],
        "loads": [_load(share) for share in mounting.loads],
        "drifts": [_drift(drift) for drift in answer.drifts],
        "remarks": list(counted.remarks),
        "notes": list(mounting.notes),
        "assumptions": list(mounting.assumptions),
        "cautions": list(mounting.cautions),
        **taken_entries(taken),
    }


def _figures(panellings: Iterable[Panelling]) -> Document:
    panellings = list(panellings)
    return {
        "cells": sum(len(panelling.cells) for panelling in panellings),
        "islands": sum(panelling.islands for panelling in panellings),
        "shared_edges": figures.edges(panellings, shared=True),
        "free_edges": figures.edges(panellings, shared=False),
        "junctions": {str(n): count for n, count in figures.by_panels(panellings).items()},
        "junction_shapes": figures.by_shape(panellings),
    }


def _wall(panelling: Panelling) -> Document:
    wall = panelling.wall
    return {
        "name": wall.name,
        "width_mm": number(wall.width_mm),
        "height_mm": number(wall.height_mm),
        "offset_mm": [number(value) for value in panelling.offset_mm],
        "margins_mm": {
            side: number(margin)
            for side, margin in zip(figures.SIDES, panelling.margins_mm, strict=True)
        },
        "strips": [
            {"side": side, "width_mm": wide, "height_mm": high}
            for side, wide, high in figures.strips(panelling)
        ],
        **_figures([panelling]),
        "counts": _by_part(panelling.counts),
        "because": {each.part: each.because for each in panelling.counts},
        "grid": [[cell.column, cell.row] for cell in panelling.cells],
        "hung": [
            {
                "thing": each.thing,
                "cell": list(each.cell),
                "count": each.count,
                "force_n": number(each.force_n),
                "out_mm": number(each.out_mm),
            }
            for each in wall.hung
        ],
    }


def _by_part(counts: Iterable[Count]) -> Mapping[str, int]:
    return {each.part: each.count for each in counts}


def _need(need: Need) -> Document:
    return {
        "part": need.part,
        "needed": need.needed,
        "from_stock": need.from_stock,
        "spares": need.spares,
        "to_print": need.to_print,
        "odds": number(need.odds, 6),
        "because": need.because,
    }


def _fixing(fixing: Fixing) -> Document:
    return {
        "wall": fixing.wall,
        "x_mm": number(fixing.x_mm),
        "y_mm": number(fixing.y_mm),
        "column": fixing.column,
        "row": fixing.row,
        "stud": fixing.stud,
    }


def _load(share: FixingShare) -> Document:
    return {
        "wall": share.fixing.wall,
        "x_mm": number(share.fixing.x_mm),
        "y_mm": number(share.fixing.y_mm),
        "shear_n": number(share.shear_n),
        "pull_n": number(share.pull_n),
        "used": None if share.used is None else number(share.used),
    }


def _drift(drift: Drift) -> Document:
    return {
        "wall": drift.wall,
        "worst_mm": number(drift.worst_mm),
        "typical_mm": number(drift.typical_mm),
        "worst_up_mm": number(drift.worst_up_mm),
        "row": drift.row,
        "column": drift.column,
        "check_at": list(drift.check_at),
    }
