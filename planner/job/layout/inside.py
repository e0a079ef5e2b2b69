"""Walls inside a job: their parts must be parts or assemblies of the job."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner.document.files import remedy_for_missing, why_no_file
from planner.document.wording import shown, suggestion
from planner.errors import Problem
from planner.job.layout.form import WallsForm
from planner.job.layout.load import load_walls, walls_of

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from planner.job.faults import Faults
    from planner.job.layout.model import Walls


def walls_in_job(given: WallsForm | str | None, path: Path, faults: Faults) -> Walls | None:
    """Return the walls of the job file `path`, written out in it or in a file of their own.

    None if there are none, or with the reason noted.
    """
    if given is None:
        return None
    if isinstance(given, WallsForm):
        walls = walls_of(given, "wall.", path, faults)
    else:
        walls = _from_file(given, path.parent, faults)
    if walls is not None:
        _check_parts(walls, faults)
    return walls


def _from_file(text: str, folder: Path, faults: Faults) -> Walls | None:
    path = folder / text
    why = why_no_file(path)
    if why:
        faults.add(
            "wall",
            found=f"{shown(text)}, {why}",
            expected="a wall file, its path starting from the job's folder",
            remedy=remedy_for_missing(path),
        )
        return None
    with faults.noting():
        return load_walls(path)
    return None


def _check_parts(walls: Walls, faults: Faults) -> None:
    """Note names in the walls that are no part or assembly of the job, nor bought; or both."""
    data = faults.document.data
    known = [name for key in ("parts", "assemblies") for name in _keys(data.get(key))]
    bought = {rule.part for rule in walls.system.rules if rule.bought}
    if not known:  # then every name would be unknown, and that has been told
        return
    told = set[str]()
    for rule in walls.system.rules:
        if rule.bought and rule.part in known and rule.part not in told:
            told.add(rule.part)
            faults.found.append(_both(rule.part, rule.where, faults.document.file))
    for thing, where, or_else in _named(walls):
        if thing not in known and thing not in bought and thing not in told:
            told.add(thing)
            faults.found.append(
                Problem(
                    file=where,
                    found=f"the unknown part {shown(thing)}",
                    expected=f"a part or an assembly of {faults.document.file}",
                    remedy=(suggestion(thing, known) if faults.few else "correct the name")
                    + or_else,
                )
            )


def _both(part: str, where: str, job: str) -> Problem:
    """Return the fault of a part that would be counted and never printed, though it could be."""
    return Problem(
        file=where,
        found=f"bought: true for {shown(part)}, which {job} prints",
        expected="a part that is bought, or one that is printed",
        remedy="remove bought: true here, or the part from the job; or give one another name",
    )


def _keys(value: object) -> list[str]:
    return list(value) if isinstance(value, dict) else []


def _named(walls: Walls) -> Iterator[tuple[str, str, str]]:
    """Yield every part or assembly that the walls name, where, and what else to do about it."""
    for rule in walls.system.rules:
        if rule.part is not None:
            yield rule.part, rule.where, " (if it is not printed, add bought: true)"
    for wall in walls.walls:
        for each in wall.hung:
            yield each.thing, each.where, ""
    for thing in walls.extra:
        yield thing, walls.where_extra, ""
