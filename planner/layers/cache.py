"""Layerings kept on disk, found again by content: the same part and settings are laid once.

Entries are numpy archives without pickled objects, named by a SHA-256 over the posed mesh,
the settings and the source of the stages that lay it, so that another version of this
package never finds them. They lie under $PLATEWRIGHT_CACHE (set but
empty: nothing is kept) or ~/.cache/platewright. An entry is written beside its place and
then moved there, so that no reader sees half of one; one that cannot be read counts as
missing and is written anew; where nothing can be written, nothing is kept. The oldest
entries go when all together pass a bound.
"""

from __future__ import annotations

import contextlib
import os
import tempfile
import zipfile
import zlib
from dataclasses import fields
from functools import cache
from hashlib import sha256
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from planner.layers.lay import lay
from planner.layers.model import FEATURES, Layering, Paths

if TYPE_CHECKING:
    from planner.settings.model import Settings
    from planner.solid.model import Posed

PLACE = "PLATEWRIGHT_CACHE"
"""Environment variable that names the folder."""

MOST_BYTES = 512 * 1024 * 1024
_ENDING = ".npz"
_NOT_LAID_BY = {"name", "origin"}
_BROKEN = (
    OSError,
    ValueError,
    KeyError,
    EOFError,
    TypeError,  # one array in the place of an archive
    MemoryError,  # a header that asks for absurdly much
    zipfile.BadZipFile,
    zlib.error,
)


def laid(posed: Posed, settings: Settings) -> Layering:
    """Return `lay(posed, settings)`, from disk if it was laid before.

    Raises InputError as `lay` does; trouble with the disk is passed over.
    """
    place = folder()
    if place is None:
        return lay(posed, settings)
    file = place / (key(posed, settings) + _ENDING)
    found = load(file)
    if found is None:
        found = lay(posed, settings)
        store(file, found)
    return found


def folder() -> Path | None:
    """Return where entries lie, or None if none are to be kept."""
    named = os.environ.get(PLACE)
    if named is not None:
        return Path(named) if named else None
    try:
        return Path.home() / ".cache" / "platewright"
    except RuntimeError:  # a user without a home
        return None


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
    content = sha256(np.__version__.encode())
    here = Path(__file__).parent
    for stage in (here, here.parent / "solid"):
        for file in sorted(stage.glob("*.py")):
            content.update(file.name.encode() + file.read_bytes())
    return content.digest()


def _plain(value: Any) -> str:
    """Write a value of the settings in one way only."""
    if hasattr(value, "items"):
        return ",".join(sorted(f"{name}:{own!r}" for name, own in value.items()))
    return repr(value)


def store(file: Path, layering: Layering) -> None:
    """Write an entry and drop the oldest ones over the bound; trouble is passed over."""
    with contextlib.suppress(OSError):
        file.parent.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(dir=file.parent, suffix=".part")
        try:
            with os.fdopen(handle, "wb") as stream:
                np.savez(stream, **_arrays(layering))
            Path(name).replace(file)
        except BaseException:
            Path(name).unlink(missing_ok=True)
            raise
        _prune(file.parent)


def load(file: Path) -> Layering | None:
    """Read an entry; None if there is none, or none that makes sense."""
    try:
        with file.open("rb") as stream, np.load(stream, allow_pickle=False) as archive:
            arrays = {name: archive[name] for name in archive.files}
        return _layering(arrays)
    except _BROKEN:
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


def _prune(place: Path) -> None:
    """Drop the entries that were written longest ago until the rest keep the bound."""
    entries = sorted(
        ((file.stat().st_mtime_ns, file.name, file.stat().st_size) for file in place.iterdir()),
        reverse=True,
    )
    total = 0
    for _, name, size in entries:
        total += size
        if total > MOST_BYTES and name.endswith((_ENDING, ".part")):
            (place / name).unlink(missing_ok=True)
