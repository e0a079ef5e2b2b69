"""Walls made by hand for the drawings: counted by plain loops, not by planner.wall."""

from collections import Counter
from pathlib import Path
from types import MappingProxyType

from planner.job.layout.model import (
    Anchor,
    CutOut,
    Hung,
    Levelling,
    PanelSystem,
    Walls,
    WallShape,
)
from planner.wall.model import (
    Cell,
    Count,
    Counted,
    Edge,
    Fixing,
    Junction,
    Mounting,
    Panelling,
    Placed,
    Skipped,
)

HOSTILE = "<script>alert('x')</script>&\"\x1b[31m]]>\n=1+1"
SHAPES = {1: "outer corner", 2: "straight", 3: "inner corner", 4: "middle"}


def panelled(wall, *, pitch=100.0):
    """Fill a wall with cells that no cut-out touches, the margins even."""
    columns, rows = int(wall.width_mm // pitch), int(wall.height_mm // pitch)
    left, low = (wall.width_mm - columns * pitch) / 2, (wall.height_mm - rows * pitch) / 2

    def corner(c, r):
        return left + c * pitch, low + r * pitch

    filled = {
        (c, r)
        for c in range(1, columns + 1)
        for r in range(1, rows + 1)
        if not any(_touches(*corner(c - 1, r - 1), pitch, cut) for cut in wall.cut_outs)
    }
    cells = tuple(
        Cell(column=c, row=r, x_mm=x, y_mm=y, open_sides=())
        for c, r, (x, y) in ((c, r, corner(c - 1, r - 1)) for c, r in sorted(filled))
    )
    edges, placed, junctions = [], [], []
    for c in range(columns + 1):
        for r in range(rows + 1):
            x, y = corner(c, r)
            beside, above = {(c, r + 1), (c + 1, r + 1)}, {(c + 1, r), (c + 1, r + 1)}
            for upright, pair in ((True, beside), (False, above)):
                if filled & pair:
                    _add_edge(edges, placed, (x, y, upright), shared=pair <= filled, pitch=pitch)
            count = len(filled & {(c, r), (c + 1, r), (c, r + 1), (c + 1, r + 1)})
            if count:
                made = {"column": c, "row": r, "panels": count, "shape": SHAPES[count]}
                junctions.append(Junction(x_mm=x, y_mm=y, **made))
                part = "standoff" if count > 2 else "corner cap"
                placed.append(Placed(part=part, spot="junction", x_mm=x, y_mm=y))
    placed += [
        Placed(part="panel", spot="cell", x_mm=c.x_mm + pitch / 2, y_mm=c.y_mm + pitch / 2)
        for c in cells
    ]
    for h in wall.hung:
        placed += [Placed(part=h.thing, spot="cell", x_mm=0, y_mm=0, hung=True)] * h.count
    return Panelling(
        wall=wall,
        offset_mm=(left, low),
        margins_mm=(left, left, low, low),
        cells=cells,
        edges=tuple(edges),
        junctions=tuple(junctions),
        islands=1,
        placed=tuple(placed),
    )


def _add_edge(edges, placed, where, *, shared, pitch):
    x, y, upright = where
    edges.append(Edge(x_mm=x, y_mm=y, upright=upright, shared=shared))
    middle = (x, y + pitch / 2) if upright else (x + pitch / 2, y)
    part, spot = ("key", "shared edge") if shared else ("trim", "free edge")
    placed.append(Placed(part=part, spot=spot, x_mm=middle[0], y_mm=middle[1], upright=upright))


def _touches(x, y, pitch, cut):
    across = x < cut.x_mm + cut.width_mm and cut.x_mm < x + pitch
    return across and y < cut.y_mm + cut.height_mm and cut.y_mm < y + pitch


def counted(*walls, pitch=100.0, band_mm=50.0):
    """Count several walls of one system."""
    panellings = tuple(panelled(wall, pitch=pitch) for wall in walls)
    parts = Counter(placed.part for panelling in panellings for placed in panelling.placed)
    return Counted(
        walls=Walls(
            name="workshop",
            path=Path("wall.yaml"),
            system=PanelSystem(
                name="ours",
                pitch_mm=(pitch, pitch),
                thickness_mm=5,
                joint_play_mm=0.4,
                rules=(),
            ),
            walls=walls,
            extra=MappingProxyType({}),
            pattern="every junction",
            anchor=Anchor(name="plug", rated_n=400, factor=4, edge_mm=20),
            levelling=Levelling(level_mm_m=0.5, first_panel_mm_m=0.5),
            band_mm=band_mm,
        ),
        panellings=panellings,
        counts=tuple(Count(part=part, count=n, because="") for part, n in sorted(parts.items())),
    )


def mounted(told, *, every=1, skip=None):
    """Put a screw into every so manyth junction; those that `skip` gives a reason for are not."""
    fixings, skipped = [], []
    for panelling in told.panellings:
        wall = panelling.wall
        for j in panelling.junctions:
            if (j.column + j.row) % every:
                continue
            place = {"wall": wall.name, "x_mm": j.x_mm, "y_mm": j.y_mm}
            why = skip(j) if skip else ""
            if why:
                skipped.append(Skipped(why=why, **place))
                continue
            stud = any(abs(x - j.x_mm) < 20 for x in wall.studs_mm)
            fixings.append(Fixing(column=j.column, row=j.row, stud=stud, **place))
    return mounting(fixings, skipped)


def mounting(fixings, skipped=(), loads=()):
    """Gather screws."""
    return Mounting(
        fixings=tuple(fixings),
        skipped=tuple(skipped),
        loads=tuple(loads),
        notes=(),
        assumptions=(),
        cautions=(),
    )


def big_wall(name="behind the bench", **changes):
    """2.4 m by 1.2 m with a socket, the corner of a window, studs and accessories."""
    socket = {"x_mm": 700, "y_mm": 300, "width_mm": 160, "height_mm": 80}
    window = {"x_mm": 1900, "y_mm": 700, "width_mm": 537, "height_mm": 525}
    told = {
        "name": name,
        "width_mm": 2437.0,
        "height_mm": 1225.0,
        "cut_outs": (
            CutOut(name="socket by the door", kind="socket", **socket),
            CutOut(name="window", kind="window", **window),
        ),
        "hung": (
            Hung(thing="hook", cell=(3, 9), count=2),
            Hung(thing="shelf bracket", cell=(10, 7), force_n=40, out_mm=80),
            Hung(thing="shelf bracket", cell=(13, 7), force_n=40, out_mm=80),
            Hung(thing="rail for pliers", cell=(6, 9)),
        ),
        "studs_mm": (418.5, 1018.5, 1618.5, 2218.5),
    }
    return WallShape(**{**told, **changes})


def bare_wall(name="plain", width_mm=640.0, height_mm=430.0):
    """Return a small wall with nothing special on it."""
    return WallShape(name=name, width_mm=width_mm, height_mm=height_mm)
