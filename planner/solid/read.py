"""Read a mesh file of any known kind and make a solid of it, in millimetres."""

from __future__ import annotations

from stat import S_ISDIR, S_ISREG
from typing import TYPE_CHECKING

import numpy as np

from planner.errors import InputError, input_error
from planner.solid import limits
from planner.solid.loose import Loose
from planner.solid.measure import extent
from planner.solid.mend import make_solid
from planner.solid.obj import read_obj
from planner.solid.off import read_off
from planner.solid.stl import read_stl
from planner.solid.units import MM_PER_UNIT, scale_remark, short_unit

if TYPE_CHECKING:
    from pathlib import Path

    from planner.solid.model import Floats, Solid


def read_solid(path: Path, *, unit: str | None = None, name: str | None = None) -> Solid:
    """Return the solid in a mesh file (.stl .obj .3mf .ply .off), in mm.

    `unit` is the unit it is drawn in: needed where the format states none and millimetres
    are not meant. `name` defaults to the file's stem. What was put right stands in
    `repairs`. Raises InputError, naming the file, for whatever cannot be read or trusted.
    """
    loose = _load(path)
    _check_numbers(loose, path)
    drawn_in = _unit(loose, unit, path)
    vertices = loose.vertices * MM_PER_UNIT[drawn_in]
    size = extent(loose.vertices, loose.triangles)
    scale = scale_remark(size, unit=drawn_in, stated=bool(unit or loose.unit))
    return make_solid(
        vertices,
        loose.triangles,
        name=name or path.stem,
        file=path,
        remarks=(*loose.remarks, *((scale,) if scale else ())),
    )


def _load(path: Path) -> Loose:
    """Read the bytes and hand them to the reader of the file's extension."""
    kind = path.suffix.lower()
    if kind not in {".stl", ".3mf", ".obj", ".ply", ".off"}:
        raise input_error(
            path,
            found=f"the extension {kind!r}",
            expected="a mesh: .stl, .3mf, .obj, .ply or .off",
            remedy="export the part as a mesh, 3MF or binary STL best",
        )
    data = _bytes(path)
    if kind == ".stl":
        return _numbered(read_stl(data, file=path))
    if kind == ".3mf":
        from planner.solid.threemf import read_3mf  # noqa: PLC0415  XML only where needed

        return read_3mf(data, file=path)
    if kind == ".obj":
        return read_obj(data, file=path)
    if kind == ".off":
        return read_off(data, file=path)
    from planner.solid.ply import read_ply  # noqa: PLC0415  trimesh takes 0.5 s to import

    return read_ply(data, file=path)


def _numbered(corners: Floats) -> Loose:
    """Give each corner of loose triangles (t, 3, 3) its own number; welding joins them."""
    count = np.arange(3 * len(corners), dtype=np.int32)
    return Loose(vertices=corners.reshape(-1, 3), triangles=count.reshape(-1, 3))


def _bytes(path: Path) -> bytes:
    """Return what an ordinary file holds; pipes and devices may never end, so none is opened."""
    try:
        status = path.stat()
        if not S_ISREG(status.st_mode):
            raise _no_file(path, "a directory" if S_ISDIR(status.st_mode) else "a pipe or device")
        if status.st_size > limits.MOST_BYTES:
            raise _too_large(path, f"{status.st_size / 1e6:.0f} MB")
        with path.open("rb") as stream:
            data = stream.read(status.st_size)
    except OSError as error:
        raise _no_file(path, f"no readable file ({error.strerror})") from None
    except ValueError:  # a path with a NUL character
        raise _no_file(path, "a path that no file can have") from None
    if not data:
        raise input_error(path, found="an empty file", expected="a mesh", remedy="export it again")
    return data


def _no_file(path: Path, found: str) -> InputError:
    return input_error(
        path,
        found=found,
        expected="a mesh file",
        remedy="correct the path, or the file's permissions",
    )


def _too_large(path: Path, found: str) -> InputError:
    return input_error(
        path,
        found=found,
        expected=f"at most {limits.MOST_BYTES / 1e6:.0f} MB and {limits.MOST_TRIANGLES} triangles",
        remedy="export it with a coarser tolerance, such as 0.01 mm",
    )


def _check_numbers(loose: Loose, path: Path) -> None:
    """Refuse meshes without triangles, with too many, or with numbers that are none."""
    count = len(loose.triangles)
    if count == 0:
        raise input_error(
            path, found="no triangles", expected="a mesh", remedy="export the solid body"
        )
    if count > limits.MOST_TRIANGLES:
        raise _too_large(path, f"{count} triangles")
    largest = np.abs(loose.vertices).max(axis=1, initial=0.0)
    wrong = np.flatnonzero(~(largest <= limits.MOST_COORDINATE))
    if len(wrong):
        row = int(np.argmax(np.isin(loose.triangles, wrong).any(axis=1)))
        raise input_error(
            path,
            place=f"triangle {row + 1}",
            found=f"a coordinate that is no finite number or beyond all measure "
            f"(in {len(wrong)} vertices)",
            expected=f"finite coordinates below {limits.MOST_COORDINATE:g}",
            remedy="the file is damaged: export it again",
        )
    lowest, highest = int(loose.triangles.min()), int(loose.triangles.max())
    if lowest < 0 or highest >= len(loose.vertices):
        raise input_error(
            path,
            found=f"a triangle that uses vertex {highest + 1 if lowest >= 0 else lowest}",
            expected=f"one of the {len(loose.vertices)} vertices",
            remedy="the file is damaged: export it again",
        )


def _unit(loose: Loose, wanted: str | None, path: Path) -> str:
    """Return the unit to read the file in; a contradiction is refused."""
    given = short_unit(wanted, file=path) if wanted is not None else None
    if loose.unit is not None and given is not None and given != loose.unit:
        raise input_error(
            path,
            found=f"the unit {loose.unit} in the file",
            expected=f"{given}, as asked for",
            remedy="take `unit` away, or correct it",
        )
    return given or loose.unit or "mm"
