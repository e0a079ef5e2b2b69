"""Where to drill, as a table: one line per screw, from the bottom left corner of its wall."""

from __future__ import annotations

import csv
import io
from typing import TYPE_CHECKING

from planner.report.tables import text_cell
from planner.report.words import number, share

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner.report.wall.subject import Subject
    from planner.report.wall.template.tiles import Tiling
    from planner.wall.model import Fixing, Mounting

COLUMNS = ("number", "wall", "x_mm", "y_mm", "stud", "note")


def fixings_csv(walls: Sequence[tuple[Subject, Tiling]], mounting: Mounting) -> str:
    """Return the screws of all walls as CSV (RFC 4180), safe to open in a spreadsheet.

    Numbers are those on the template; the note names the tile, and an anchor that bears more
    than it may. Junctions left without a screw are not told.
    """
    used = {load.fixing: load.used for load in mounting.loads if load.used is not None}
    text = io.StringIO(newline="")
    writer = csv.writer(text)
    writer.writerow(COLUMNS)
    for subject, tiling in walls:
        for count, fixing in subject.fixings:
            note = _note(fixing, tiling, used.get(fixing, 0.0))
            place = (number(fixing.x_mm, 2), number(fixing.y_mm, 2))
            stud = "yes" if fixing.stud else "no"
            writer.writerow([count, text_cell(subject.name), *place, stud, text_cell(note)])
    return text.getvalue()


def _note(fixing: Fixing, tiling: Tiling, used: float) -> str:
    tile = "" if tiling.too_many else f"tile {tiling.tile_of(fixing.x_mm, fixing.y_mm).name}"
    over = f"bears {share(used)} of what its anchor may" if used > 1 else ""
    return "; ".join(word for word in (tile, over) if word)
