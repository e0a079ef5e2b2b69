"""From loose triangles to a solid: what is put right, what is remarked, what is refused."""

from __future__ import annotations

from dataclasses import dataclass
from hashlib import sha256
from typing import TYPE_CHECKING

import numpy as np

from planner.errors import InputError, input_error
from planner.solid.bodies import settle
from planner.solid.chain import outlines, region_of, winding_area
from planner.solid.kernel import build
from planner.solid.levels import off_levels
from planner.solid.measure import extent, signed_volume
from planner.solid.model import Repair, Solid
from planner.solid.orient import Bodies, agree
from planner.solid.units import check_size
from planner.solid.weld import close_cracks, drop_unused, edges_of, tidy, weld, weld_mm

if TYPE_CHECKING:
    from planner.solid.kernel import Manifold
    from planner.solid.model import Floats, Indices
    from planner.solid.weld import Edges

FINE_SHARE, MOST_SHARE = 0.001, 0.05
"""Share of outline that may be guessed: up to the first with a remark, up to the second as
an open surface, above not at all. On measured meshes cracks need 0 %, scans 1-3 %, open
shells and loose triangles 25-43 %."""

LOOSE_SHARE = 0.9
"""Share of unpaired edges from which a mesh is a heap of triangles and no surface; trial cuts
of one take minutes (invented; cracks and missing triangles stay far below)."""

SAMPLES = 48
"""Trial cuts per axis of an open mesh; their areas also give its volume, to about 1 %."""

FEW_SAMPLES = 16
"""Trial cuts of a closed mesh, to find out whether it crosses itself."""

CROSSING_SHARE = 0.001
"""Share of volume counted twice from which it is said (invented: a tenth of a percent)."""

