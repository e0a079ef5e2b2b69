"""A wall as DXF (2010, in mm): for a laser that marks, a machine, or another drawing program.

The origin is the bottom left corner of the wall. Circles are marks, not the size of a drill.
"""

from __future__ import annotations

import io
import re
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

from planner.report.wall.subject import STOP_WORDS
from planner.report.words import plain

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from planner.report.wall.sheet.marks import Point, Segment
    from planner.report.wall.subject import Subject

LAYERS = {
    "WALL": 7,
    "CUT-OUTS": 1,
    "CELLS": 8,
    "KEEP-FREE": 30,
    "STUDS": 5,
    "FIXINGS": 3,
    "NUMBERS": 9,
    "TEXT": 7,
}
"""Layer -> colour of the DXF colour index: 1 red, 3 green, 5 blue, 7 black or white, 8, 9 grey."""
MARK_RADIUS_MM = 2.5
_TEXT_MM = 8.0
_ADORNED = 5000
"""Screws beyond which only points are written, or the file would take a minute (measured)."""


def wall_dxf(subject: Subject) -> bytes:
    """Return one wall as DXF: outline, cut-outs, cells, strips to keep free, studs, screws."""
    from ezdxf import units  # noqa: PLC0415 - heavy, and needed for this file only
    from ezdxf.filemanagement import new  # noqa: PLC0415

    with _undated():
        document, stream = new("R2010", units=units.MM), io.StringIO()
        for name, colour in LAYERS.items():
            document.layers.add(name, color=colour)
        _fill(document.modelspace(), subject)
        document.write(stream)
    return stream.getvalue().encode(document.output_encoding, errors="replace")


def _fill(space: Any, subject: Subject) -> None:
    wall = subject.panelling.wall
    _rectangle(space, "WALL", (0, 0), *subject.size_mm)
    _lines(space, "CELLS", subject.shared + subject.free)
    for cut in wall.cut_outs:
        _rectangle(space, "CUT-OUTS", (cut.x_mm, cut.y_mm), cut.width_mm, cut.height_mm)
        _text(space, "TEXT", cut.name, cut.x_mm + 2, cut.y_mm + 2)
    for band in subject.bands:
        _rectangle(space, "KEEP-FREE", (band.x_mm, band.y_mm), band.width_mm, band.height_mm)
    _lines(space, "STUDS", (((x, 0.0), (x, wall.height_mm)) for x in wall.studs_mm))
    _screws(space, subject)
    _text(space, "TEXT", subject.name, 0, -2 * _TEXT_MM)
    if subject.stops:
        _text(space, "TEXT", STOP_WORDS, 0, -4 * _TEXT_MM)


def _screws(space: Any, subject: Subject) -> None:
    adorned = len(subject.fixings) <= _ADORNED
    for number, fixing in subject.fixings:
        at = (fixing.x_mm, fixing.y_mm)
        space.add_point(at, dxfattribs={"layer": "FIXINGS"})
        if adorned:
            space.add_circle(at, MARK_RADIUS_MM, dxfattribs={"layer": "FIXINGS"})
            _text(space, "NUMBERS", str(number), at[0] + 4, at[1] + 4)


def _rectangle(space: Any, layer: str, corner: Point, width_mm: float, height_mm: float) -> None:
    (x_mm, y_mm), right, top = corner, corner[0] + width_mm, corner[1] + height_mm
    corners = [(x_mm, y_mm), (right, y_mm), (right, top), (x_mm, top)]
    space.add_lwpolyline(corners, close=True, dxfattribs={"layer": layer})


def _lines(space: Any, layer: str, segments: Iterable[Segment]) -> None:
    for start, end in segments:
        space.add_line(start, end, dxfattribs={"layer": layer})


def _text(space: Any, layer: str, text: str, x_mm: float, y_mm: float) -> None:
    attributes = {"layer": layer, "height": _TEXT_MM, "insert": (x_mm, y_mm)}
    space.add_text(literal(text), dxfattribs=attributes)


def literal(text: str) -> str:
    r"""Return text that a DXF reader shows as it stands: %%, ^ and \U steer it otherwise.

    >>> literal("50%%c"), literal("a^J"), literal(r"\U+0041")
    ('50% %c', 'a ^ J', '\\ U+0041')
    """
    shown = re.sub("%(?=%)", "% ", plain(text)).replace("^", " ^ ")
    return shown.replace("\\U", "\\ U").replace("\\M", "\\ M")


@contextmanager
def _undated() -> Iterator[None]:
    """Keep today's date and chance numbers out of a document, so that same means same."""
    from ezdxf import (  # type: ignore[attr-defined]  # noqa: PLC0415 - not marked as exported
        options,
    )

    before = options.write_fixed_meta_data_for_testing
    options.write_fixed_meta_data_for_testing = True
    try:
        yield
    finally:
        options.write_fixed_meta_data_for_testing = before
