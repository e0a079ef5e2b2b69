"""An invented plate as a toolpath file: plain moves, and the truth about them."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np
from shapely import union_all

from tests.audit.measure import cutting
from tests.audit.measure.recipe import Truth


@dataclass
class Pen:
    """Writes lines and remembers every move in machine terms."""

    recipe: object
    lines: list = field(default_factory=list)
    moves: list = field(default_factory=list)
    place: tuple = (0.0, 0.0, 0.0)
    fed: float = 0.0
    deposit_mm: float = 0.0
    feed: float | None = None
    motion: str = ""
    pulled: bool = False

    def say(self, text):
        """Write one line, numbered with a checksum where wanted."""
        if self.recipe.numbers:
            bare = f"N{len(self.lines) + 1} {text.split(';')[0].rstrip()}"
            total = 0
            for byte in bare.encode():
                total ^= byte
            text = f"{bare}*{total}"
        self.lines.append(text)

    def scale(self):
        """Millimetres per unit."""
        return 25.4 if self.recipe.inches else 1.0

    def _axis(self, name, new, old):
        unit = self.scale()
        digits = 5 if self.recipe.inches else 3
        if self.recipe.relative:
            return f" {name}{(new - old) / unit:.{digits}f}"
        return f" {name}{new / unit:.{digits}f}"

    def rounded(self, point):
        """Return where the machine will really be told to go."""
        unit, digits = self.scale(), 5 if self.recipe.inches else 3
        if self.recipe.relative:
            return tuple(
                old + round((new - old) / unit, digits) * unit
                for new, old in zip(point, self.place, strict=True)
            )
        return tuple(round(value / unit, digits) * unit for value in point)

    def go(self, point, speed, volume=None, word=None, arc=None):
        """Move to a point, laying a volume on the way; `arc` is (centre, clockwise)."""
        recipe = self.recipe
        to = self.rounded(point)
        start = self.place
        word = word or ("G0" if volume is None else "G1")
        text = "" if recipe.modal and word == self.motion and arc is None else word
        for name, new, old in zip("XYZ", to, start, strict=True):
            if abs(new - old) > 1e-9 or (arc and name != "Z"):
                text += self._axis(name, new, old)
        if arc:
            unit = self.scale()
            text += "".join(
                f" {k}{(c - s) / unit:.5f}" for k, c, s in zip("IJ", arc[0], start, strict=False)
            )
        strand = 0.0
        if volume is not None:
            strand = self.strand(volume)
            word_e, strand = self.feed_word(strand)
            text += word_e
            self.deposit_mm += strand
        if abs(speed - (self.feed or 0)) > 1e-9:
            text += f" F{speed * 60 / self.scale():.{4 if recipe.inches else 0}f}"
            self.feed = speed
        self.motion = word
        self.say(text.strip())
        self.record(start, to, strand, speed, arc)
        self.place = to

    def record(self, start, to, strand, speed, arc):
        """Remember a move in machine terms."""
        self.moves.append((len(self.lines), start, to, strand, speed, arc))

    def strand(self, volume):
        """Millimetres of strand for a volume."""
        return volume / (math.pi * self.recipe.diameter**2 / 4)

    def feed_word(self, strand):
        """E word for a length of strand, and the length it really stands for."""
        recipe = self.recipe
        area = math.pi * recipe.diameter**2 / 4
        per = {"mm": 1.0, "mm3": 1 / area, "M200": 1 / area}[recipe.strand_unit] * self.scale()
        digits = 6 if recipe.inches else 5
        if recipe.strand == "relative":
            written = round(strand / per, digits)
            return f" E{written:.{digits}f}", written * per
        before = round(self.fed, digits)
        self.fed = round(before + strand / per, digits)
        return f" E{self.fed:.{digits}f}", (self.fed - before) * per

    def pull(self, *, back):
        """Draw the strand back, or push it on again."""
        recipe = self.recipe
        if recipe.pull == "none" or back == self.pulled:
            return
        self.pulled = back
        if recipe.pull == "G10":
            self.say("G10" if back else "G11")
            self.moves.append(
                (len(self.lines), self.place, self.place, -1.0 if back else 1.0, 35.0, None)
            )
            return
        word, length = self.feed_word(-0.8 if back else 0.8)
        self.feed = 40.0
        self.say(f"G1{word} F{2400 / self.scale():.{4 if recipe.inches else 0}f}")
        self.motion = "G1"
        self.moves.append((len(self.lines), self.place, self.place, length, 40.0, None))

    def restart(self):
        """Count the strand from 0 again."""
        if self.recipe.strand == "absolute" and self.recipe.reset:
            self.say("G92 E0")
            self.fed = 0.0


def write(recipe, *, seed=0):
    """Return (text, truth) of a plate."""
    random = np.random.default_rng(seed)
    laid = [cutting.lay(shape, recipe, random) for shape in recipe.shapes]
    raft = []
    if recipe.raft:
        ground = union_all([shape.cut(0.05) for shape in recipe.shapes])
        raft = cutting.raft_of(ground, recipe)
    pen = Pen(recipe)
    _head(pen)
    lift = raft[-1].top + recipe.raft_gap if raft else 0.0
    for i, layer in enumerate(raft):
        _lay(pen, layer, i, layer.top + recipe.offset, 0.0)
    order = [(i, part) for part in range(len(laid)) for i in range(len(laid[part].layers))]
    if not recipe.in_turn:
        order.sort(key=lambda pair: pair[0])
    if recipe.skirt and not raft:
        _skirt(pen, laid, recipe)
    before = (-1, -1)
    for i, part in order:
        layer = laid[part].layers[i]
        if recipe.in_turn and part != before[1] and before[1] >= 0:
            x, y, _ = pen.place
            pen.pull(back=True)
            pen.go((x, y, 40.0), recipe.speeds["travel"])
        if i != before[0]:
            _between(pen, i + len(raft), first_again=recipe.in_turn and i == 0)
        _lay(pen, layer, i + len(raft), layer.top + lift + recipe.offset, lift)
        before = (i, part)
    _tail(pen)
    text = "\n".join(pen.lines) + "\n"
    return text, _truth(recipe, laid, raft, pen, lift)


def _head(pen):
    recipe = pen.recipe
    if recipe.lies:
        for text in ("layer height 0.3", "walls: 9", "infill 77 %", "supports: on", "LAYER:0"):
            pen.say(f"; {text}")
    pen.say("G20" if recipe.inches else "G21")
    pen.say("G90")
    pen.say("M82" if recipe.strand == "absolute" else "M83")
    if recipe.strand_unit == "M200":
        pen.say(f"M200 D{recipe.diameter:g}")
    if recipe.bed:
        pen.say(f"M140 S{recipe.bed:g}")
    pen.say(f"M104 S{recipe.first_nozzle or recipe.nozzle:g}")
    pen.say("G28")
    if recipe.bed:
        pen.say(f"M190 S{recipe.bed:g}")
    pen.say(f"M109 S{recipe.first_nozzle or recipe.nozzle:g}")
    if recipe.fan:
        pen.say("M107")
    pen.say(f"M204 P{recipe.gain:g} T{recipe.gain:g}")
    pen.restart()
    if recipe.relative:
        pen.say("G91")


def _tail(pen):
    pen.pull(back=True)
    for text in ("M104 S0", "M140 S0", "M107", "M84"):
        pen.say(text)


def _between(pen, i, *, first_again):
    recipe = pen.recipe
    if recipe.lies and i:
        pen.say(f"; height 0.3, layer {i * 2}, TYPE: support")
    if recipe.fan and i == recipe.fan_from:
        pen.say(f"M106 S{round(255 * recipe.fan)}")
    if first_again and i == 0 and recipe.fan:
        pen.say("M107")
    if recipe.first_nozzle and i == 1:
        pen.say(f"M104 S{recipe.nozzle:g}")
    pen.restart()


def _speed(recipe, kind, i):
    return recipe.speeds["first"] if i == 0 and kind != "brim" else recipe.speeds[kind]


def _lay(pen, layer, i, z, lift):
    recipe = pen.recipe
    for path in layer.paths:
        first = path.points[0]
        spiral = path.rise > 0
        low = z - path.rise if spiral else z
        if math.dist(pen.place, (*first, low)) > 0.02:
            far = math.dist(pen.place[:2], first) > 1.5
            if far:
                pen.pull(back=True)
                if recipe.hop:
                    pen.go(
                        (*pen.place[:2], max(pen.place[2], low) + recipe.hop),
                        recipe.speeds["travel"],
                    )
                    pen.go((*first, pen.place[2]), recipe.speeds["travel"])
            pen.go((*first, low), recipe.speeds["travel"])
        pen.pull(back=False)
        speed = _speed(recipe, path.kind, i)
        if recipe.arcs and _round(path):
            _circle(pen, path, z, speed)
        else:
            _line(pen, path, low, speed)


def _line(pen, path, low, speed):
    steps = np.hypot(*np.diff(path.points, axis=0).T)
    total = steps.sum()
    along = np.cumsum(steps)
    coast = pen.recipe.coast if path.kind in ("outer", "inner") and total > 15 else 0.0
    for point, step, done in zip(path.points[1:], steps, along, strict=True):
        z = low + path.rise * done / total
        if coast and done > total - coast:
            start = np.array(pen.place[:2])
            share = max(0.0, (step - (done - (total - coast))) / step)
            if share > 0.01:
                pen.go((*(start + share * (point - start)), z), speed, share * step * path.section)
            return
        pen.go((*point, z), speed, step * path.section)


def _round(path):
    """Tell whether a ring is a circle: corners equally far from their middle."""
    if path.kind not in ("outer", "inner", "brim") or len(path.points) < 60 or path.rise:
        return False
    away = np.hypot(*(path.points[:-1] - path.points[:-1].mean(axis=0)).T)
    return float(np.ptp(away)) < 0.01


def _circle(pen, path, z, speed):
    """Two half circles through the ring's corners (their mean radius)."""
    centre = path.points[:-1].mean(axis=0)
    radius = np.hypot(*(path.points[:-1] - centre).T).mean()
    first = path.points[0] - centre
    angle = math.atan2(first[1], first[0])
    turn = -1.0 if _clockwise(path.points) else 1.0
    for half in (1, 2):
        a = angle + turn * half * math.pi
        point = centre + radius * np.array([math.cos(a), math.sin(a)])
        pen.go(
            (*point, z),
            speed,
            math.pi * radius * path.section,
            word="G2" if turn < 0 else "G3",
            arc=(tuple(centre), turn < 0),
        )


