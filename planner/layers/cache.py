"""Layerings kept on disk, found again by content: the same part and settings are laid once.

Entries are named by a SHA-256 over the posed mesh, the settings and the source of the stages
that lay it, so that another version of this package never finds them; `planner.kept` says
where they lie. One that cannot be read counts as missing and is written anew.
"""

from __future__ import annotations

from dataclasses import fields
from functools import cache
from hashlib import sha256
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from planner import kept
from planner.kept import MOST_BYTES, folder
from planner.layers.lay import lay
from planner.layers.model import FEATURES, Layering, Paths

if TYPE_CHECKING:
    from planner.settings.model import Settings
    from planner.solid.model import Posed

_NOT_LAID_BY = {"name", "origin"}


def laid(posed: Posed, settings: Settings) -> Layering:
    """Return `lay(posed, settings)`, from disk if it was laid before.

    Raises InputError as `lay` does; trouble with the disk is passed over.
    """
    place = folder()
    if place is None:
        return lay(posed, settings)
    file = place / (key(posed, settings) + kept.ENDING)
    found = load(file)
    if found is None:
        found = lay(posed, settings)
        store(file, found)
    return found


def key(posed: Posed, settings: Settings) -> str:
    """Name the content: posed mesh, settings but for their names, and the code that lays it."""
    content = sha256(_code())
    for field in fields(settings):
        if field.name not in _NOT_LAID_BY:
            content.update(f"{field.name}={_plain(getattr(settings, field.name))}\n".encode())
    for array in (posed.vertices_mm, posed.solid.triangles):
        content.update(f"{array.dtype.str}{array.shape}\n".encode())
        content.update(np.ascontiguousarray(array).tobytes())
    content.update(f"{posed.solid.closed}".encode())
    return content.hexdigest()


@cache
def _code() -> bytes:
    """Digest of the source files that decide what is laid."""
    here = Path(__file__).parent
    return kept.digest_of_code((here, here.parent / "solid"))


def _plain(value: Any) -> str:
    """Write a value of the settings in one way only."""
    if hasattr(value, "items"):
        return ",".join(sorted(f"{name}:{own!r}" for name, own in value.items()))
    return repr(value)


def store(file: Path, layering: Layering) -> None:
    """Write an entry; trouble with the disk is passed over."""
    kept.write(file, _arrays(layering), most_bytes=MOST_BYTES)


def load(file: Path) -> Layering | None:
    """Read an entry; None if there is none, or none that makes sense."""
    try:
        return _layering(kept.read(file))
    except kept.BROKEN:
        return None


_OF_LAYERING = ("z_mm", "height_mm", "area_mm2", "length_mm", "volume_mm3", "moves")
_OF_PATHS = ("points_mm", "code", "rests", "start", "kind", "section_mm2")


def _arrays(layering: Layering) -> dict[str, Any]:
    assert layering.paths is not None
    return {
        **{name: getattr(layering, name) for name in _OF_LAYERING},
        **{name: getattr(layering.paths, name) for name in _OF_PATHS},
        "thinnest_mm": np.array(layering.thinnest_mm),
        "remarks": np.array(layering.paths.remarks, dtype=np.str_),
    }


def _layering(arrays: dict[str, Any]) -> Layering:
    """Put a layering together; raises ValueError if its arrays do not fit each other."""
    paths = Paths(
        **{name: arrays[name] for name in _OF_PATHS},
        remarks=tuple(str(remark) for remark in arrays["remarks"].tolist()),
    )
    layering = Layering(
        **{name: arrays[name] for name in _OF_LAYERING},
        thinnest_mm=float(arrays["thinnest_mm"]),
        paths=paths,
    )
    if not (_fits(layering) and _walks(paths, layering.layers)):
        raise ValueError("the arrays of the entry do not fit each other")
    return layering


def _fits(layering: Layering) -> bool:
    one = (layering.z_mm, layering.height_mm, layering.area_mm2)
    two = (layering.length_mm, layering.volume_mm3, layering.moves)
    return (
        all(array.shape == (layering.layers,) for array in one)
        and all(array.shape == (layering.layers, len(FEATURES)) for array in two)
        and all(bool(np.isfinite(array).all()) for array in (*one, *two))
    )


def _walks(paths: Paths, layers: int) -> bool:
    points, kinds = len(paths.points_mm), len(paths.section_mm2)
    return (
        paths.points_mm.shape == (points, 2)
        and paths.code.shape == paths.rests.shape == (points,)
        and paths.rests.dtype == np.bool_
        and paths.start.shape == (kinds + 1,)
        and int(paths.start[-1]) == points
        and paths.kind.shape == (layers,)
        and bool(np.isfinite(paths.points_mm).all() and np.all(np.diff(paths.start) >= 0))
        and bool(np.all((paths.code >= 0) & (paths.code <= len(FEATURES))))
        and bool(np.all((paths.kind >= 0) & (paths.kind < kinds)))
    )
