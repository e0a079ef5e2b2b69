"""Paths of an invented plate, laid by the plainest means, and what is true of them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from shapely import MultiLineString, Polygon, affinity, intersection_all, union_all

EMPTY = Polygon()


@dataclass(frozen=True, kw_only=True)
class Path:
    """One line laid without a stop; `rise` spreads z along it (a spiral)."""

    kind: str
    points: np.ndarray
    section: float
    rise: float = 0.0


@dataclass(frozen=True, kw_only=True)
class Layer:
    """Paths between two true heights."""

    low: float
    top: float
    paths: list


@dataclass(frozen=True, kw_only=True)
class Laid:
    """Layers of one part (or of its raft), with the sparse fill's volume and room."""

    layers: list
    sparse_mm3: float
    room_mm3: float
    thin: bool


def polygons(area):
    """Polygons of an area, specks left out."""
    parts = getattr(area, "geoms", [area])
    return [p for p in parts if isinstance(p, Polygon) and p.area > 0.05]


def inset(area, by):
    return area.buffer(-by, join_style="mitre", mitre_limit=3.0)


def loops(area, kind, section):
    """Rings around an area, outside and holes."""
    found = []
    for polygon in polygons(area):
        rings = [ring for ring in (polygon.exterior, *polygon.interiors) if ring.length > 1.0]
        found += [Path(kind=kind, points=np.array(r.coords), section=section) for r in rings]
    return found


def hatch(area, spacing, degrees, *, kind, section, joined=False, phase=0.0):
    """Parallel lines in an area, at absolute places so that layers agree."""
    area = affinity.rotate(area, -degrees, origin=(0, 0))
    if area.is_empty:
        return []
    left, low, right, high = area.bounds
    first = np.ceil((low - phase) / spacing)
    ys = np.arange(first, np.floor((high - phase) / spacing) + 1) * spacing + phase
    lines = MultiLineString([[(left - 1, y), (right + 1, y)] for y in ys])
    cut = lines.intersection(area)
    rows = [np.array(line.coords) for line in getattr(cut, "geoms", [cut]) if line.length > 0.2]
    rows = [row for row in rows if len(row) == 2]
    rows.sort(key=lambda row: (round(row[0, 1], 6), row[0, 0]))
    rows = [row if i % 2 else row[::-1] for i, row in enumerate(rows)]
    chains = _joined(rows, spacing) if joined else rows
    angle = np.radians(degrees)
    turn = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])
    return [Path(kind=kind, points=chain @ turn.T, section=section) for chain in chains]


def _joined(rows, spacing):
    chains = []
    for row in rows:
        if chains and np.hypot(*(chains[-1][-1] - row[0])) < 1.8 * spacing:
            chains[-1] = np.vstack([chains[-1], row])
        else:
            chains.append(row)
    return chains


def waves(area, spacing, *, kind, section, upright):
    """Wavy lines, along x or y."""
    left, low, right, high = area.bounds
    along = np.arange((left if not upright else low) - 1, (right if not upright else high) + 1, 0.7)
    across = np.arange(
        np.floor((low if not upright else left) / spacing),
        np.ceil((high if not upright else right) / spacing) + 1,
    )
    lines = []
    for k in across:
        bent = k * spacing + 0.25 * spacing * np.sin(2 * np.pi * along / (2 * spacing))
        lines.append(np.column_stack([bent, along] if upright else [along, bent]))
    cut = MultiLineString(lines).intersection(area)
    return [
        Path(kind=kind, points=np.array(line.coords), section=section)
        for line in getattr(cut, "geoms", [cut])
        if line.length > 0.5
    ]


def shrinking(area, first, spacing, *, kind, section):
    """Rings inward, from the border on."""
    found, by = [], first
    while True:
        rings = loops(inset(area, by), kind, section)
        if not rings:
            return found
        found += rings
        by += spacing