DIGEST_STEP_MM = 1e-6
"""Coordinates enter the digest rounded to this, far below anything a printer can make."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Judged:
    """An open mesh measured by trial cuts in three directions."""

    invented: float
    volume_mm3: float


def make_solid(
    vertices_mm: Floats,
    triangles: Indices,
    *,
    name: str,
    file: object,
    remarks: tuple[Repair, ...] = (),
) -> Solid:
    """Return the solid that loose triangles bound.

    vertices_mm: (v, 3), repeated vertices allowed; triangles: (t, 3) rows into them; `file`
    is named in refusals. Raises InputError for what bounds no volume or is too open.
    """
    vertices, triangles = drop_unused(vertices_mm, triangles)
    farthest = float(np.abs(vertices).max(initial=0.0))
    check_size(extent(vertices, triangles), farthest_mm=farthest, file=file)
    vertices, triangles = weld(vertices, triangles)
    vertices, triangles = drop_unused(vertices, tidy(triangles))
    if len(triangles) == 0:
        raise _no_volume(file, 0.0)
    vertices, triangles, edges, repairs = _cracks(vertices, triangles)
    bodies = agree(triangles, edges)
    if bodies.turned:
        text = f"turned {bodies.turned} of {len(triangles)} triangles to face as their neighbours"
        repairs += (Repair(kind="facing", text=text),)
        edges = edges_of(bodies.triangles, len(vertices))
    if edges.closed:
        made = _closed(name, vertices, bodies, (*remarks, *repairs), file=file)
        if made is not None:
            return made
    if edges.unpaired > LOOSE_SHARE * len(edges.uses):
        raise _too_open(file, f"{edges.unpaired} unpaired edges of {len(edges.uses)}")
    return _open(name, vertices, bodies, edges.unpaired, (*remarks, *repairs), file=file)


def _cracks(
    vertices: Floats, triangles: Indices
) -> tuple[Floats, Indices, Edges, tuple[Repair, ...]]:
    """Close fine cracks by joining their vertices, if that closes the surface."""
    edges = edges_of(triangles, len(vertices))
    unpaired = edges.unpaired
    made = close_cracks(vertices, triangles, edges) if unpaired else None
    if made is None:
        return vertices, triangles, edges, ()
    vertices, triangles, reach = made
    edges = edges_of(triangles, len(vertices))
    if reach <= 4 * weld_mm(vertices):  # rounding of the file, nothing to speak of
        return vertices, triangles, edges, ()
    text = f"closed cracks ({unpaired} unpaired edges) by joining vertices up to {reach:.2g} mm"
    return vertices, triangles, edges, (Repair(kind="cracks", text=text),)


def _closed(
    name: str, vertices: Floats, bodies: Bodies, repairs: tuple[Repair, ...], *, file: object
) -> Solid | None:
    """Settle the bodies of a closed mesh; None if the geometry kernel finds it unsound."""
    vertices, triangles, more = settle(vertices, bodies)
    volume = signed_volume(vertices, triangles)
    if not volume > 1e-9 * float(np.ptp(vertices, axis=0).prod()):
        raise _no_volume(file, volume)
    body = build(vertices, triangles)
    if body is None or not 0.999 < body.volume() / volume < 1.001:
        return None
    doubled = counted_twice(vertices, triangles, body)
    if doubled > CROSSING_SHARE:
        text = (
            f"the surface crosses itself: about {100 * doubled:.2g} % of the volume lies in it "
            f"twice; the volume is estimated from cuts ({volume:.6g} mm3 by the surface)"
        )
        more, volume = (*more, Repair(kind="crossing", text=text)), volume / (1 + doubled)
    return _solid(name, vertices, triangles, volume, (*repairs, *more))


def counted_twice(vertices: Floats, triangles: Indices, body: Manifold) -> float:
    """Return the volume that a surface winds round more than once, over the true volume.

    Measured on level cuts: area by the sense of the rings (shoelace) against the area that
    the rings cover. 0 for a sound surface, whose cuts are the same both ways.
    """
    heights = _trial_heights(vertices, FEW_SAMPLES)
    winding = sum(winding_area(cut) for cut in outlines(vertices, triangles, heights))
    covered = sum(body.slice(height).area() for height in heights.tolist())
    return winding / covered - 1 if covered > 0 else 0.0


def _trial_heights(vertices: Floats, count: int) -> Floats:
    """Return the middles of `count` equal slabs, moved off the vertex levels."""
    levels = np.unique(vertices[:, 2])
    step = (levels[-1] - levels[0]) / count
    return off_levels(levels[0] + step * (np.arange(count) + 0.5), levels)


def _open(
    name: str,
    vertices: Floats,
    bodies: Bodies,
    unpaired: int,
    repairs: tuple[Repair, ...],
    *,
    file: object,
) -> Solid:
    """Judge an open mesh by its cuts; refuse it or accept it as a solid that is not closed."""
    triangles = bodies.triangles
    judged = judge(vertices, triangles)
    if judged.invented > MOST_SHARE:
        guessed = f"{100 * judged.invented:.0f} % of the outline would be guessed"
        raise _too_open(file, f"{unpaired} unpaired edges; {guessed}")
    if not judged.volume_mm3 > 1e-6 * float(np.ptp(vertices, axis=0).prod()):
        raise _no_volume(file, judged.volume_mm3)
    by_facets = signed_volume(vertices, triangles)
    if by_facets < 0:
        triangles, by_facets = triangles[:, ::-1].copy(), -by_facets
    agrees = abs(by_facets - judged.volume_mm3) < 0.02 * judged.volume_mm3
    share = f"{unpaired} unpaired edges; {100 * judged.invented:.2g} % of the outline is guessed"
    fine = judged.invented <= FINE_SHARE
    repair = Repair(
        kind="cracks" if fine else "open surface",
        text=f"the surface is open: {share}" + ("" if fine else "; look at the part's layers"),
    )
    return _solid(
        name,
        vertices,
        triangles,
        by_facets if agrees else judged.volume_mm3,
        (*repairs, repair),
        closed=False,
        invented=judged.invented,
    )


def judge(vertices: Floats, triangles: Indices) -> Judged:
    """Cut a mesh along x, y and z and add up what of its outlines would be guessed.

    The volume is the median of the three sums of area times spacing (midpoint rule); it is
    left at 0 where so much would be guessed that the mesh is refused.
    """
    turned = [np.roll(vertices, -1 - axis, axis=1) for axis in range(3)]
    cuts = [outlines(each, triangles, _trial_heights(each, SAMPLES)) for each in turned]
    outline = sum(cut.length_mm for along in cuts for cut in along)
    invented = sum(cut.invented_mm for along in cuts for cut in along)
    share = invented / outline if outline else 1.0
    if share > MOST_SHARE:
        return Judged(invented=share, volume_mm3=0.0)
    volumes = [
        sum(region_of(cut).area() for cut in along) * float(np.ptp(each[:, 2])) / SAMPLES
        for each, along in zip(turned, cuts, strict=True)
    ]
    return Judged(invented=share, volume_mm3=float(np.median(volumes)))


def _solid(
    name: str,
    vertices: Floats,
    triangles: Indices,
    volume: float,
    repairs: tuple[Repair, ...],
    *,
    closed: bool = True,
    invented: float = 0.0,
) -> Solid:
    return Solid(
        name=name,
        vertices_mm=vertices,
        triangles=triangles.astype(np.int32),
        closed=closed,
        volume_mm3=volume,
        repairs=repairs,
        invented=invented,
        digest=digest_of(vertices, triangles, closed=closed),
    )


def digest_of(vertices: Floats, triangles: Indices, *, closed: bool) -> str:
    """Return the SHA-256 of a mended mesh, in hexadecimal.

    Hashed: a format mark with the state, the vertex count, all coordinates as little-endian
    64-bit integers in steps of `DIGEST_STEP_MM`, the triangles as 32-bit integers. Neither
    the name nor the file format matters, the order of vertices and triangles does.
    """
    steps = np.rint(vertices / DIGEST_STEP_MM).astype("<i8")
    mark = f"solid/1 closed={closed} vertices={len(vertices)};".encode()
    return sha256(mark + steps.tobytes() + triangles.astype("<i4").tobytes()).hexdigest()


def _too_open(file: object, found: str) -> InputError:
    return input_error(
        file,
        found=f"an open surface: {found}",
        expected="a closed surface",
        remedy="close the model and export it again",
    )


def _no_volume(file: object, volume: float) -> InputError:
    return input_error(
        file,
        found=f"a surface that encloses no volume ({volume:.3g} mm3)",
        expected="a solid body",
        remedy="export the solid itself, with walls of some thickness",
    )
