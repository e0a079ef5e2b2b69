"""Draw every part of the tool wall again: `python samples/make_meshes.py`.

Writes samples/workshop/meshes/*.stl (binary, mm) and prints what each part measures.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from manifold3d import Error
from toolwall.catalogue import PARTS
from toolwall.stl import binary_stl, triangles_of

if TYPE_CHECKING:
    from manifold3d import Manifold

MESHES = Path(__file__).parent / "workshop" / "meshes"


def main() -> None:
    """Write all meshes and print a line for each, then the size of the whole."""
    MESHES.mkdir(parents=True, exist_ok=True)
    total = 0
    for name, draw in sorted(PARTS.items()):
        solid = draw()
        if solid.status() != Error.NoError or len(solid.decompose()) != 1:
            message = f"{name}: the drawing is not one closed body ({solid.status()})"
            raise SystemExit(message)
        data = stl_of(name, solid)
        (MESHES / f"{name}.stl").write_bytes(data)
        total += len(data)
        print(_line(name, solid))
    print(f"{len(PARTS)} meshes, {total / 1e6:.2f} MB")


def stl_of(name: str, solid: Manifold) -> bytes:
    """Return a part's mesh file; the header names the part and the unit."""
    return binary_stl(triangles_of(solid), f"Tool wall of a bicycle workshop, {name}, in mm")


def _line(name: str, solid: Manifold) -> str:
    low, high = solid.bounding_box()[:3], solid.bounding_box()[3:]
    size = " x ".join(f"{top - bottom:6.2f}" for bottom, top in zip(low, high, strict=True))
    return f"{name:17} {size} mm {solid.num_tri():5} triangles {solid.volume():10.2f} mm3"


if __name__ == "__main__":
    main()