def tops_of(recipe, height):
    """Upper ends of all layers of a part, true heights."""
    if recipe.heights:
        tops = np.cumsum(recipe.heights)
        return tops[tops < height + 1e-6]
    count = round((height - recipe.first) / recipe.layer) + 1
    return recipe.first + recipe.layer * np.arange(count)


def lay(shape, recipe, random):
    """Lay one part."""
    tops = tops_of(recipe, shape.height)
    lows = np.append(0.0, tops[:-1])
    cuts = [shape.cut(z) for z in (tops + lows) / 2]
    layers, volume, room, open_somewhere = [], 0.0, 0.0, False
    for i, (low, top) in enumerate(zip(lows, tops, strict=True)):
        if recipe.spiral and i >= recipe.bottom:
            section = recipe.section(recipe.width, top - low) * recipe.flow
            ring = loops(inset(cuts[i], recipe.width / 2), "outer", section)[0]
            ring = Path(kind="outer", points=_fine(ring.points), section=section, rise=top - low)
            layers.append(Layer(low=low, top=top, paths=[ring]))
            continue
        paths, inside = _walls(cuts[i], recipe, i, top - low, random)
        solid, sparse = _skins(cuts, i, inside, recipe)
        paths += _solid(solid, recipe, i, top - low)
        laid = _sparse(sparse, recipe, i, top - low)
        kept = sparse if recipe.infill < 1 else EMPTY
        volume += sum(_length(p.points) * p.section for p in laid) / recipe.flow
        room += kept.area * (top - low)
        open_somewhere |= not inset(inside, 0.5).is_empty
        paths += laid
        if recipe.ironing and i == len(tops) - 1:
            paths += hatch(
                inset(cuts[i], recipe.width), 0.1, 0, kind="iron", section=0.15 * 0.1 * (top - low)
            )
        layers.append(Layer(low=low, top=top, paths=paths))
    if recipe.support:
        _add_support(layers, cuts, recipe)
    if recipe.brim:
        _add_brim(layers[0], cuts[0], recipe)
    return Laid(layers=layers, sparse_mm3=volume, room_mm3=room, thin=not open_somewhere)


def _length(points):
    return float(np.hypot(*np.diff(points, axis=0).T).sum())


def _fine(points, step=1.0):
    """Points about a step apart along a line."""
    along = np.append(0.0, np.cumsum(np.hypot(*np.diff(points, axis=0).T)))
    count = max(8, int(along[-1] / step))
    at = np.linspace(0, along[-1], count + 1)
    return np.column_stack([np.interp(at, along, points[:, k]) for k in (0, 1)])


def _widths(recipe, i):
    width = recipe.first_width if i == 0 and recipe.first_width else recipe.width
    outer = recipe.outer_width if recipe.outer_width and i else width
    return outer, width


def _walls(area, recipe, i, height, random):
    outer, width = _widths(recipe, i)
    s_outer, s = recipe.spacing(outer, height), recipe.spacing(width, height)
    count = recipe.walls + (i % 2 if recipe.alternating else 0)
    rows, centre = [], outer / 2
    for k in range(count):
        section = recipe.section(outer if k == 0 else width, height) * recipe.flow
        rings = loops(inset(area, centre), "outer" if k == 0 else "inner", section)
        if k == 0 and recipe.fuzz and i:
            rings = [_fuzzy(ring, recipe.fuzz, random) for ring in rings]
        rows.append(rings)
        centre += (s_outer + s) / 2 if k == 0 else s
    last = centre - (s if count > 1 else (s_outer + s) / 2)
    inside = inset(area, last + (s if count > 1 else s_outer) / 2)
    ordered = rows[::-1] if recipe.inner_first else rows
    return [path for row in ordered for path in row], inside


def _fuzzy(path, by, random):
    points = _fine(path.points, 0.8)
    step = np.gradient(points, axis=0)
    normal = np.column_stack([-step[:, 1], step[:, 0]])
    normal /= np.hypot(*normal.T)[:, None]
    moved = points + normal * random.uniform(-by, by, len(points))[:, None]
    moved[-1] = moved[0]
    return Path(kind=path.kind, points=moved, section=path.section)


