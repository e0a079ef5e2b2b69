"""Orientations kept on disk, found again by content: the same part and loads are solved once.

Entries are named by a SHA-256 over the mesh, the loads, the material with its walls and
filling, the pace, and the source of the stages that work it out; `planner.kept` says where
they lie. Stress fields are not kept: what is told and drawn is.
"""

from __future__ import annotations

import json
from dataclasses import asdict, replace
from functools import cache
from hashlib import sha256
from importlib.metadata import version
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from planner import kept
from planner.strength.model import Direction, Orientation, Painted, Resolution, SectionCheck

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner.job.model import Face, LoadCase
    from planner.solid.model import Solid
    from planner.strength.directions import Room
    from planner.strength.hours import Pace
    from planner.strength.material import Printed

_PREFIX = "strength-"


def oriented(
    solid: Solid,
    cases: Sequence[LoadCase],
    material: Printed,
    *,
    up: tuple[float, float, float],
    visible: Sequence[Face] = (),
    pace: Pace | None = None,
    rooms: Sequence[Room] = (),
) -> Orientation:
    """Return `orient(...)` without its fields, from disk if it was worked out before.

    Raises InputError as `orient` does; trouble with the disk is passed over.
    """
    from planner.strength.orient import orient  # noqa: PLC0415  (loads scipy)

    asked: dict[str, Any] = {"up": up, "visible": visible, "pace": pace, "rooms": rooms}
    place = kept.folder()
    if place is None:
        return replace(orient(solid, cases, material, **asked), fields=())
    file = place / (_PREFIX + key(solid, cases, material, **asked) + kept.ENDING)
    found = load(file)
    if found is None:
        found = replace(orient(solid, cases, material, **asked), fields=())
        kept.write(file, _arrays(found))
    return found


def key(solid: Solid, cases: Sequence[LoadCase], material: Printed, **asked: Any) -> str:
    """Name the content; where in a file a load was written does not matter, nor does its part."""
    content = sha256(_code())
    bare = [replace(case, where="") for case in cases]
    for value in (bare, material, sorted(asked.items())):
        content.update(f"{value!r}\n".encode())
    for array in (solid.vertices_mm, solid.triangles):
        content.update(f"{array.dtype.str}{array.shape}\n".encode())
        content.update(np.ascontiguousarray(array).tobytes())
    content.update(f"{solid.closed}".encode())
    return content.hexdigest()


@cache
def _code() -> bytes:
    """Digest of the source files that decide the result."""
    here = Path(__file__).parent
    return kept.digest_of_code((here, here.parent / "solid"), version("scipy"))


def load(file: Path) -> Orientation | None:
    """Read an entry; None if there is none, or none that makes sense."""
    try:
        return _orientation(kept.read(file))
    except (*kept.BROKEN, IndexError, AttributeError):
        return None


_PAINTED = ("facets_mm", "given_mpa", "practical_mpa")


def _arrays(found: Orientation) -> dict[str, Any]:
    names = {"as_given": found.as_given, "practical": found.practical}
    words = {
        "directions": [asdict(one) for one in found.directions],
        **{name: found.directions.index(one) for name, one in names.items()},
        "lost": found.lost,
        "cost": found.cost,
        "reason": found.reason,
        "section": asdict(found.section),
        "warnings": found.warnings,
        "resolution": asdict(found.resolution),
        "moves_mm": found.moves_mm,
        "assumptions": found.assumptions,
    }
    return {
        "words": np.frombuffer(json.dumps(words).encode(), dtype=np.uint8),
        **{name: getattr(found.painted, name) for name in _PAINTED},
    }


def _orientation(arrays: dict[str, Any]) -> Orientation:
    """Put an orientation together; raises ValueError, KeyError or TypeError for nonsense."""
    words = json.loads(arrays["words"].tobytes())
    directions = tuple(_direction(each) for each in words["directions"])
    return Orientation(
        directions=directions,
        as_given=directions[words["as_given"]],
        practical=directions[words["practical"]],
        lost=float(words["lost"]),
        cost=float(words["cost"]),
        reason=str(words["reason"]),
        section=SectionCheck(**words["section"]),
        warnings=tuple(words["warnings"]),
        resolution=Resolution(**words["resolution"]),
        moves_mm=tuple(words["moves_mm"]),
        painted=_painted(arrays),
        assumptions=tuple(words["assumptions"]),
    )


def _direction(given: dict[str, Any]) -> Direction:
    lists = ("up", "safety_range", "weakest_mm")
    return Direction(**{**given, **{name: tuple(given[name]) for name in lists}})


def _painted(arrays: dict[str, Any]) -> Painted:
    found = Painted(**{name: arrays[name] for name in _PAINTED})
    facets = len(found.facets_mm)
    if not (
        found.facets_mm.shape == (facets, 3, 3)
        and found.given_mpa.shape == found.practical_mpa.shape == (facets,)
        and all(np.isfinite(getattr(found, name)).all() for name in _PAINTED)
    ):
        raise ValueError("the arrays of the entry do not fit each other")
    return found