def _clockwise(points):
    x, y = points.T
    return float(np.sum(x[:-1] * y[1:] - x[1:] * y[:-1])) < 0


def _skirt(pen, laid, recipe):
    from shapely import MultiPoint

    first = [p for part in laid for p in part.layers[0].paths]
    hull = MultiPoint(np.vstack([p.points for p in first])).convex_hull
    width = recipe.first_width or recipe.width
    section = recipe.section(width, recipe.first) * recipe.flow
    s = recipe.spacing(width, recipe.first)
    paths = [
        path
        for k in range(recipe.skirt)
        for path in cutting.loops(hull.buffer(4.0 + k * s), "brim", section)
    ]
    layer = laid[0].layers[0]
    _lay(pen, cutting.Layer(low=0, top=layer.top, paths=paths), 0, layer.top + recipe.offset, 0)


def _truth(recipe, laid, raft, pen, lift):
    longest = max(laid, key=lambda part: len(part.layers))
    heights = [round(layer.top - layer.low, 4) for layer in longest.layers]
    common = max(set(heights[1:]), key=heights[1:].count) if len(heights) > 1 else heights[0]
    bottom = raft[0] if raft else longest.layers[0]
    infill = tuple(
        part.sparse_mm3 / part.room_mm3 if part.room_mm3 > 30 and not recipe.spiral else None
        for part in laid
    )
    width = recipe.first_width or recipe.width
    brim = recipe.brim * recipe.spacing(width, recipe.first)
    solid = recipe.infill >= 1
    return Truth(
        layer=common,
        first_commanded=bottom.top + recipe.offset,
        first_fed=bottom.top - bottom.low,
        heights=tuple(heights),
        width=recipe.width,
        walls=(1,)
        if recipe.spiral
        else (recipe.walls, recipe.walls + 1)
        if recipe.alternating
        else (recipe.walls,),
        thin=tuple(part.thin for part in laid),
        top=tuple(None if solid or part.thin or recipe.spiral else recipe.top for part in laid),
        bottom=tuple(None if solid or part.thin else recipe.bottom for part in laid),
        infill=infill,
        support=any(p.kind == "support" for part in laid for lay in part.layers for p in lay.paths),
        brim_mm=brim,
        raft=bool(raft),
        spiral=recipe.spiral,
        ironing=recipe.ironing,
        in_turn=recipe.in_turn,
        parts=len(laid),
        filament_mm=pen.deposit_mm,
        moves=pen.moves,
    )