def _skins(cuts, i, inside, recipe):
    """Solid and sparse share of the room inside the walls."""
    if recipe.infill >= 1 or inside.is_empty:
        return inside, EMPTY
    above = cuts[i + 1 : i + 1 + recipe.top]
    below = cuts[max(0, i - recipe.bottom) : i]
    covered = inside
    for near, wanted in ((above, recipe.top), (below, recipe.bottom)):
        if len(near) < wanted:
            return inside, EMPTY
        if near:
            covered = covered.intersection(intersection_all(near))
    solid = inside.difference(covered).buffer(-0.15).buffer(0.15).intersection(inside)
    return solid, inside.difference(solid).buffer(-0.05).buffer(0.05)


def _solid(area, recipe, i, height):
    width = _widths(recipe, i)[1]
    s = recipe.spacing(width, height)
    section = recipe.section(width, height) * recipe.flow
    if recipe.solid_concentric:
        return shrinking(area, s / 2, s, kind="solid", section=section)
    angle = 45 if i % 2 else -45
    return [
        path
        for part in polygons(area)
        for path in hatch(part, s, angle, kind="solid", section=section, joined=recipe.joined)
    ]


def _sparse(area, recipe, i, height):
    if recipe.infill in (0, 1) or area.is_empty or (i + 1) % recipe.every:
        return []
    width = _widths(recipe, i)[1]
    s = recipe.spacing(width, height) / recipe.infill
    section = recipe.section(width, height) * recipe.flow * recipe.every
    if recipe.pattern == "concentric":
        return shrinking(area, s / 2, s, kind="sparse", section=section)
    if recipe.pattern == "waves":
        s *= 1.13
        return waves(area, s, kind="sparse", section=section, upright=bool((i // recipe.every) % 2))
    angles = {
        "lines": [45 if (i // recipe.every) % 2 else -45],
        "grid": [0, 90],
        "triangles": [0, 60, 120],
    }[recipe.pattern]
    return [
        path
        for part in polygons(area)
        for angle in angles
        for path in hatch(
            part, s * len(angles), angle, kind="sparse", section=section, joined=recipe.joined
        )
    ]


def _add_support(layers, cuts, recipe):
    """Zigzags under what hangs over, clear of the part by 0.7 mm and a layer or more."""
    gap = recipe.support_gap
    shadow = EMPTY
    for i in range(len(layers) - 1, -1, -1):
        if i + 1 + gap < len(cuts):
            shadow = shadow.union(cuts[i + 1 + gap])
        near = union_all(cuts[max(0, i - gap) : i + 1 + gap])
        area = shadow.difference(near.buffer(0.7)).buffer(-0.6).buffer(0.6)
        section = recipe.section(recipe.width, layers[i].top - layers[i].low) * recipe.flow
        for part in polygons(area):
            layers[i].paths.extend(
                hatch(part, 2.2, 90, kind="support", section=section, joined=True)
            )


def _add_brim(layer, area, recipe):
    width = _widths(recipe, 0)[1]
    height = layer.top - layer.low
    s, section = recipe.spacing(width, height), recipe.section(width, height) * recipe.flow
    filled = union_all([Polygon(p.exterior) for p in polygons(area)])
    for k in range(recipe.brim):
        ring = filled.buffer(-width / 2 + (k + 1) * s, quad_segs=8)
        layer.paths[:0] = loops(ring, "brim", section)


def raft_of(area, recipe):
    """Layers of a raft: one of wide spaced lines, the rest closed."""
    wide = area.buffer(3.0)
    layers, low = [], 0.0
    for k in range(recipe.raft):
        height = 0.3 if k == 0 else 0.24
        width = 0.8 if k == 0 else recipe.width
        section = recipe.section(width, height) * recipe.flow
        spacing = 1.6 if k == 0 else recipe.spacing(width, height)
        paths = hatch(wide, spacing, 90 * (k % 2), kind="raft", section=section, joined=True)
        layers.append(Layer(low=low, top=low + height, paths=paths))
        low += height
    return layers
