"""Why a copy was not laid, in one sentence for the user."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner.nest.model import Bed
    from planner.nest.table import Table


def why_unplaced(
    table: Table, item: int, usable: Sequence[int], plates: int, kinds: int | None = None
) -> str:
    """Return the reason; for an item that fits nowhere, one clause per kind of bed.

    The first `kinds` beds are kinds of bed, the others single plates with pinned copies.
    """
    kinds = len(table.beds) if kinds is None else kinds
    if usable:
        return _no_plate_left(table, usable, plates, kinds)
    clauses = [_why_not(table, item, bed) for bed in range(kinds)]
    return "; ".join(dict.fromkeys(clauses))


def _no_plate_left(table: Table, usable: Sequence[int], plates: int, kinds: int) -> str:
    begun = Counter(table.beds[bed].id for bed in range(kinds, len(table.beds)))
    counts = {
        table.beds[bed].id: (table.beds[bed].count or 0) + begun[table.beds[bed].id]
        for bed in usable
        if bed < kinds
    }
    for bed in usable:
        counts.setdefault(table.beds[bed].id, begun[table.beds[bed].id])
    names = ", ".join(f"{name} ({count})" for name, count in counts.items())
    return f"no plate left: {plates} in use, and it may lie on {names} only"


def _why_not(table: Table, item: int, bed: int) -> str:
    """Name the dimension that is too much for one bed."""
    wanted, kind = table.items[item], table.beds[bed]
    for name, unit, value, limit in (
        ("height", "mm", wanted.height_mm, kind.height_mm),
        ("printing time", "s", wanted.seconds, kind.limit_s),
        ("mass", "g", wanted.grams, kind.limit_g),
        ("number of parts", "parts", float(wanted.parts), kind.limit_parts),
    ):
        if value > limit:
            return f"its {name} of {value:g} {unit} is over the {limit:g} {unit} of {kind.id}"
    return _too_large(table, item, kind)


def _too_large(table: Table, item: int, kind: Bed) -> str:
    """Compare extents with the room, in the turn that comes nearest to fitting."""
    room = tuple(side - 2 * table.edge_mm for side in (kind.width_mm, kind.depth_mm))
    sizes = [
        (
            table.shapes[option.shape].width_mm - table.clearance_mm,
            table.shapes[option.shape].depth_mm - table.clearance_mm,
        )
        for option in table.options[item]
    ]
    over = [max(size[0] - room[0], size[1] - room[1]) for size in sizes]
    size = sizes[over.index(min(over))]
    text = f"{size[0]:.1f} x {size[1]:.1f} mm"
    space = f"{max(room[0], 0):.1f} x {max(room[1], 0):.1f} mm inside the edge of {kind.id}"
    if min(over) > 1e-6:
        side = "width" if size[0] - room[0] >= size[1] - room[1] else "depth"
        return f"its {side} is too much: {text} in its best turn against {space}"
    return f"it finds no place beside the keep-outs of {kind.id}: {text} against {space}"
