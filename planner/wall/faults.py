"""What makes a wall impossible to build as it was told; each fault names the cell."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner.document.wording import shown
from planner.errors import Problem, input_error
from planner.wall.naming import cell_name, cell_told, edge_told, junction_told
from planner.wall.rules import kind_of_cell, kind_of_edge, kind_of_junction, uncovered

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

    from planner.errors import InputError
    from planner.job.layout.model import PanelSystem, WallShape
    from planner.wall.model import Panelling
    from planner.wall.rules import Kind, What


def no_cell_left(wall: WallShape, system: PanelSystem) -> InputError:
    """Return the refusal of a wall of which the cut-outs leave nothing."""
    across, up = system.pitch_mm
    return input_error(
        _where(wall),
        found=f"the wall {shown(wall.name)} without a cell: its cut-outs leave no room for one, "
        f"not even for column 1, row 1",
        expected=f"room for at least one panel of {across:g} x {up:g} mm",
        remedy="make the cut-outs smaller, or leave the wall out",
    )


def too_many(wall: WallShape, copies: int, most: int) -> InputError:
    """Return the refusal of more copies than can be put in their places and drawn."""
    return input_error(
        _where(wall),
        found=f"{copies:,} copies with the wall {shown(wall.name)}".replace(",", " "),
        expected=f"at most {most:,} on all walls together".replace(",", " "),
        remedy="check count in the system's rules and under hung, the size of the wall and "
        "pitch_mm",
    )


def nothing_there(panelling: Panelling) -> Iterator[Problem]:
    """Yield a fault for each accessory on a cell that is none."""
    wall = panelling.wall
    cells = {(cell.column, cell.row) for cell in panelling.cells}
    columns, rows = (max(numbers) for numbers in zip(*cells, strict=True))
    for each in wall.hung:
        if each.cell not in cells:
            yield Problem(
                file=each.where or _where(wall),
                found=f"{shown(each.thing)} on {cell_name(each.cell)}, where the wall "
                f"{shown(wall.name)} has no cell",
                expected=f"one of its {len(cells)} cells in {columns} columns and {rows} rows",
                remedy="correct cell: [column, row], counted from the left and from below",
            )


def no_rule(
    panelling: Panelling, system: PanelSystem, kinds: Mapping[Kind, int]
) -> Iterator[Problem]:
    """Yield a fault for each kind of place that occurs and that no rule of the system covers."""
    missing = uncovered(system.rules, kinds)
    if not missing:
        return
    first = _first_of(panelling, system)
    for kind in missing:
        spot, what = kind
        more = f", and {kinds[kind] - 1} more such" if kinds[kind] > 1 else ""
        yield Problem(
            file=system.where or system.name,
            place="rules",
            found=f"no part for {first[kind]} of the wall {shown(panelling.wall.name)}{more}",
            expected="a rule for every place that occurs",
            remedy=f"add {{part: …, at: {spot}{_asking(what)}}}, or part: none if nothing goes "
            "there",
        )


def _first_of(panelling: Panelling, system: PanelSystem) -> dict[Kind, str]:
    """Return the name of the first place of every kind."""
    cells = {(cell.column, cell.row) for cell in panelling.cells}
    named: dict[Kind, str] = {}
    for cell in panelling.cells:
        named.setdefault(kind_of_cell(cell), cell_told(cell))
    for edge in panelling.edges:
        if (kind := kind_of_edge(edge)) not in named:
            told = edge_told(edge, panelling.offset_mm, system.pitch_mm, cells)
            named[kind] = f"{told} ({kind[1]})"
    for junction in panelling.junctions:
        if (kind := kind_of_junction(junction)) not in named:
            named[kind] = junction_told(junction)
    return named


def _asking(what: What) -> str:
    """Return the condition that a rule would need."""
    if not isinstance(what, str):
        return f", open_sides: [{', '.join(what)}]"
    return f", along: {what}" if what in ("level", "upright") else f", shape: {what}"


def _where(wall: WallShape) -> str:
    return wall.where or wall.name


def in_order(problems: Iterable[Problem]) -> tuple[Problem, ...]:
    """Drop what was said of another wall already: one missing rule, one line."""
    seen: dict[tuple[str, str], Problem] = {}
    for problem in problems:
        seen.setdefault((problem.file, problem.remedy + problem.place), problem)
    return tuple(seen.values())
