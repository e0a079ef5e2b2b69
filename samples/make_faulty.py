"""Make meshes that are wrong in one way each: `python samples/make_faulty.py`.

Writes samples/faulty/meshes/ (what is wrong with each is told in samples/faulty/README.md)
and samples/formats/ (one sound part in every form that can be read).
"""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from manifold3d import Manifold
from toolwall import package, texts
from toolwall.catalogue import PARTS
from toolwall.stl import binary_stl, triangles_of

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

    Triangles = NDArray[np.float32]

HERE = Path(__file__).parent
INFINITY_LITTLE_ENDIAN = b"\x00\x00\x80\x7f"
SEED = 20261127  # any number: the crumbs and the soup shall be the same each time


def main() -> None:
    """Write both folders and print the size of each file."""
    write(HERE / "faulty" / "meshes", faulty())
    write(HERE / "formats", sound())


def write(folder: Path, files: Mapping[str, bytes]) -> None:
    """Write named contents into a folder."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, data in sorted(files.items()):
        (folder / name).write_bytes(data)
        print(f"{folder.name}/{name:26} {len(data):7} bytes")


def faulty() -> dict[str, bytes]:
    """Return the faulty files by name."""
    return {**_surfaces(), **_sizes(), **_broken_files(), **_packages()}


def sound() -> dict[str, bytes]:
    """Return one hanger in every form; all describe the same body in mm."""
    part = triangles_of(PARTS["hanger"]())
    return {
        "hanger.stl": stl(part, "hanger, in mm"),
        "hanger_text.stl": texts.ascii_stl({"hanger": part}),
        "hanger_solid_header.stl": stl(part, "solid hanger, but binary all the same"),
        "hanger.obj": texts.obj(part),
        "hanger.ply": texts.ply(part),
        "hanger.off": texts.off(part),
        "hanger.3mf": package.three_mf(package.model(part, unit="millimeter")),
        "hanger_in_inches.3mf": package.three_mf(package.model(part / 25.4, unit="inch")),
    }


def stl(corners: Triangles, header: str) -> bytes:
    """Return a binary STL of triangles in single precision."""
    return binary_stl(corners.astype(np.float32), header)


def _surfaces() -> dict[str, bytes]:
    """Return meshes whose surface is not that of one sound body."""
    return {
        "open_box.stl": stl(open_box(), "cube with one side missing"),
        "cracked.stl": stl(cracked(), "half panel with cracks of 0.01 mm"),
        "small_hole.stl": stl(small_hole(), "key with one small triangle missing"),
        "inside_out.stl": stl(triangles_of(PARTS["key"]())[:, ::-1], "key, inside out"),
        "half_inside_out.stl": stl(half_turned(), "key, every third triangle turned"),
        "overlapping_bodies.stl": stl(overlapping(), "two boxes, one partly in the other"),
        "touching_edge.stl": stl(touching(), "two cubes that share one edge"),
        "flat_sheet.stl": stl(flat_sheet(), "a sheet seen from both sides"),
        "soup.stl": stl(soup(), "triangles anywhere"),
        "crumbs.stl": stl(with_crumbs(), "key, with triangles of no area"),
        "thin_wall.stl": stl(thin_wall(), "box with walls of 0.3 mm"),
    }


def _sizes() -> dict[str, bytes]:
    """Return sound bodies in the wrong unit or of the wrong size."""
    panel, hook = triangles_of(PARTS["panel"]()), triangles_of(PARTS["hook_single"]())
    return {
        "in_inches.stl": stl(panel / 25.4, "panel, drawn in inches"),
        "in_metres.stl": stl(hook / 1000, "hook, drawn in metres"),
        "too_large.stl": stl(triangles_of(box((0, 0, 0), (450, 30, 30))), "bar, 450 mm long"),
    }


def _broken_files() -> dict[str, bytes]:
    """Return files that do not hold what their name promises."""
    key = triangles_of(PARTS["key"]())
    whole = stl(key, "key")
    text = texts.ascii_stl({"key": key})
    return {
        "empty.stl": b"",
        "no_triangles.stl": stl(key[:0], "no triangle at all"),
        "truncated.stl": whole[: len(whole) // 2],
        "infinite.stl": whole[:200] + INFINITY_LITTLE_ENDIAN + whole[204:],
        "nan_text.stl": re.sub(rb"vertex \S+", b"vertex nan", text, count=1),
        "word_text.stl": re.sub(rb"vertex \S+", b"vertex six", text, count=1),
        "cut_text.stl": text[:-400],
        "several_solids.stl": texts.ascii_stl({"key": key, "other key": key + 20}),
        "web_page.stl": texts.WEB_PAGE,
        "missing_corner.obj": texts.obj(key).replace(b"f 1 ", b"f 9999 ", 1),
        "short.off": texts.off(key)[:200],
    }


def _packages() -> dict[str, bytes]:
    """Return 3MF files that must be refused without being unpacked in good faith."""
    key = triangles_of(PARTS["key"]())
    return {
        "empty.3mf": b"",
        "not_a_package.3mf": texts.WEB_PAGE,
        "no_model.3mf": package.three_mf(None),
        "bomb.3mf": package.three_mf(package.padded(package.model(key), 120_000_000)),
        "entity_outside.3mf": package.three_mf(package.outside_entity(package.model(key))),
        "entity_growing.3mf": package.three_mf(package.growing_entity(package.model(key))),
        "unknown_unit.3mf": package.three_mf(package.model(key, unit="furlong")),
    }


def box(low: tuple[float, float, float], high: tuple[float, float, float]) -> Manifold:
    """Return a box from two corners."""
    size = tuple(b - a for a, b in zip(low, high, strict=True))
    return Manifold.cube(size).translate(low)


def open_box() -> Triangles:
    """Return a cube of 40 mm without its +x side: level cuts lack a quarter of their line."""
    cube = triangles_of(box((0, 0, 0), (40, 40, 40)))
    return cube[~(cube[:, :, 0] == 40).all(axis=1)]


def cracked() -> Triangles:
    """Return a half panel whose triangles each sit up to 5 um off: cracks of 0.01 mm."""
    part = triangles_of(PARTS["panel_half"]())
    shift = np.random.default_rng(SEED).uniform(-0.005, 0.005, (len(part), 1, 3))
    return part + shift


def small_hole() -> Triangles:
    """Return a finely divided key without one triangle of about 1 mm in an upright side."""
    fine = triangles_of(PARTS["key"]().refine_to_length(1.0))
    upright = np.ptp(fine[:, :, 2], axis=1) > 0.1
    middle = np.abs(fine.mean(axis=1) - (6.8, 8.8, 1.4)).sum(axis=1)
    return np.delete(fine, np.argmin(np.where(upright, middle, np.inf)), axis=0)


def half_turned() -> Triangles:
    """Return a key of which every third triangle faces the wrong way."""
    key = triangles_of(PARTS["key"]()).copy()
    key[::3] = key[::3, ::-1]
    return key


def overlapping() -> Triangles:
    """Return two boxes, 144 000 and 108 000 mm3, that together fill a cube of 216 000 mm3."""
    lower, upper = box((0, 0, 0), (60, 60, 40)), box((0, 0, 30), (60, 60, 60))
    return np.concatenate([triangles_of(lower), triangles_of(upper)])


def touching() -> Triangles:
    """Return two cubes of 20 mm in contact along one upright edge."""
    first, second = box((0, 0, 0), (20, 20, 20)), box((20, 20, 0), (40, 40, 20))
    return np.concatenate([triangles_of(first), triangles_of(second)])


def flat_sheet() -> Triangles:
    """Return a square of no thickness, closed in that each triangle has its opposite."""
    a, b, c, e = (0, 0, 0), (30, 0, 0), (30, 30, 0), (0, 30, 0)
    front = np.array([(a, b, c), (a, c, e)], dtype=np.float32)
    return np.concatenate([front, front[:, ::-1]])


def soup() -> Triangles:
    """Return 150 triangles of about 10 mm that share no edge."""
    random = np.random.default_rng(SEED)
    centres = random.uniform(0, 50, (150, 1, 3))
    return (centres + random.uniform(-6, 6, (150, 3, 3))).astype(np.float32)


def with_crumbs() -> Triangles:
    """Return a key with ten triangles that have shrunk to a line or a point."""
    key = triangles_of(PARTS["key"]())
    lines = key[:10].copy()
    lines[:, 2] = lines[:, 1]
    return np.concatenate([key, lines])


def thin_wall() -> Triangles:
    """Return an open box of 40 mm, closed as a body, with walls of 0.3 mm."""
    outside = box((0, 0, 0), (40, 40, 30))
    return triangles_of(outside - box((0.3, 0.3, 0.9), (39.7, 39.7, 40)))


if __name__ == "__main__":
    main()
