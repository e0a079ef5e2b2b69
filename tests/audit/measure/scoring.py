"""Measured figures against the truth of invented plates, quantity by quantity."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field
from math import pi

from planner.audit.measure import Status, measure_toolpath
from planner.settings.model import Bead
from tests.audit.measure import writing
from tests.audit.measure.timing import plain_seconds

PLAIN = {"speed": 500.0, "gain": 1500.0, "corner": 8.5}
"""Limits of `planner.audit.measure.measure.PLAIN_MACHINE`."""


@dataclass
class Tally:
    """Right answers and all answers per quantity, and what was wrong."""

    right: dict = field(default_factory=lambda: defaultdict(int))
    asked: dict = field(default_factory=lambda: defaultdict(int))
    wrong: list = field(default_factory=list)
    unanswered: list = field(default_factory=list)

    def note(self, quantity, *, right, **info):
        """Count one answer."""
        self.asked[quantity] += 1
        self.right[quantity] += bool(right)
        if not right:
            self.wrong.append((quantity, info))

    def share(self, quantity):
        """Share of right answers."""
        return self.right[quantity] / max(self.asked[quantity], 1)

    def table(self):
        """Lines for people."""
        rows = [f"{k:26} {self.right[k]:4} of {self.asked[k]}" for k in self.asked]
        return "\n".join([*rows, f"{'not answered':26} {len(self.unanswered):4}"])


def score(recipe, folder, tally, *, seed=0, timed=True):
    """Write, measure and judge one plate."""
    text, truth = writing.write(recipe, seed=seed)
    path = folder / "plate.gcode"
    path.write_text(text)
    measured = measure_toolpath(path, bead=Bead(recipe.bead))
    _plate(recipe, truth, measured, tally)
    if timed:
        seconds = plain_seconds(truth.moves, **PLAIN)
        moves_s = measured.figures["moves_s"].value
        tally.note("time", right=abs(moves_s / seconds - 1) < 1e-3, name=recipe.name)
    if len(measured.parts) == truth.parts:
        _parts(recipe, truth, measured, tally)
    return measured, truth


def _plate(recipe, truth, measured, tally):
    found = measured.figures

    def note(key, right):
        tally.note(key, right=right, name=recipe.name, found=found.get(key, measured.faults))

    def near(key, value, room):
        note(key, found[key].value is not None and abs(found[key].value - value) <= room)

    near("layer_mm", truth.layer, 0.003)  # inches are written to 0.0025 mm
    near("first_layer_mm", truth.first_commanded, 0.003)
    if found["first_layer_fed_mm"].value is not None:
        near("first_layer_fed_mm", truth.first_fed, 0.02 * truth.first_fed)
    near("line_width_mm", truth.width, 0.02 * truth.width)
    volume = truth.filament_mm * pi * recipe.diameter**2 / 4
    near("filament_mm3", volume, 1e-3 * volume)
    near("brim_mm", truth.brim_mm, 0.6)
    for key in ("parts", "spiral", "raft", "ironing", "support"):
        note(key, found[key].value == getattr(truth, key))
    note("sequence", (found["sequence"].value == "one after another") == truth.in_turn)
    note("no false fault", not measured.faults)


def _parts(recipe, truth, measured, tally):
    boxes = [shape.cut(0.1).bounds for shape in recipe.shapes]
    order = sorted(range(truth.parts), key=lambda k: (round(boxes[k][0], 1), boxes[k][1]))
    for part, k in zip(measured.parts, order, strict=True):
        _walls(recipe, part.figures["walls"], truth, tally)
        for key, value in (("top_layers", truth.top[k]), ("bottom_layers", truth.bottom[k])):
            figure = part.figures[key]
            if figure.status is Status.FIRM:
                tally.note(
                    "skins",
                    right=figure.value == value,
                    name=recipe.name,
                    key=key,
                    found=figure,
                    truth=value,
                )
            elif value is not None:
                tally.unanswered.append((recipe.name, part.name, key))
        _infill(recipe, part.figures["infill"], truth.infill[k], tally)


def _walls(recipe, figure, truth, tally):
    exact = figure.value in truth.walls
    firm = figure.status is Status.FIRM
    bounded = figure.status is Status.AT_LEAST and figure.value <= max(truth.walls)
    info = {"name": recipe.name, "found": figure, "truth": truth.walls}
    tally.note("walls exact or bounded", right=(firm and exact) or bounded, **info)
    if firm:
        tally.note("walls, firm answers", right=exact, **info)


def _infill(recipe, figure, value, tally):
    if recipe.infill >= 1 and not recipe.spiral:
        value = 1.0
    if figure.status is Status.FIRM:
        right = value is not None and abs(figure.value - value) <= 0.03
        tally.note("infill", right=right, name=recipe.name, found=figure, truth=value)
    elif value is not None:
        tally.unanswered.append((recipe.name, "infill"))
