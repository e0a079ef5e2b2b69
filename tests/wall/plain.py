"""Walls and systems to be filled, in few words."""

from __future__ import annotations

from pathlib import Path

from planner.job.layout.model import (
    CutOut,
    Levelling,
    PanelSystem,
    PartRule,
    Walls,
    WallShape,
)

RULES = (
    PartRule(part="panel", spot="cell"),
    PartRule(part="key", spot="shared edge"),
    PartRule(part="trim", spot="free edge"),
    PartRule(part="standoff", spot="junction"),
    PartRule(part="corner", spot="junction", shape="outer corner"),
)


def system(*rules, pitch=(100.0, 100.0)):
    """Return a system with these rules, or with those above."""
    return PanelSystem(
        name="plain",
        pitch_mm=pitch,
        thickness_mm=5.0,
        joint_play_mm=0.3,
        rules=rules or RULES,
        where="system.yaml:1",
    )


def drawn(cells, *, pitch=(100.0, 100.0), **wall):
    """Return a wall with exactly these cells (column, row), its size that of the drawing."""
    columns, rows = (max(cell[axis] for cell in cells) for axis in (0, 1))
    told = {"name": "north", "grid": (columns, rows), "mask": frozenset(cells), **wall}
    return WallShape(width_mm=columns * pitch[0], height_mm=rows * pitch[1], **told)


def rectangle(columns, rows, **wall):
    """Return a wall of so many columns and rows, without a margin."""
    told = {"name": "north", "grid": (columns, rows), **wall}
    return WallShape(width_mm=columns * 100.0, height_mm=rows * 100.0, **told)


def sized(width_mm, height_mm, *cut_outs, **wall):
    """Return a wall of a size; cut-outs are (x, y, width, height)."""
    told = [
        CutOut(name=f"cut-out {n}", kind="other", x_mm=x, y_mm=y, width_mm=w, height_mm=h)
        for n, (x, y, w, h) in enumerate(cut_outs)
    ]
    return WallShape(
        name="north", width_mm=width_mm, height_mm=height_mm, cut_outs=tuple(told), **wall
    )


def walls(*shapes, panels=None, extra=None):
    """Walls of one job."""
    return Walls(
        name="walls",
        path=Path("wall.yaml"),
        system=panels or system(),
        walls=shapes,
        extra=extra or {},
        pattern="every junction",
        anchor=None,
        levelling=Levelling(level_mm_m=0.5, first_panel_mm_m=1.0),
        band_mm=75.0,
    )


def numbers(counted):
    """Part -> copies."""
    return {each.part: each.count for each in counted.counts}


def reasons(counted):
    """Part -> why."""
    return {each.part: each.because for each in counted.counts}
